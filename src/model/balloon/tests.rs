use super::measured::unit;
use super::{Axis, Balloon};
use crate::error::Result;
use nalgebra::Complex;
use std::f64::consts::PI;

/// A grid over the sphere, and what `law` gives there.
fn balloon(
    frequency_hz: &[f64],
    step_deg: f64,
    law: impl Fn(f64, [f64; 3]) -> Complex<f64>,
) -> Result<Balloon> {
    let count = |span_deg: f64| (span_deg / step_deg).round() as i32;
    let azimuth: Vec<f64> = (0..count(360.0))
        .map(|i| -180.0 + step_deg * f64::from(i))
        .collect();
    let elevation: Vec<f64> = (0..=count(180.0))
        .map(|i| -90.0 + step_deg * f64::from(i))
        .collect();
    let mut response = Vec::new();
    for &f in frequency_hz {
        for &el in &elevation {
            response.extend(azimuth.iter().map(|&az| law(f, unit([az, el]))));
        }
    }
    Balloon::new(frequency_hz.to_vec(), azimuth, elevation, response)
}

fn thirds() -> Vec<f64> {
    (-10..=9)
        .map(|b| 1000.0 * 10f64.powf(f64::from(b) / 10.0))
        .collect()
}

/// sin x / x of a line along z.
fn line(height_m: f64, f: f64, direction: [f64; 3]) -> f64 {
    let x = PI * f * height_m / 343.0 * direction[2];
    if x == 0.0 { 1.0 } else { x.sin() / x }
}

fn worst(
    balloon: &Balloon,
    frequency_hz: &[f64],
    law: impl Fn(f64, [f64; 3]) -> Complex<f64>,
) -> f64 {
    let mut worst: f64 = 0.0;
    for step in 0..500 {
        let az = -180.0 + 0.72 * f64::from(step) + 0.3;
        let el = 90.0 * (f64::from(step) * 0.37).sin();
        let got = balloon.response_towards(az, el, frequency_hz);
        for (value, &f) in got.iter().zip(frequency_hz) {
            worst = worst.max((value - law(f, unit([az, el]))).norm());
        }
    }
    worst
}

#[test]
fn a_line_comes_back_with_a_delay_left_in_and_its_centre_off() {
    let between: Vec<f64> = thirds().iter().map(|f| f * 1.11).take(19).collect();
    for (delay_s, centre_m) in [(0.0, 0.0), (0.0003, 0.0), (0.012, 0.0), (0.001, 0.05)] {
        let law = |f: f64, direction: [f64; 3]| {
            let turns = f * (delay_s - centre_m / 343.0 * direction[0]);
            Complex::from_polar(line(0.1, f, direction), -2.0 * PI * turns)
        };
        let balloon = balloon(&thirds(), 5.0, law).unwrap();
        assert!((balloon.delay_s() - delay_s).abs() < 1e-6);
        // A tenth of a decibel of the loudest; the last step has all its points on one side.
        assert!(worst(&balloon, &between[..18], law) < 0.011);
        assert!(worst(&balloon, &between[18..], law) < 0.022);
    }
}

#[test]
fn what_is_left_out_tells_the_error() {
    let law = |f: f64, direction: [f64; 3]| Complex::new(line(0.3, f, direction), 0.0);
    let coarse = balloon(&thirds(), 10.0, law).unwrap().left_out();
    let fine = balloon(&thirds(), 5.0, law).unwrap().left_out();
    for (coarse, fine) in coarse.iter().zip(&fine) {
        assert!(coarse.count > 100);
        if coarse.axis == Axis::Elevation {
            assert!(coarse.level_db[0] > 2.0 * fine.level_db[0]);
        }
    }
}

#[test]
fn steps_above_half_a_turn_are_refused() {
    // A centre half a metre ahead: 2.9 turns between directions 10° apart at 8 kHz.
    let law = |f: f64, direction: [f64; 3]| {
        Complex::from_polar(1.0, 2.0 * PI * f * 0.5 / 343.0 * direction[0])
    };
    let error = balloon(&thirds(), 10.0, law).unwrap_err();
    assert_eq!(error.field, "response");
    assert!(error.allowed.contains("turns"));
}

#[test]
fn a_distance_is_brought_to_one_metre() {
    let f = thirds();
    let grid = || {
        (
            f.clone(),
            vec![0.0, 90.0, 180.0, 270.0],
            vec![-90.0, 0.0, 90.0],
        )
    };
    let run_s = 4.0 / 343.0;
    let pressure = f
        .iter()
        .flat_map(|f| std::iter::repeat_n(Complex::from_polar(0.25, -2.0 * PI * f * run_s), 12));
    let (f, az, el) = grid();
    let (balloon, taken_s) =
        Balloon::measured_at(4.0, None, f, az, el, pressure.collect()).unwrap();
    assert!((taken_s - run_s).abs() < 1e-9);
    let at = balloon.response_towards(13.0, -20.0, &[777.0])[0];
    assert!((at - Complex::ONE).norm() < 1e-6);
}

#[test]
fn a_grid_that_falls_is_refused_by_place() {
    let one = vec![Complex::new(1.0, 0.0); 2];
    let error = Balloon::new(vec![1.0], vec![10.0, 0.0], vec![0.0], one).unwrap_err();
    assert_eq!(error.field, "azimuth_deg[1]");
}

#[test]
fn a_balloon_goes_through_a_document_bit_by_bit() {
    let law = |f: f64, direction: [f64; 3]| Complex::new(line(0.3, f, direction), 0.1);
    let given = balloon(&[500.0, 1000.0], 45.0, law).unwrap();
    let text = serde_json::to_string(&given).unwrap();
    let read: Balloon = serde_json::from_str(&text).unwrap();
    assert_eq!(read, given);
}
