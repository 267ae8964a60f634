//! The hang reduced to a planar mechanism: rigid bodies in a row, joined by front hinges.
//!
//! Joint j joins body j to body j+1 at hinge h_j, and its angle θ_j turns all bodies below:
//! φ_{j+1} = φ_j − θ_j. Body 0 stands still: the fly frame where it is held, or else a hook at the
//! pick that the frame turns on, with joint 0 between hook and frame.
//! Positions: h_j = h_{j−1} + R(φ_j) o_j with o_j the way from body j's upper to its lower hinge.

use super::plane::Vec2;
use crate::error::{InputError, Result};
use crate::model::{BottomFrame, Cabinet, Hang, Point, Rigging};
use nalgebra::UnitComplex;

/// How joint 0, between fly frame and cabinet 0, is held at its rear.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TopJoint {
    /// A link that carries tension and compression.
    #[default]
    Locked,
    /// A stop that carries compression only, so that the joint can open.
    Stop,
}

/// Range of a joint's angle, closing upwards. Nothing to go between the two is a locked joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Travel {
    /// Angle at the open limit.
    pub open_rad: f64,
    /// Angle at the stop.
    pub stop_rad: f64,
}

impl Travel {
    /// Whether the joint has any way to go.
    pub fn moves(&self) -> bool {
        self.stop_rad > self.open_rad
    }
}

/// A rigid body in a frame with its origin at its upper front hinge.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    pub mass_kg: f64,
    pub cg_m: Vec2,
    /// A load besides the weight that keeps its direction, and where on the body it acts.
    pub push_n: Vec2,
    pub push_at_m: Vec2,
    /// Lower front hinge.
    pub lower_hinge_m: Vec2,
    /// Upper and lower rear edge, which the chain may touch.
    pub rear_edges_m: Option<[Vec2; 2]>,
    /// Rear link pins of the joints above and below.
    pub rear_pins_m: [Vec2; 2],
}

/// The hang as bodies, joints and chain ends: fly frame, cabinets, bottom frame.
#[derive(Clone, Debug)]
pub(crate) struct Mechanism {
    pub bodies: Vec<Body>,
    pub travels: Vec<Travel>,
    /// Joints above the hang's joint 0: one where the frame turns on a hook.
    pub hooks: usize,
    /// Upper chain end, in the fly frame.
    pub upper_anchor_m: Vec2,
    /// Lower chain end, in the last body.
    pub lower_anchor_m: Vec2,
    /// Elevation of body 0.
    pub base_rad: f64,
    /// Acceleration of free fall.
    pub gravity_m_s2: f64,
}

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
        rear_edges_m: Some([rear, -rear].map(|z| from_hinge(-cabinet.depth_m, z))),
        rear_pins_m: [pin, -pin].map(|z| from_hinge(cabinet.rear_pin_x_m, z)),
    }
}

fn frame_body(mass_kg: f64, cg_m: Point, rear_pin_m: Point) -> Body {
    Body {
        mass_kg,
        cg_m: cg_m.into(),
        push_n: Vec2::zeros(),
        push_at_m: Vec2::zeros(),
        lower_hinge_m: Vec2::zeros(),
        rear_edges_m: None,
        rear_pins_m: [rear_pin_m.into(); 2],
    }
}

/// Upper and lower end of the closing chain in their frames' own axes.
///
/// # Errors
/// The hang is not a compression hang, has no bottom frame, or a frame has no chain anchor.
pub(crate) fn chain_anchors(hang: &Hang) -> Result<(Point, Point)> {
    if hang.rigging != Rigging::Compression {
        return Err(InputError::new(
            "rigging",
            hang.rigging.name(),
            "compression; only a compression hang is closed by a chain",
        ));
    }
    let bottom = hang.require_bottom()?;
    let missing = |field: &str| InputError::new(field, "None", "the anchor of the closing chain");
    Ok((
        hang.frame
            .chain_anchor_m
            .ok_or_else(|| missing("frame.chain_anchor_m"))?,
        bottom
            .chain_anchor_m
            .ok_or_else(|| missing("bottom.chain_anchor_m"))?,
    ))
}

