use super::*;
use crate::acoustics::air;
use crate::acoustics::bands;
use crate::acoustics::{Parts, Sources};
use crate::model::{Air, Cabinet, Hang, LineElement, Source, Valid, demo};
use crate::pose::{Hanging, Placement};
use approx::assert_relative_eq;

fn element() -> LineElement {
    LineElement {
        height_m: 0.34,
        x_m: 0.0,
        z_m: 0.0,
        gain_db: 0.0,
        delay_s: 0.0,
        inverted: false,
        curvature_deg: 0.0,
        low_hz: None,
        high_hz: None,
    }
}

fn hang(splays_deg: &[f64], elements: Vec<LineElement>, coverage_deg: Option<f64>) -> Valid<Hang> {
    let cabinet = Cabinet {
        source: Some(Source {
            elements,
            coverage_deg,
            ..Source::default()
        }),
        ..demo::cabinet()
    };
    Valid::new(demo::hang(cabinet, splays_deg)).unwrap()
}

fn air() -> Valid<Air> {
    Valid::new(Air::default()).unwrap()
}

fn points() -> Receivers {
    let points: Vec<[f64; 3]> = (0..37)
        .map(|i| {
            let i = f64::from(i);
            [3.0 + 2.3 * i, 4.0 * (i * 1.7).sin() * i / 10.0, 0.4 * i]
        })
        .collect();
    Receivers::of_points(points.into_iter())
}

/// The sum as it stands at the head of `acoustics`, in plain arithmetic; and Σ of magnitudes.
fn plain(
    sources: &Sources,
    lines: &Lines,
    air: &Valid<Air>,
    f: f64,
    point: [f64; 3],
) -> (Complex<f64>, f64) {
    let k = 2.0 * std::f64::consts::PI * f / lines.sound_speed_m_s();
    let alpha = air::absorption_db_per_m(air, f);
    let mut sum = Complex::new(0.0, 0.0);
    let mut size = 0.0;
    for s in 0..sources.len() {
        let r = [0, 1, 2].map(|i| point[i] - sources.middle_m[i][s]);
        let dot = |v: &[Vec<f64>; 3]| r[0] * v[0][s] + r[1] * v[1][s] + r[2] * v[2][s];
        let d = (r[0] * r[0] + r[1] * r[1] + r[2] * r[2]).sqrt();
        let x = k * sources.half_height_m[s] * dot(&sources.upward) / d;
        let vertical = if x == 0.0 { 1.0 } else { x.sin() / x };
        let left = r[0] * sources.leftward[0][s] + r[1] * sources.leftward[1][s];
        let azimuth = left.atan2(dot(&sources.ahead));
        let horizontal = 1.0 / (1.0 + sources.narrowness[s] * (azimuth / 2.0).tan().powi(2));
        let amplitude =
            sources.weight[s] * vertical * horizontal / d * 10f64.powf(-alpha * d / 20.0);
        let omega = 2.0 * std::f64::consts::PI * f;
        sum += Complex::from_polar(1.0, -k * d - omega * sources.delay_s[s]) * amplitude;
        size += amplitude.abs();
    }
    (sum, size)
}

fn worst_error(registers: Registers, lines: &Lines, splays: &[f64], coverage: Option<f64>) -> f64 {
    let mut back = element();
    back.delay_s = 0.003;
    back.inverted = true;
    back.curvature_deg = 12.0;
    let hang = hang(splays, vec![element(), back], coverage);
    let pose = Hanging::at(&hang, 2.0).top(9.0).pose().unwrap();
    let place = Placement {
        x_m: -1.0,
        y_m: 2.0,
        pan_rad: 0.3,
    };
    let all = 0..hang.cabinets.len();
    let sources = Sources::of_cabinets(&hang, &pose, place, all, Parts::Each(3)).unwrap();
    let receivers = points();
    let mut field = Field::silent(&receivers, lines);
    accumulate_with(registers, &sources, &receivers, lines, &mut field);
    let mut worst: f64 = 0.0;
    for (line, &f) in lines.frequency_hz().iter().enumerate() {
        for (index, point) in receivers.points_m().enumerate() {
            let (expected, size) = plain(&sources, lines, &air(), f, point);
            worst = worst.max((field.pressure(line, index) - expected).norm() / size);
        }
    }
    worst
}

#[test]
fn the_kernel_gives_the_plain_sum_on_any_grid_and_on_octaves() {
    let grids = [
        Lines::of_frequencies(&[31.0, 107.3, 440.0, 1234.5, 7777.7, 19_000.0], &air()).unwrap(),
        Lines::of_bands(&bands::EVENNESS, 3, &air()).unwrap(),
    ];
    for registers in Registers::available() {
        for lines in &grids {
            for coverage in [None, Some(90.0)] {
                let worst = worst_error(registers, lines, &[0.0, 1.0, 5.0, 10.0], coverage);
                assert!(worst < 1e-11, "{registers:?}: {worst:e}");
            }
        }
    }
}

#[test]
fn single_precision_is_within_a_thousandth_of_the_plain_sums_terms() {
    let lines = Lines::of_bands(&[-6, -3, 0, 3, 6, 9], 2, &air()).unwrap();
    let hang = hang(&[1.0; 17], vec![element()], Some(110.0));
    let pose = Hanging::at(&hang, 1.0).top(9.0).pose().unwrap();
    let cabinets = 0..hang.cabinets.len();
    let place = Placement::default();
    let sources = Sources::of_cabinets(&hang, &pose, place, cabinets, Parts::Each(2)).unwrap();
    let receivers = points();
    for registers in Registers::available() {
        let mut field = Field::silent(&receivers, &lines);
        let adding = Adding::with(registers, &sources, &receivers, &lines).single();
        (0..adding.tiles()).for_each(|tile| adding.add(tile, &mut field));
        let mut worst: f64 = 0.0;
        for (line, &f) in lines.frequency_hz().iter().enumerate() {
            for (index, point) in receivers.points_m().enumerate() {
                let (expected, size) = plain(&sources, &lines, &air(), f, point);
                worst = worst.max((field.pressure(line, index) - expected).norm() / size);
            }
        }
        assert!((1e-9..1e-3).contains(&worst), "{registers:?}: {worst:e}");
    }
}

