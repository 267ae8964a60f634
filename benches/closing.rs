//! Closing: the whole path and the force alone, by count of cabinets.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use hangarc::model::{
    BottomFrame, Cabinet, ClosingGear, FlyFrame, Hang, Rigging, SplayPositions, Valid,
};
use hangarc::pose::Hanging;
use hangarc::statics::closing::{ClosingOptions, close, closing_force};
use std::hint::black_box;

/// How the splays run down the hang.
#[derive(Clone, Copy, Debug)]
enum Splays {
    /// From 0° to about 10° with the square of the place.
    Progressive,
    /// 1° at every joint.
    Even,
}

/// Invented hardware (demo data).
fn hang(count: usize, splays: Splays) -> Hang {
    let positions: Vec<f64> = (0..=10).map(f64::from).collect();
    let cabinet = Cabinet {
        name: "demo data".into(),
        mass_kg: 64.0,
        height_m: 0.36,
        depth_m: 0.58,
        width_m: 1.15,
        cg_m: [-0.27, 0.0],
        hinge_x_m: 0.0,
        rear_pin_x_m: -0.5,
        rear_pin_inset_m: 0.05,
        rear_height_m: None,
        splay_positions_deg: SplayPositions::both(&positions),
        source: None,
        limits: Default::default(),
    };
    let share = |k: usize| k as f64 / count as f64;
    Hang {
        frame: FlyFrame {
            mass_kg: 75.0,
            height_m: 0.25,
            cg_m: [-0.35, 0.12],
            pick_x_m: vec![0.2, -0.8],
            pick_z_m: 0.22,
            chain_anchor_m: Some([-0.75, 0.05]),
            rear_pin_m: None,
            rear_outline_m: Vec::new(),
            limits: Default::default(),
        },
        cabinets: vec![cabinet; count],
        splays_deg: (0..count - 1)
            .map(|k| match splays {
                Splays::Progressive => (10.0 * share(k) * share(k)).round(),
                Splays::Even => 1.0,
            })
            .collect(),
        rigging: Rigging::Compression,
        bottom: Some(BottomFrame {
            mass_kg: 22.0,
            cg_m: [-0.35, -0.08],
            chain_anchor_m: Some([-0.7, -0.05]),
            fixed_splay_deg: 0.0,
            rear_pin_m: None,
            rear_outline_m: Vec::new(),
            limits: Default::default(),
        }),
        gear: None,
        open_limit_deg: -2.0,
        frame_splay_deg: 0.0,
        gravity_m_s2: 9.80665,
        pieces: Vec::new(),
        runs: Vec::new(),
    }
}

/// The same hang with a chain and a lever hoist that weigh something, and frames with corners behind
/// the chain.
fn dressed(mut hang: Hang) -> Hang {
    hang.gear = Some(ClosingGear {
        pitch_m: 0.03,
        links: 400,
        hoist_min_m: 0.4,
        hoist_max_m: 1.9,
        clutch_n: None,
        chain_mass_kg_m: 1.5,
        hoist_mass_kg: 6.0,
        bypass_mass_kg: 2.0,
        hoist_end: Default::default(),
        limits: Default::default(),
    });
    hang.frame.rear_outline_m = vec![[-0.85, 0.0]];
    if let Some(bottom) = &mut hang.bottom {
        bottom.rear_outline_m = vec![[-0.8, 0.0], [-0.8, -0.04]];
    }
    hang
}

fn closing(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("closing");
    let cases = [
        (6, Splays::Progressive),
        (12, Splays::Progressive),
        (24, Splays::Progressive),
        (24, Splays::Even),
    ];
    for (count, splays) in cases {
        let Ok(hang) = Valid::new(hang(count, splays)) else {
            continue;
        };
        for tilt in [-6.0, 6.0] {
            let name = format!("{count} cabinets, {splays:?} splays, {tilt} degrees");
            group.bench_function(BenchmarkId::new("path of 200 steps", &name), |bench| {
                bench.iter(|| {
                    close(
                        &Hanging::at(black_box(&hang), tilt),
                        &ClosingOptions::default(),
                    )
                });
            });
            group.bench_function(BenchmarkId::new("force alone", &name), |bench| {
                bench.iter(|| closing_force(black_box(&hang), &hang.splays_deg, tilt));
            });
            let Ok(dressed) = Valid::new(dressed((*hang).clone())) else {
                continue;
            };
            let of = BenchmarkId::new("path with masses and corners", &name);
            group.bench_function(of, |bench| {
                bench.iter(|| {
                    close(
                        &Hanging::at(black_box(&dressed), tilt),
                        &ClosingOptions::default(),
                    )
                });
            });
        }
    }
    group.finish();
}

criterion_group!(benches, closing);
criterion_main!(benches);
