//! How long a term of the field takes, for each kind of register the machine has.
//!
//! A term is one sub-element, receiver and frequency. `cargo bench --no-default-features --bench
//! field`.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use hangarc::acoustics::field::{Registers, accumulate_with};
use hangarc::acoustics::{Field, Lines, Parts, Receivers, Sources, bands};
use hangarc::error::Result;
use hangarc::model::{
    Air, Cabinet, FlyFrame, Hang, LineElement, Rigging, Source, SplayPositions, Valid,
};
use hangarc::pose::{Hanging, Placement};

/// Demo data.
fn hang(cabinets: usize) -> Result<Valid<Hang>> {
    let cabinet = Cabinet {
        name: "demo data".into(),
        mass_kg: 64.0,
        height_m: 0.36,
        depth_m: 0.55,
        width_m: 1.1,
        cg_m: [-0.25, 0.01],
        hinge_x_m: 0.0,
        rear_pin_x_m: -0.5,
        rear_pin_inset_m: 0.05,
        rear_height_m: None,
        splay_positions_deg: SplayPositions::both(&[0.5]),
        source: Some(Source {
            elements: vec![LineElement {
                height_m: 0.34,
                x_m: 0.0,
                z_m: 0.0,
                gain_db: 0.0,
                delay_s: 0.0,
                inverted: false,
                curvature_deg: 0.0,
                low_hz: None,
                high_hz: None,
            }],
            coverage_deg: Some(90.0),
            ..Source::default()
        }),
        limits: Default::default(),
    };
    Valid::new(Hang {
        frame: FlyFrame {
            mass_kg: 60.0,
            height_m: 0.2,
            cg_m: [-0.3, 0.1],
            pick_x_m: vec![0.0, -0.4],
            pick_z_m: 0.25,
            chain_anchor_m: None,
            rear_pin_m: None,
            rear_outline_m: Vec::new(),
            limits: Default::default(),
        },
        cabinets: vec![cabinet; cabinets],
        splays_deg: vec![0.5; cabinets - 1],
        rigging: Rigging::Tension,
        bottom: None,
        gear: None,
        open_limit_deg: -2.0,
        frame_splay_deg: 0.0,
        gravity_m_s2: 9.80665,
        pieces: Vec::new(),
        runs: Vec::new(),
    })
}

fn field(criterion: &mut Criterion) {
    let built = (|| {
        let hang = hang(24)?;
        let pose = Hanging::at(&hang, 2.0).top(12.0).pose()?;
        let place = Placement::default();
        let sources = Sources::of_cabinets(&hang, &pose, place, 0..24, Parts::Each(3))?;
        let air = Valid::new(Air::default())?;
        let few = Sources::of_cabinets(&hang, &pose, place, 0..12, Parts::Each(1))?;
        let any: Vec<f64> = (0..50).map(|i| 1000.0 + 140.0 * f64::from(i)).collect();
        Ok::<_, hangarc::InputError>([
            (
                "any grid",
                sources.clone(),
                Lines::of_frequencies(&any, &air)?,
            ),
            (
                "octaves",
                sources,
                Lines::of_bands(&bands::EVENNESS, 5, &air)?,
            ),
            (
                "any grid, few sources",
                few,
                Lines::of_frequencies(&any[..24], &air)?,
            ),
        ])
    })();
    let cases = match built {
        Ok(built) => built,
        Err(error) => return eprintln!("{error}"),
    };
    let receivers = Receivers::of_points((0..400u32).map(|seat| {
        let seat = f64::from(seat);
        [10.0 + 0.15 * seat, 10.0 * (seat * 1.7).sin(), 1.2]
    }));
    for (name, sources, lines) in &cases {
        let mut group = criterion.benchmark_group(*name);
        let terms = sources.len() * receivers.len() * lines.len();
        group.throughput(Throughput::Elements(terms as u64));
        for registers in Registers::available() {
            group.bench_function(registers.name(), |bencher| {
                let mut field = Field::silent(&receivers, lines);
                bencher.iter(|| {
                    accumulate_with(registers, sources, &receivers, lines, &mut field);
                });
            });
        }
        group.finish();
    }
}

criterion_group!(benches, field);
criterion_main!(benches);
