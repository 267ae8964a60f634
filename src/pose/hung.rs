//! The mechanism of a hang: its frames and cabinets, and all that hangs on them.

use super::lumps::{Lump, lumps};
use super::mechanism::{Body, Mechanism, TopJoint, Travel};
use super::plane::Vec2;
use super::rear::RearEdges;
use crate::error::{InputError, Result};
use crate::model::{BottomFrame, Cabinet, Hang, Point, Rigging};

fn cabinet_body(cabinet: &Cabinet) -> Body {
    let half = cabinet.height_m / 2.0;
    let from_hinge = |x: f64, z: f64| Vec2::new(x - cabinet.hinge_x_m, z - half);
    let rear = cabinet.rear_height_m() / 2.0;
    let pin = half - cabinet.rear_pin_inset_m;
    Body {
        mass_kg: cabinet.mass_kg,
        cg_m: from_hinge(cabinet.cg_m[0], cabinet.cg_m[1]),
        push_n: Vec2::zeros(),
        push_at_m: Vec2::zeros(),
        lower_hinge_m: Vec2::new(0.0, -cabinet.height_m),
        rear_edges_m: RearEdges::of([rear, -rear].map(|z| from_hinge(-cabinet.depth_m, z))),
        rear_pins_m: [pin, -pin].map(|z| from_hinge(cabinet.rear_pin_x_m, z)),
    }
}

fn frame_body(mass_kg: f64, cg_m: Point, rear_pin_m: Point, edges_m: RearEdges) -> Body {
    Body {
        mass_kg,
        cg_m: cg_m.into(),
        push_n: Vec2::zeros(),
        push_at_m: Vec2::zeros(),
        lower_hinge_m: Vec2::zeros(),
        rear_edges_m: edges_m,
        rear_pins_m: [rear_pin_m.into(); 2],
    }
}

/// Upper and lower end of the closing chain in their frames' own axes, where a hang has one.
fn chain_ends(hang: &Hang) -> Option<(Point, Point)> {
    let bottom = hang.bottom.as_ref()?;
    let ends = (hang.frame.chain_anchor_m?, bottom.chain_anchor_m?);
    (hang.rigging == Rigging::Compression).then_some(ends)
}

/// Refuses a hang that no chain closes.
///
/// # Errors
/// The hang is not a compression hang, has no bottom frame, or a frame has no chain anchor.
fn require_chain(hang: &Hang) -> Result<()> {
    if hang.rigging != Rigging::Compression {
        return Err(InputError::new(
            "rigging",
            hang.rigging.name(),
            "compression; only a compression hang is closed by a chain",
        ));
    }
    let bottom = hang.require_bottom()?;
    let missing = |field: &str| InputError::new(field, "None", "the anchor of the closing chain");
    hang.frame
        .chain_anchor_m
        .ok_or_else(|| missing("frame.chain_anchor_m"))?;
    bottom
        .chain_anchor_m
        .ok_or_else(|| missing("bottom.chain_anchor_m"))
        .map(drop)
}

impl Mechanism {
    /// The mechanism of `hang` with its frame held at `tilt_rad` and stops at `splays_deg`, which
    /// need not be pin positions.
    ///
    /// # Errors
    /// Not a compression hang, no bottom frame, or a frame with no chain anchor.
    pub fn new(
        hang: &Hang,
        splays_deg: &[f64],
        tilt_rad: f64,
        top_joint: TopJoint,
    ) -> Result<Self> {
        require_chain(hang)?;
        Ok(Self::of(hang, splays_deg, tilt_rad, top_joint))
    }

    /// The mechanism of any hang, with all that hangs on its bodies. Where it has no chain both chain ends
    /// lie at the hinges; with no bottom frame it has a massless one, and a tension hang has every joint
    /// locked at its pin.
    pub fn of(hang: &Hang, splays_deg: &[f64], tilt_rad: f64, top_joint: TopJoint) -> Self {
        let mut mechanism = Self::bare(hang, splays_deg, tilt_rad, top_joint);
        for lump in mechanism.lumps_of(hang) {
            mechanism.bodies[lump.body].add(lump.mass_kg, lump.at_m);
        }
        mechanism
    }

    /// What hangs on the bodies of a bare mechanism.
    pub fn lumps_of(&self, hang: &Hang) -> Vec<Lump> {
        lumps(hang, self, chain_ends(hang).is_some())
    }

    /// The mechanism of frames and cabinets alone.
    pub fn bare(hang: &Hang, splays_deg: &[f64], tilt_rad: f64, top_joint: TopJoint) -> Self {
        let none = BottomFrame {
            mass_kg: 0.0,
            cg_m: [0.0; 2],
            chain_anchor_m: None,
            fixed_splay_deg: 0.0,
            rear_pin_m: None,
            rear_outline_m: Vec::new(),
            limits: Default::default(),
        };
        let bottom = hang.bottom.as_ref().unwrap_or(&none);
        let frame = &hang.frame;
        let last = &hang.cabinets[hang.cabinets.len() - 1];
        let frame_pin = frame
            .rear_pin_m
            .unwrap_or_else(|| mirrored_pin(&hang.cabinets[0], 1.0));
        let bottom_pin = bottom
            .rear_pin_m
            .unwrap_or_else(|| mirrored_pin(last, -1.0));

        let mut bodies = Vec::with_capacity(hang.cabinets.len() + 2);
        let (upper, lower) = chain_ends(hang).unwrap_or_default();
        // Corners past the chain's end are out of its reach.
        let edges = |outline_m: &[Point], passes: &dyn Fn(f64) -> bool| {
            RearEdges::some(outline_m.iter().filter(|corner| passes(corner[1])))
        };
        let above = edges(&frame.rear_outline_m, &|z| z < upper[1]);
        let below = edges(&bottom.rear_outline_m, &|z| z > lower[1]);
        bodies.push(frame_body(frame.mass_kg, frame.cg_m, frame_pin, above));
        bodies.extend(hang.cabinets.iter().map(cabinet_body));
        bodies.push(frame_body(bottom.mass_kg, bottom.cg_m, bottom_pin, below));

        let open_rad = hang.open_limit_deg.to_radians();
        let locked = |angle_deg: f64| Travel {
            open_rad: angle_deg.to_radians(),
            stop_rad: angle_deg.to_radians(),
        };
        let opening = |angle_deg: f64| Travel {
            open_rad: open_rad.min(angle_deg.to_radians()),
            stop_rad: angle_deg.to_radians(),
        };
        let mut travels = Vec::with_capacity(bodies.len() - 1);
        travels.push(match top_joint {
            TopJoint::Locked => locked(hang.frame_splay_deg),
            TopJoint::Stop => opening(hang.frame_splay_deg),
        });
        travels.extend(splays_deg.iter().map(|&angle| match hang.rigging {
            Rigging::Compression => opening(angle),
            Rigging::Tension => locked(angle),
        }));
        travels.push(locked(bottom.fixed_splay_deg));
        Self {
            bodies,
            travels,
            hooks: 0,
            upper_anchor_m: upper.into(),
            lower_anchor_m: lower.into(),
            base_rad: tilt_rad,
            gravity_m_s2: hang.gravity_m_s2,
        }
    }
}

/// The rear pin a frame has when none is stated: that of the cabinet it meets, mirrored in the
/// joint. `side` is 1 above the joint and −1 below.
fn mirrored_pin(cabinet: &Cabinet, side: f64) -> Point {
    [
        cabinet.rear_pin_x_m - cabinet.hinge_x_m,
        side * cabinet.rear_pin_inset_m,
    ]
}
