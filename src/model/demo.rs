//! Demo data for tests: one small hang, which each test changes where it asks.

use super::{Cabinet, FlyFrame, FlyFrameLimits, Hang, Rigging, SplayPositions};

/// A cabinet without a source.
pub fn cabinet() -> Cabinet {
    Cabinet {
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
        splay_positions_deg: SplayPositions::both(&[0.0, 1.0, 2.0, 5.0, 10.0]),
        source: None,
        limits: Default::default(),
    }
}

/// A fly frame with two holes and no chain anchor.
pub fn fly_frame() -> FlyFrame {
    FlyFrame {
        mass_kg: 60.0,
        height_m: 0.2,
        cg_m: [-0.3, 0.1],
        pick_x_m: vec![0.0, -0.4],
        pick_z_m: 0.25,
        chain_anchor_m: None,
        rear_pin_m: None,
        rear_outline_m: Vec::new(),
        limits: FlyFrameLimits::default(),
    }
}

/// Cabinets all alike under the fly frame, pinned so, their rear links two-sided.
pub fn hang(cabinet: Cabinet, splays_deg: &[f64]) -> Hang {
    Hang {
        frame: fly_frame(),
        cabinets: vec![cabinet; splays_deg.len() + 1],
        splays_deg: splays_deg.to_vec(),
        rigging: Rigging::Tension,
        bottom: None,
        gear: None,
        open_limit_deg: -2.0,
        frame_splay_deg: 0.0,
        gravity_m_s2: 9.80665,
        pieces: Vec::new(),
        runs: Vec::new(),
    }
}
