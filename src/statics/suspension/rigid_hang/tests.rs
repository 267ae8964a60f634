use super::*;
use approx::assert_relative_eq;
use proptest::prelude::*;

const SQUARE: [[f64; 2]; 4] = [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]];

#[test]
fn three_hoists_are_shared_by_balance_alone() {
    let points = [[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]];
    let hang = rigid_hang(&points, [0.5, 1.0], 1200.0, Some(&[1.0, 50.0, 7.0]), None).unwrap();
    assert_relative_eq!(hang.load_n[1], 200.0, max_relative = 1e-12);
    assert_relative_eq!(hang.load_n[2], 300.0, max_relative = 1e-12);
    assert_relative_eq!(hang.load_n[0], 700.0, max_relative = 1e-12);
}

#[test]
fn a_hoist_too_high_on_a_square_takes_its_diagonal_with_it() {
    let high = [0.01, 0.0, 0.0, 0.0];
    let hang = rigid_hang(&SQUARE, [1.0, 1.0], 4000.0, Some(&[1e5; 4]), Some(&high)).unwrap();
    for (load, expected) in hang.load_n.iter().zip([1250.0, 750.0, 1250.0, 750.0]) {
        assert_relative_eq!(*load, expected, max_relative = 1e-12);
    }
}

#[test]
fn hooks_far_too_high_let_a_diagonal_go_slack() {
    let high = [0.1, 0.0, 0.1, 0.0];
    let hang = rigid_hang(&SQUARE, [1.0, 1.0], 4000.0, Some(&[1e5; 4]), Some(&high)).unwrap();
    assert_eq!(hang.slack, [false, true, false, true]);
    assert_relative_eq!(hang.load_n[0], 2000.0, max_relative = 1e-12);
}

#[test]
fn a_centre_of_gravity_outside_the_hoists_tips_the_frame() {
    let error = rigid_hang(&SQUARE, [2.1, 1.0], 1.0, None, None).unwrap_err();
    assert_eq!(error.field, "cg_m");
    let line = [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]];
    assert!(rigid_hang(&line, [1.0, 1.1], 1.0, None, None).is_err());
    let held = rigid_hang(&line, [1.0, 1.0], 3.0, None, None).unwrap();
    assert_relative_eq!(held.load_n[0], 1.0, max_relative = 1e-12);
}

#[test]
fn on_an_edge_the_far_hoists_are_slack() {
    let hang = rigid_hang(&SQUARE, [1.0, 0.0], 10.0, None, None).unwrap();
    assert_relative_eq!(hang.load_n[0], 5.0, max_relative = 1e-9);
    assert!(hang.load_n[2] < 1e-9 && hang.load_n[3] < 1e-9);
}

#[derive(Clone, Debug)]
struct Case {
    points: Vec<[f64; 2]>,
    cg: [f64; 2],
    stiffness: Vec<f64>,
    high: Vec<f64>,
}

fn any_case() -> impl Strategy<Value = Case> {
    proptest::collection::vec(
        (
            -5.0..5.0f64,
            -5.0..5.0f64,
            0.02..1.0f64,
            1e5..1e6f64,
            -0.02..0.02f64,
        ),
        3..9,
    )
    .prop_map(|hoists| {
        let total: f64 = hoists.iter().map(|h| h.2).sum();
        let mean = |value: fn(&(f64, f64, f64, f64, f64)) -> f64| {
            hoists.iter().map(|h| h.2 * value(h)).sum::<f64>() / total
        };
        Case {
            cg: [mean(|h| h.0), mean(|h| h.1)],
            points: hoists.iter().map(|h| [h.0, h.1]).collect(),
            stiffness: hoists.iter().map(|h| h.3).collect(),
            high: hoists.iter().map(|h| h.4).collect(),
        }
    })
}

const WEIGHT_N: f64 = 9000.0;

fn held(case: &Case) -> RigidHang {
    rigid_hang(
        &case.points,
        case.cg,
        WEIGHT_N,
        Some(&case.stiffness),
        Some(&case.high),
    )
    .unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn pulls_balance_and_no_hoist_pushes(case in any_case()) {
        let hang = held(&case);
        let mut residual = [WEIGHT_N, WEIGHT_N * case.cg[0], WEIGHT_N * case.cg[1]];
        for (load, point) in hang.load_n.iter().zip(&case.points) {
            prop_assert!(*load >= 0.0);
            residual[0] -= load;
            residual[1] -= load * point[0];
            residual[2] -= load * point[1];
        }
        for missing in residual {
            prop_assert!(missing.abs() < 1e-10 * WEIGHT_N);
        }
    }

    #[test]
    fn removing_a_slack_hoist_changes_nothing(case in any_case()) {
        let hang = held(&case);
        let keep = |i: &usize| !hang.slack[*i];
        let kept: Vec<usize> = (0..case.points.len()).filter(keep).collect();
        let fewer = Case {
            points: kept.iter().map(|&i| case.points[i]).collect(),
            cg: case.cg,
            stiffness: kept.iter().map(|&i| case.stiffness[i]).collect(),
            high: kept.iter().map(|&i| case.high[i]).collect(),
        };
        let again = held(&fewer);
        for (place, &i) in kept.iter().enumerate() {
            prop_assert!((again.load_n[place] - hang.load_n[i]).abs() < 1e-8 * WEIGHT_N);
        }
    }

    #[test]
    fn permuting_hoists_permutes_results(case in any_case(), turn in 1usize..8) {
        let hang = held(&case);
        let turn = turn % case.points.len();
        let mut turned = case.clone();
        turned.points.rotate_left(turn);
        turned.stiffness.rotate_left(turn);
        turned.high.rotate_left(turn);
        let mut again = held(&turned).load_n;
        again.rotate_right(turn);
        for (a, b) in again.iter().zip(&hang.load_n) {
            prop_assert!((a - b).abs() < 1e-8 * WEIGHT_N);
        }
    }
}

#[test]
fn a_place_beside_a_line_of_hoists_is_led_back_onto_it() {
    // Along (3, 4)/5 through (1, 2); the place is 2 along and 0.5 to the left.
    let plan = Plan::new(&[[-5.0, -6.0], [1.0, 2.0], [7.0, 10.0]]).unwrap();
    assert!(plan.is_line());
    let (on_line, left) = plan.onto_line([1.0 + 1.2 - 0.4, 2.0 + 1.6 + 0.3]);
    assert_relative_eq!(on_line[0], 2.2, epsilon = 1e-12);
    assert_relative_eq!(on_line[1], 3.6, epsilon = 1e-12);
    assert_relative_eq!(left.abs(), 0.5, epsilon = 1e-12);
}
