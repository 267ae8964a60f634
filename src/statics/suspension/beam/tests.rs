use super::*;
use approx::assert_relative_eq;
use proptest::prelude::*;

fn rigid(places: &[f64]) -> Vec<Support> {
    places
        .iter()
        .map(|&x_m| Support {
            x_m,
            settlement_m: 0.0,
            stiffness_n_m: None,
        })
        .collect()
}

fn plain(length_m: f64, places: &[f64], loads: Vec<Load>) -> BeamInput {
    BeamInput {
        length_m,
        supports: rigid(places),
        hinges_m: Vec::new(),
        loads,
        self_weight_n_m: 0.0,
        ei_nm2: 2e6,
    }
}

fn uniform(from_m: f64, to_m: f64, load_n_m: f64) -> Load {
    Load::Distributed {
        from_m,
        to_m,
        start_n_m: load_n_m,
        end_n_m: load_n_m,
    }
}

#[test]
fn equal_spans_under_uniform_load_have_the_table_coefficients() {
    let two = beam(&plain(
        8.0,
        &[0.0, 4.0, 8.0],
        vec![uniform(0.0, 8.0, 100.0)],
    ))
    .unwrap();
    for (reaction, share) in two.reaction_n.iter().zip([0.375, 1.25, 0.375]) {
        assert_relative_eq!(*reaction, share * 400.0, max_relative = 1e-12);
    }
    assert_relative_eq!(two.moment_nm(4.0), -0.125 * 1600.0, max_relative = 1e-12);
}

#[test]
fn a_cantilever_tip_sinks_by_the_handbook_formula() {
    let input = plain(
        6.0,
        &[0.0, 4.0],
        vec![Load::Point {
            x_m: 6.0,
            force_n: 300.0,
        }],
    );
    let bent = beam(&input).unwrap();
    assert_relative_eq!(
        bent.deflection_m(6.0),
        300.0 * 4.0 * (4.0 + 2.0) / (3.0 * 2e6),
        max_relative = 1e-12
    );
    assert_relative_eq!(bent.shear_n(6.0), 300.0, max_relative = 1e-12);
    assert_relative_eq!(bent.reaction_n[0], -150.0, max_relative = 1e-12);
}

#[test]
fn both_overhangs_of_a_symmetric_beam_are_mirror_images() {
    let input = plain(10.0, &[2.0, 8.0], vec![uniform(0.0, 10.0, 50.0)]);
    let bent = beam(&input).unwrap();
    for x in [0.0, 0.7, 1.9, 3.0, 4.9] {
        assert_relative_eq!(bent.moment_nm(x), bent.moment_nm(10.0 - x), epsilon = 1e-10);
        assert_relative_eq!(
            bent.deflection_m(x),
            bent.deflection_m(10.0 - x),
            epsilon = 1e-14
        );
        assert_relative_eq!(bent.shear_n(x), -bent.shear_n(10.0 - x), epsilon = 1e-9);
    }
}

#[test]
fn a_hinge_carries_no_moment() {
    let mut input = plain(9.0, &[0.0, 4.0, 9.0], vec![uniform(0.0, 9.0, 80.0)]);
    input.hinges_m = vec![5.5];
    let bent = beam(&input).unwrap();
    assert_relative_eq!(bent.moment_nm(5.5), 0.0, epsilon = 1e-9);
    let kink = (bent.deflection_m(5.5 + 1e-6) - 2.0 * bent.deflection_m(5.5)
        + bent.deflection_m(5.5 - 1e-6))
        / 1e-6;
    assert!(kink.abs() > 1e-5);
}

#[test]
fn too_many_hinges_are_a_mechanism() {
    let mut input = plain(4.0, &[0.0, 4.0], vec![uniform(0.0, 4.0, 1.0)]);
    input.hinges_m = vec![2.0];
    assert_eq!(beam(&input).unwrap_err().field, "hinges_m");
    let mut three = plain(9.0, &[0.0, 4.0, 9.0], vec![uniform(0.0, 9.0, 1.0)]);
    three.hinges_m = vec![5.0, 6.0];
    assert_eq!(beam(&three).unwrap_err().field, "hinges_m");
}

#[test]
fn a_hoist_left_low_drops_out_when_hoists_only_pull() {
    let mut input = plain(8.0, &[0.0, 4.0, 8.0], vec![uniform(0.0, 8.0, 10.0)]);
    input.supports[1].settlement_m = 0.5;
    assert!(beam(&input).unwrap().reaction_n[1] < 0.0);
    let hung = hung_beam(&input).unwrap();
    assert_eq!(hung.slack, [false, true, false]);
    assert_relative_eq!(hung.reaction_n[0], 40.0, max_relative = 1e-12);
}

#[test]
fn a_beam_that_tips_off_its_hoists_is_refused() {
    let input = plain(
        8.0,
        &[0.0, 2.0],
        vec![Load::Point {
            x_m: 8.0,
            force_n: 1.0,
        }],
    );
    assert_eq!(hung_beam(&input).unwrap_err().field, "loads");
}