#[test]
fn a_column_longer_than_a_block_gives_the_plain_sum() {
    let lines = Lines::of_bands(&[-6, -3, 0, 3, 6, 9], 2, &air()).unwrap();
    for registers in Registers::available() {
        let worst = worst_error(registers, &lines, &[1.0; 17], Some(110.0));
        assert!(worst < 1e-11, "{registers:?}: {worst:e}");
    }
}

#[test]
fn elements_are_silent_outside_their_band() {
    let low = LineElement {
        high_hz: Some(2000.0),
        ..element()
    };
    let high = LineElement {
        low_hz: Some(2000.0),
        ..element()
    };
    let lines = Lines::of_frequencies(&[1000.0, 2000.0, 1500.0, 4000.0], &air()).unwrap();
    let receivers = points();
    let field = |elements: Vec<LineElement>| {
        let hang = hang(&[1.0], elements, None);
        let pose = Hanging::at(&hang, 0.0).top(9.0).pose().unwrap();
        let place = Placement::default();
        let sources = Sources::of_cabinets(&hang, &pose, place, 0..2, Parts::Each(2)).unwrap();
        Field::of(&sources, &receivers, &lines)
    };
    let whole = field(vec![element()]);
    let split = field(vec![low.clone(), high]);
    let low = field(vec![low]);
    for receiver in 0..receivers.len() {
        for line in 0..lines.len() {
            let expected = whole.pressure(line, receiver);
            assert!((split.pressure(line, receiver) - expected).norm() < 1e-14 * expected.norm());
        }
        assert_eq!(low.pressure(1, receiver), Complex::new(0.0, 0.0));
        assert_eq!(low.pressure(3, receiver), Complex::new(0.0, 0.0));
    }
}

#[test]
fn upper_and_lower_cabinets_add_up_to_the_whole() {
    let hang = hang(&[0.0, 1.0, 2.0, 5.0, 10.0], vec![element()], Some(90.0));
    let pose = Hanging::at(&hang, 1.0).top(9.0).pose().unwrap();
    let lines = Lines::of_bands(&bands::EVENNESS, 5, &air()).unwrap();
    let receivers = points();
    let part = |range| {
        Sources::of_cabinets(&hang, &pose, Placement::default(), range, Parts::Each(3)).unwrap()
    };
    let whole = Field::of(&part(0..6), &receivers, &lines);
    let mut sum = Field::silent(&receivers, &lines);
    accumulate(&part(0..2), &receivers, &lines, &mut sum);
    accumulate(&part(2..6), &receivers, &lines, &mut sum);
    for receiver in 0..receivers.len() {
        for line in 0..lines.len() {
            let difference = sum.pressure(line, receiver) - whole.pressure(line, receiver);
            assert!(difference.norm() < 1e-14);
        }
    }
    let levels = sum.band_levels(&lines);
    let mean: f64 = (0..5)
        .map(|line| sum.pressure(line, 4).norm_sqr())
        .sum::<f64>()
        / 5.0;
    assert_relative_eq!(levels[0][4], 10.0 * mean.log10(), max_relative = 1e-13);
}

#[test]
fn threads_do_not_change_a_bit() {
    let hang = hang(&[0.0, 1.0, 2.0, 5.0, 10.0], vec![element()], Some(90.0));
    let pose = Hanging::at(&hang, 1.0).top(9.0).pose().unwrap();
    let lines = Lines::of_bands(&bands::EVENNESS, 2, &air()).unwrap();
    let receivers = Receivers::of_points((0..999).map(|i| [4.0 + 0.1 * f64::from(i), 1.0, 1.2]));
    let place = Placement::default();
    let sources = Sources::of_cabinets(&hang, &pose, place, 0..6, Parts::Each(3)).unwrap();
    let with = |threads: usize| {
        threads::with_count(threads, || {
            let mut out = vec![Complex::new(0.0, 0.0); receivers.len() * lines.len()];
            let widest = Registers::widest();
            write_pressure(widest, &sources, &receivers, &lines, &mut out, || {
                Ok::<(), ()>(())
            })
            .unwrap();
            let field = Field::of(&sources, &receivers, &lines);
            (out, field.parts)
        })
    };
    let one = with(1);
    let mut alone = Field::silent(&receivers, &lines);
    accumulate(&sources, &receivers, &lines, &mut alone);
    assert_eq!(alone.parts, one.1);
    assert_eq!(one.0[1234], alone.pressure(1, 1234 - 999));
    assert!(one == with(2) && one == with(8));
}

#[test]
fn a_receiver_above_a_cabinet_has_a_finite_pressure() {
    let hang = hang(&[], vec![element()], Some(90.0));
    let pose = Hanging::at(&hang, 0.0).top(9.0).pose().unwrap();
    let lines = Lines::of_frequencies(&[1000.0], &air()).unwrap();
    let receivers = Receivers::of_points([[0.0, 0.0, 20.0], [-5.0, 0.0, 8.82]].into_iter());
    let place = Placement::default();
    let sources = Sources::of_cabinets(&hang, &pose, place, 0..1, Parts::Each(1)).unwrap();
    let field = Field::of(&sources, &receivers, &lines);
    assert!(field.pressure(0, 0).norm().is_finite());
    assert!(field.pressure(0, 1).norm() < 1e-20);
}
