//! How much do closing force and hoist loads change with every mass, centre of gravity, splay, tilt
//! and anchor?
//!
//! Closed, the pose is fixed by its stops and the governing joint g gives T = G/E, with H its hinge,
//! G = g Σ_below m (x_H − x_m) and E = (P − H) × u, P the next point of the chain below, Q the one
//! above, u the unit vector from Q to P: dT = (dG − T dE)/E. An input moves points by known
//! velocities: a joint or the tilt turns all below it, an offset shifts one point. With these,
//! dE = (dP − dH) × u + (P − H) × du and du = (1 − u uᵀ)(dP − dQ)/|P − Q|. Hoist loads are moments
//! about the picks; the shares in which the ends of the chain's straight parts carry its mass are held,
//! F_front = g (Σ m x − x_rear Σ m)/(x_front − x_rear).

use super::closed::ClosedState;
use super::support::{FrameHold, Support};
use crate::error::{InputError, Result, within_range};
use crate::model::Hang;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::pose::string::cross;
use crate::pose::{Hanging, Vec2};
use nalgebra::Rotation2;

/// What hangs this near the chain's end hangs on it.
const SAME_PLACE_M: f64 = 1e-9;

/// Derivatives by one input.
#[derive(Clone, Debug, PartialEq)]
pub struct Sensitivity {
    /// Path of the input in the hang, e.g. `cabinets[3].cg_m[0]`, or `tilt_deg`.
    pub input: String,
    /// Change of the closing force for a change of the input by one of its units; zero where
    /// gravity holds the hang closed.
    pub closing_force_n: f64,
    /// Change of the two hoists' loads, front first.
    pub hoist_load_n: [f64; 2],
}

/// What an input does to the closed hang, per unit.
enum Motion {
    /// Turns every body from this one down about a point, counter-clockwise in (x, z).
    Turn { from_body: usize, about: Vec2 },
    /// Adds to a body's own mass, whose centre of gravity is there.
    Mass { body: usize, at_m: Vec2 },
    /// Shifts a mass on a body.
    Cg {
        body: usize,
        way: Vec2,
        mass_kg: f64,
    },
    /// Shifts the chain's upper or lower end, and of the chain's mass what that end carries.
    Anchor {
        upper: bool,
        body: usize,
        way: Vec2,
        mass_kg: f64,
    },
}

impl Motion {
    fn of_body(&self, body: usize, point: Vec2) -> Vec2 {
        match self {
            Self::Turn { from_body, about } if body >= *from_body => {
                let arm = point - about;
                Vec2::new(-arm.y, arm.x)
            }
            _ => Vec2::zeros(),
        }
    }

    /// Changes of a body's mass and of its moment Σ m x, its mass and centre of gravity given.
    fn of_mass(&self, body: usize, mass_kg: f64, cg: Vec2) -> (f64, f64) {
        match *self {
            Self::Mass {
                body: changed,
                at_m,
            } if changed == body => (1.0, at_m.x),
            Self::Cg {
                body: moved,
                way,
                mass_kg,
            }
            | Self::Anchor {
                body: moved,
                way,
                mass_kg,
                ..
            } if moved == body => (0.0, mass_kg * way.x),
            _ => (0.0, mass_kg * self.of_body(body, cg).x),
        }
    }
}

/// Derivatives of closing force and hoist loads of the closed hang at a held tilt, by every input:
/// per degree, kilogram or metre. Joint 0 is locked.
///
/// # Errors
/// No chain force holds the hang closed, picks that do not fit, or as [`crate::statics::closing::close`].
pub fn sensitivities(hanging: &Hanging<'_>) -> Result<Vec<Sensitivity>> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let support = Support::new(hang, FrameHold::TwoHoists, tilt_rad, hanging.pick_x_m)?;
    let turn = Rotation2::new(tilt_rad);
    let closed = State::closed(&mechanism);
    let governing = match ClosedState::of(&mechanism, &closed) {
        ClosedState::Closes { joint, force_n, .. } => joint.map(|joint| (joint, force_n)),
        state => {
            return Err(InputError::new(
                "hang",
                state.name(),
                "a hang that a chain force holds closed",
            ));
        }
    };
    let place = Closed {
        mechanism: &mechanism,
        state: &closed,
        picks: [0, 1].map(|pick| turn * support.points_m()[pick]),
        governing,
    };
    Ok(inputs(hang, &mechanism, &closed)
        .into_iter()
        .map(|(input, motion, per_unit)| Sensitivity {
            input,
            closing_force_n: per_unit * place.force_change_n(&motion),
            hoist_load_n: place
                .hoist_change_n(&motion)
                .map(|change| per_unit * change),
        })
        .collect())
}