fn any_beam() -> impl Strategy<Value = BeamInput> {
    let support = (
        0.2..1.0f64,
        -0.02..0.02f64,
        proptest::option::of(1e5..1e7f64),
    );
    let load = (
        any::<bool>(),
        0.0..1.0f64,
        0.0..1.0f64,
        0.0..500.0f64,
        0.0..500.0f64,
    );
    (
        proptest::collection::vec(support, 2..6),
        proptest::collection::vec(load, 1..6),
        0.0..1.0f64,
        0.0..1.0f64,
        proptest::option::of(0.05..0.95f64),
    )
        .prop_map(|(gaps, loads, left, right, hinge)| {
            let mut x_m = left;
            let mut supports = Vec::new();
            for (gap, settlement_m, stiffness_n_m) in gaps {
                supports.push(Support {
                    x_m,
                    settlement_m,
                    stiffness_n_m,
                });
                x_m += 5.0 * gap;
            }
            let last = supports[supports.len() - 1].x_m;
            let length_m = last + right;
            let loads = loads
                .into_iter()
                .map(|(point, a, b, start, end)| {
                    if point {
                        Load::Point {
                            x_m: a * length_m,
                            force_n: 10.0 * start,
                        }
                    } else {
                        let from_m = a.min(b) * 0.9 * length_m;
                        Load::Distributed {
                            from_m,
                            to_m: from_m + 0.05 * length_m + a.max(b) * (0.9 * length_m - from_m),
                            start_n_m: start,
                            end_n_m: end,
                        }
                    }
                })
                .map(|load| match load {
                    Load::Distributed {
                        from_m,
                        to_m,
                        start_n_m,
                        end_n_m,
                    } => Load::Distributed {
                        from_m,
                        to_m: to_m.min(length_m),
                        start_n_m,
                        end_n_m,
                    },
                    point => point,
                })
                .collect();
            let hinges_m = match hinge {
                Some(share) if supports.len() > 2 => {
                    vec![supports[0].x_m + share * (supports[1].x_m - supports[0].x_m)]
                }
                _ => Vec::new(),
            };
            BeamInput {
                length_m,
                supports,
                hinges_m,
                loads,
                self_weight_n_m: 40.0,
                ei_nm2: 3e6,
            }
        })
}

fn residual(input: &BeamInput, bent: &Beam) -> f64 {
    let pieces = pieces(input);
    let moment: f64 = pieces.iter().map(|piece| piece.moment_nm()).sum::<f64>()
        - input
            .supports
            .iter()
            .zip(&bent.reaction_n)
            .map(|(support, force)| support.x_m * force)
            .sum::<f64>();
    let force = bent.load_n - bent.reaction_n.iter().sum::<f64>();
    force.abs().max(moment.abs() / input.length_m) / bent.load_n
}

proptest! {
    #[test]
    fn reactions_balance_every_load(input in any_beam()) {
        let bent = beam(&input).unwrap();
        prop_assert!(residual(&input, &bent) < 1e-10);
        if let Ok(hung) = hung_beam(&input) {
            prop_assert!(residual(&input, &hung) < 1e-10);
            prop_assert!(hung.reaction_n.iter().all(|&force| force > -1e-9 * bent.load_n));
        }
    }

    /// Deflection, slope, moment and shear are each other's derivatives, and the beam lies on its
    /// supports.
    #[test]
    fn the_beam_lies_on_its_supports(input in any_beam()) {
        let bent = beam(&input).unwrap();
        let scale: f64 = bent.segments.iter().map(|s| bent.deflection_m(s.origin_m).abs()).sum();
        for (support, force) in input.supports.iter().zip(&bent.reaction_n) {
            let sunk = support.settlement_m + support.stiffness_n_m.map_or(0.0, |k| force / k);
            prop_assert!((bent.deflection_m(support.x_m) - sunk).abs() < 1e-9 * (scale + 1.0));
            prop_assert!((bent.deflection_m(support.x_m - 1e-12) - sunk).abs() < 1e-9 * (scale + 1.0));
        }
        let h = 1e-4;
        for share in [0.11, 0.37, 0.52, 0.83] {
            let x = share * input.length_m;
            let slope = (bent.moment_nm(x + h) - bent.moment_nm(x - h)) / (2.0 * h);
            let (low, high) = (bent.shear_n(x - h), bent.shear_n(x + h));
            let margin = 1e-6 * bent.load_n + 1e-3;
            prop_assert!(slope > low.min(high) - margin && slope < low.max(high) + margin);
        }
    }

    #[test]
    fn removing_a_slack_hoist_changes_nothing(input in any_beam()) {
        if let Ok(hung) = hung_beam(&input) {
            let mut fewer = input.clone();
            let mut index = 0;
            fewer.supports.retain(|_| { index += 1; !hung.slack[index - 1] });
            if fewer.supports.len() >= 2 && fewer.supports.len() < input.supports.len()
                && let Ok(again) = hung_beam(&fewer) {
                let kept: Vec<f64> = hung.reaction_n.iter().zip(&hung.slack)
                    .filter(|(_, slack)| !**slack).map(|(force, _)| *force).collect();
                for (a, b) in kept.iter().zip(&again.reaction_n) {
                    prop_assert!((a - b).abs() < 1e-10 * hung.load_n);
                }
            }
        }
    }

    #[test]
    fn permuting_supports_permutes_reactions(input in any_beam(), turn in 0usize..5) {
        let bent = beam(&input).unwrap();
        let mut turned = input.clone();
        let turn = turn % input.supports.len();
        turned.supports.rotate_left(turn);
        let mut forces = beam(&turned).unwrap().reaction_n;
        forces.rotate_right(turn);
        for (a, b) in forces.iter().zip(&bent.reaction_n) {
            prop_assert_eq!(a, b);
        }
    }
}