impl Mechanism {
    /// The mechanism of `hang` with its frame held at `tilt_rad` and stops at `splays_deg`, which
    /// need not be pin positions.
    ///
    /// # Errors
    /// As [`chain_anchors`].
    pub fn new(
        hang: &Hang,
        splays_deg: &[f64],
        tilt_rad: f64,
        top_joint: TopJoint,
    ) -> Result<Self> {
        let (upper, lower) = chain_anchors(hang)?;
        let mut mechanism = Self::of(hang, splays_deg, tilt_rad, top_joint);
        mechanism.upper_anchor_m = upper.into();
        mechanism.lower_anchor_m = lower.into();
        Ok(mechanism)
    }

    /// The mechanism of any hang, with both chain ends at the hinges; with no bottom frame a massless one, and in
    /// a tension hang every joint locked at its pin.
    pub fn of(hang: &Hang, splays_deg: &[f64], tilt_rad: f64, top_joint: TopJoint) -> Self {
        let none = BottomFrame {
            mass_kg: 0.0,
            cg_m: [0.0; 2],
            chain_anchor_m: None,
            fixed_splay_deg: 0.0,
            rear_pin_m: None,
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
        bodies.push(frame_body(frame.mass_kg, frame.cg_m, frame_pin));
        bodies.extend(hang.cabinets.iter().map(cabinet_body));
        bodies.push(frame_body(bottom.mass_kg, bottom.cg_m, bottom_pin));

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
            upper_anchor_m: Vec2::zeros(),
            lower_anchor_m: Vec2::zeros(),
            base_rad: tilt_rad,
            gravity_m_s2: hang.gravity_m_s2,
        }
    }

    /// The same hang with its frame turning on a pick of the frame, its tilt within `tilt_rad`.
    pub fn on_hook(mut self, pick_m: Vec2, tilt_rad: [f64; 2]) -> Self {
        let frame = &mut self.bodies[0];
        for point in [
            &mut frame.cg_m,
            &mut frame.push_at_m,
            &mut frame.lower_hinge_m,
        ] {
            *point -= pick_m;
        }
        for pin in &mut frame.rear_pins_m {
            *pin -= pick_m;
        }
        self.upper_anchor_m -= pick_m;
        let hook = Body {
            mass_kg: 0.0,
            cg_m: Vec2::zeros(),
            push_n: Vec2::zeros(),
            push_at_m: Vec2::zeros(),
            lower_hinge_m: Vec2::zeros(),
            rear_edges_m: None,
            rear_pins_m: [Vec2::zeros(); 2],
        };
        self.bodies.insert(0, hook);
        let [lowest, highest] = tilt_rad;
        self.travels.insert(
            0,
            Travel {
                open_rad: -highest,
                stop_rad: -lowest,
            },
        );
        self.hooks = 1;
        self.base_rad = 0.0;
        self
    }

    /// Locks every joint of the hang on its stop.
    pub fn lock_at_stops(&mut self) {
        for travel in &mut self.travels[self.hooks..] {
            travel.open_rad = travel.stop_rad;
        }
    }

    /// Whether a joint is one that the chain closes.
    pub fn closes(&self, joint: usize) -> bool {
        joint >= self.hooks && self.travels[joint].moves()
    }

    /// Number of joints, locked ones included.
    pub fn joints(&self) -> usize {
        self.travels.len()
    }

    /// Places every body under `turns`, one a joint, body 0's upper hinge at the origin.
    pub fn place(&self, turns: impl Iterator<Item = UnitComplex<f64>>, placed: &mut [Placed]) {
        let mut here = Placed {
            origin_m: Vec2::zeros(),
            turn: UnitComplex::new(self.base_rad),
        };
        let (first, others) = placed.split_at_mut(1);
        first[0] = here;
        for ((placed, body), turn) in others.iter_mut().zip(&self.bodies).zip(turns) {
            here.origin_m = here.point(body.lower_hinge_m);
            here.turn *= turn;
            *placed = here;
        }
    }

    /// Way along the hinges from the top to the bottom, the size of the hang.
    pub fn length_m(&self) -> f64 {
        self.bodies
            .iter()
            .map(|body| body.lower_hinge_m.norm())
            .sum()
    }

    /// Sum of all loads.
    pub fn load_n(&self) -> f64 {
        let load_n = |body: &Body| self.gravity_m_s2 * body.mass_kg + body.push_n.norm();
        self.bodies.iter().map(load_n).sum()
    }
}

/// A body's upper hinge and its own axes.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Placed {
    pub origin_m: Vec2,
    pub turn: UnitComplex<f64>,
}

impl Placed {
    /// A point of the body.
    pub fn point(&self, point: Vec2) -> Vec2 {
        self.origin_m + self.turn * point
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