fn inputs(hang: &Hang, mechanism: &Mechanism, closed: &State) -> Vec<(String, Motion, f64)> {
    let per_degree = 1.0_f64.to_radians();
    let mut list = vec![(
        "tilt_deg".to_owned(),
        Motion::Turn {
            from_body: 0,
            about: closed.hinge_m(0),
        },
        per_degree,
    )];
    for splay in 0..hang.splays_deg.len() {
        let motion = Motion::Turn {
            from_body: splay + 2,
            about: closed.hinge_m(splay + 1),
        };
        list.push((format!("splays_deg[{splay}]"), motion, -per_degree));
    }
    let last = mechanism.bodies.len() - 1;
    let tilt_rad = mechanism.base_rad;
    let bare = Mechanism::bare(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked);
    let lumps = bare.lumps_of(hang);
    for (body, own) in bare.bodies.iter().enumerate() {
        let name = match body {
            0 => "frame".to_owned(),
            _ if body == last => "bottom".to_owned(),
            _ => format!("cabinets[{}]", body - 1),
        };
        let at_m = closed.point(body, own.cg_m);
        list.push((format!("{name}.mass_kg"), Motion::Mass { body, at_m }, 1.0));
        for (axis, way) in closed.axes(body).into_iter().enumerate() {
            list.push((
                format!("{name}.cg_m[{axis}]"),
                Motion::Cg {
                    body,
                    way,
                    mass_kg: own.mass_kg,
                },
                1.0,
            ));
        }
    }
    let ends = [
        ("frame", 0, bare.upper_anchor_m),
        ("bottom", last, bare.lower_anchor_m),
    ];
    for (name, body, end_m) in ends {
        let upper = body == 0;
        let carried = lumps
            .iter()
            .filter(|lump| lump.of_chain && lump.body == body)
            .filter(|lump| (lump.at_m - end_m).norm() < SAME_PLACE_M);
        let mass_kg = carried.map(|lump| lump.mass_kg).sum();
        for (axis, way) in closed.axes(body).into_iter().enumerate() {
            let motion = Motion::Anchor {
                upper,
                body,
                way,
                mass_kg,
            };
            list.push((format!("{name}.chain_anchor_m[{axis}]"), motion, 1.0));
        }
    }
    list
}

struct Closed<'a> {
    mechanism: &'a Mechanism,
    state: &'a State,
    /// Picks in room axes.
    picks: [Vec2; 2],
    governing: Option<(usize, f64)>,
}

impl Closed<'_> {
    fn cg_m(&self, body: usize) -> Vec2 {
        self.state.point(body, self.mechanism.bodies[body].cg_m)
    }

    fn force_change_n(&self, motion: &Motion) -> f64 {
        let Some((joint, force_n)) = self.governing else {
            return 0.0;
        };
        let hinge = self.state.hinge_m(joint);
        let hinge_way = motion.of_body(joint, hinge);
        let mut gravity_change = 0.0;
        for body in joint + 1..self.mechanism.bodies.len() {
            let cg = self.cg_m(body);
            let mass_kg = self.mechanism.bodies[body].mass_kg;
            let (mass_way, moment_way) = motion.of_mass(body, mass_kg, cg);
            gravity_change += mass_way * hinge.x + mass_kg * hinge_way.x - moment_way;
        }
        let string = &self.state.string;
        let below = string
            .iter()
            .position(|touch| touch.body > joint)
            .unwrap_or(string.len() - 1);
        let way_of = |index: usize| {
            let touch = string[index];
            let own = match motion {
                Motion::Anchor {
                    upper: true, way, ..
                } if index == 0 => *way,
                Motion::Anchor {
                    upper: false, way, ..
                } if index == string.len() - 1 => *way,
                _ => Vec2::zeros(),
            };
            own + motion.of_body(touch.body, touch.point_m)
        };
        let span = string[below].point_m - string[below - 1].point_m;
        let (down, length) = (span.normalize(), span.norm());
        let span_way = way_of(below) - way_of(below - 1);
        let down_way = (span_way - down * down.dot(&span_way)) / length;
        let arm = string[below].point_m - hinge;
        let lever_change = cross(way_of(below) - hinge_way, down) + cross(arm, down_way);
        (self.mechanism.gravity_m_s2 * gravity_change - force_n * lever_change) / cross(arm, down)
    }

    fn hoist_change_n(&self, motion: &Motion) -> [f64; 2] {
        let [front, rear] = self.picks;
        let [front_way, rear_way] = self.picks.map(|pick| motion.of_body(0, pick));
        let (mut mass, mut mass_way, mut moment, mut moment_way) = (0.0, 0.0, 0.0, 0.0);
        for (body, part) in self.mechanism.bodies.iter().enumerate() {
            let cg = self.cg_m(body);
            mass += part.mass_kg;
            let (more, moment_more) = motion.of_mass(body, part.mass_kg, cg);
            mass_way += more;
            moment += part.mass_kg * cg.x;
            moment_way += moment_more;
        }
        let spacing = front.x - rear.x;
        let front_kg = (moment - mass * rear.x) / spacing;
        let front_change = (moment_way
            - mass_way * rear.x
            - mass * rear_way.x
            - front_kg * (front_way.x - rear_way.x))
            / spacing;
        [front_change, mass_way - front_change].map(|kg| kg * self.mechanism.gravity_m_s2)
    }
}
