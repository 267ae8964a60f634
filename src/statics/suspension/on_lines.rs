//! How does a hang rest when its hoist lines stretch, lead off plumb, are out of step, or one fails;
//! and what do the hoists read while it still stands on its cart?
//!
//! The hang is rigid at its pins, its lines and what it stands on those of `super::lines`.

pub use super::lines::LinesEnd;
use super::lines::{AtRest, Hung, Line, Prop, Shift};
use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};
use crate::model::{Hang, Valid};
use crate::pose::{Hanging, Pose, Vec2, place};
use crate::statics::balance::{hanging_tilt, hoist_loads_of};
use crate::statics::limits::{Case, FactorUse, LimitTable, Part};
use crate::statics::tilted::add_tilted;
use nalgebra::Rotation2;

/// The hoist lines of a hang in its plane.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "python", derive(pyo3::FromPyObject), pyo3(from_item_all))]
pub struct LinesInput {
    /// Length of each line at the planned tilt.
    pub line_m: Vec<f64>,
    /// Force over stretch of each line.
    pub stiffness_n_m: Vec<f64>,
    /// How much longer each line is than planned: a hoist out of step.
    pub longer_m: Vec<f64>,
    /// How far forward of its planned pick each roof point stands: 0 is plumb.
    pub roof_forward_m: Vec<f64>,
    /// A line that has failed.
    pub failed: Option<usize>,
    /// Whether the lines have their planned lengths under load; else unloaded, and stretch tilts it.
    pub trimmed_loaded: bool,
    /// Stated limit of each hoist.
    pub hoist_limit_n: Option<f64>,
}

/// A hang at rest on its lines.
#[derive(Clone, Debug)]
pub struct OnLines {
    /// How the search for its rest ended.
    pub end: LinesEnd,
    /// Greatest force left unbalanced, over the weight.
    pub residual: f64,
    /// Tilt of the frame.
    pub tilt_rad: f64,
    /// How far the centre of gravity has moved from the plan.
    pub cg_moved_m: Vec2,
    /// Pull of each line; 0 where slack or failed.
    pub hoist_n: Vec<f64>,
    /// Lean of each line from plumb, upper end forward positive.
    pub lean_rad: Vec<f64>,
    /// Parts against their stated limits.
    pub limits: LimitTable,
}

/// The rest of a hang on its lines, planned as it hangs; on one pick its tilt follows from the balance.
///
/// # Errors
/// Not one or two picks, lists of another length, no line left, or a value out of range.
pub fn on_lines(hanging: &Hanging<'_>, input: &LinesInput) -> Result<OnLines> {
    let Hanging { hang, pick_x_m, .. } = *hanging;
    let count = pick_x_m.len();
    each("pick_x_m", pick_x_m, finite)?;
    for (field, list, check) in [
        ("line_m", &input.line_m, positive as fn(&str, f64) -> _),
        ("stiffness_n_m", &input.stiffness_n_m, positive),
        ("longer_m", &input.longer_m, finite),
        ("roof_forward_m", &input.roof_forward_m, finite),
    ] {
        accept(
            list.len() == count,
            field,
            format!("{} values", list.len()),
            format!("{count}, one per pick"),
        )?;
        each(field, list, check)?;
    }
    if let Some(limit_n) = input.hoist_limit_n {
        positive("hoist_limit_n", limit_n)?;
    }
    if let Some(failed) = input.failed {
        accept(
            count == 2 && failed < 2,
            "failed",
            failed,
            "one of two hoists, from 0; the other still holds",
        )?;
    }
    let tilt_deg = match *pick_x_m {
        [pick] => hanging_tilt(hang, pick)?,
        _ => hanging.tilt_deg,
    };
    let placed = Hanging::at(hang, tilt_deg).pose()?;
    let planned = hoist_loads_of(&placed, hang, pick_x_m)?;
    let picks_m = picks_of(hang, &placed, pick_x_m);
    let mut lines = Vec::with_capacity(count);
    for (index, &pick) in picks_m.iter().enumerate() {
        let line_m = input.line_m[index];
        let stiffness_n_m = input.stiffness_n_m[index];
        let stretch_m = if input.trimmed_loaded {
            planned.load_n[index] / stiffness_n_m
        } else {
            0.0
        };
        let unloaded_m = line_m - stretch_m + input.longer_m[index];
        accept(
            unloaded_m > 0.0,
            &format!("line_m[{index}]"),
            line_m,
            "longer than its stretch and what it is shorter than planned",
        )?;
        if input.failed != Some(index) {
            lines.push(Line {
                roof_m: pick + Vec2::new(input.roof_forward_m[index], line_m),
                arm_m: pick - placed.cg_m,
                unloaded_m,
                stiffness_n_m,
            });
        }
    }
    let hung = Hung {
        weight_n: placed.weight_n(),
        cg_m: placed.cg_m,
        lines,
        props: Vec::new(),
    };
    let rest = hung.rest(Shift::default());
    let (mut hoist_n, mut lean_rad) = (rest.line_n, rest.lean_rad);
    if let Some(failed) = input.failed {
        hoist_n.insert(failed, 0.0);
        lean_rad.insert(failed, 0.0);
    }
    let tilt_rad = placed.frame_axis_rad + rest.shift.turn_rad;
    let case = match input {
        LinesInput {
            failed: Some(_), ..
        } => Case::HoistFailed,
        LinesInput { longer_m, .. } if longer_m.iter().any(|&longer| longer != 0.0) => {
            Case::HoistOutOfStep
        }
        _ => Case::OnLines,
    };
    let mut limits = LimitTable::default();
    let frame = &hang.frame.limits;
    let mut add = |part, demand_n, limit_n| {
        limits.add(part, demand_n, limit_n, case, FactorUse::HoistsStand);
    };
    add(Part::FlyFrame, hung.weight_n, frame.total_n);
    for (index, &pull_n) in hoist_n.iter().enumerate() {
        add(Part::Pick(index), pull_n, frame.pick_n);
        add(Part::Hoist(index), pull_n, input.hoist_limit_n);
    }
    if rest.end == LinesEnd::AtRest {
        add_tilted(&mut limits, &Hanging::at(hang, tilt_rad.to_degrees()), case)?;
    }
    Ok(OnLines {
        end: rest.end,
        residual: rest.residual,
        tilt_rad,
        cg_moved_m: rest.shift.way_m,
        hoist_n,
        lean_rad,
        limits,
    })
}

fn picks_of(hang: &Hang, placed: &Pose, pick_x_m: &[f64]) -> Vec<Vec2> {
    let turn = Rotation2::new(placed.frame_axis_rad);
    let pick = |&x: &f64| placed.hinge_m[0] + turn * Vec2::new(x, hang.frame.pick_z_m);
    pick_x_m.iter().map(pick).collect()
}

/// A stack that hoists lift off what it stands on.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "python", derive(pyo3::FromPyObject), pyo3(from_item_all))]
pub struct LiftInput {
    /// Cabinets joined, of which the lowest stands level on its lower edges.
    pub cabinets: usize,
    /// One or two picks.
    pub pick_x_m: Vec<f64>,
    /// Length of the lines before the lift.
    pub line_m: f64,
    /// Force over stretch of each line.
    pub stiffness_n_m: f64,
    /// Force over dent of what each edge stands on.
    pub floor_stiffness_n_m: f64,
    /// How much the hoists have taken up, in the order in which they do.
    pub raised_m: Vec<f64>,
}

/// One height of the hooks.
#[derive(Clone, Debug, PartialEq)]
pub struct LiftRow {
    /// Taken up by the hoists.
    pub raised_m: f64,
    /// How the search for its rest ended.
    pub end: LinesEnd,
    /// Greatest force left unbalanced, over the weight.
    pub residual: f64,
    /// Tilt of the frame.
    pub tilt_rad: f64,
    /// What each hoist reads.
    pub hoist_n: Vec<f64>,
    /// What the front and the rear edge still stand with.
    pub floor_n: [f64; 2],
}

/// A lift from standing to free.
#[derive(Clone, Debug, PartialEq)]
pub struct LiftOff {
    /// Weight of what is joined.
    pub weight_n: f64,
    /// One row a height asked for.
    pub rows: Vec<LiftRow>,
    /// Taken up when it comes free, to within a micrometre; `None` where it does not within 2 m.
    pub free_at_m: Option<f64>,
    /// What each hoist reads then.
    pub free_hoist_n: Vec<f64>,
}

const MOST_RAISED_M: f64 = 2.0;

/// Lifts the upper cabinets of `hang`, rigid at their pins, off the cart or floor they stand on.
///
/// # Errors
/// Not one or two picks, cabinets the hang has not, or a value out of range.
pub fn lift_off(hang: &Valid<Hang>, input: &LiftInput) -> Result<LiftOff> {
    each("pick_x_m", &input.pick_x_m, finite)?;
    accept(
        matches!(input.pick_x_m.len(), 1 | 2),
        "pick_x_m",
        format!("{:?}", input.pick_x_m),
        "one or two picks",
    )?;
    let total = hang.cabinets.len();
    accept(
        (1..=total).contains(&input.cabinets),
        "cabinets",
        input.cabinets,
        format!("1 to {total}"),
    )?;
    positive("line_m", input.line_m)?;
    positive("stiffness_n_m", input.stiffness_n_m)?;
    positive("floor_stiffness_n_m", input.floor_stiffness_n_m)?;
    each("raised_m", &input.raised_m, |field, raised| {
        non_negative(field, raised)?;
        if raised < input.line_m {
            Ok(raised)
        } else {
            Err(InputError::new(
                field,
                raised,
                "less than the line's length",
            ))
        }
    })?;
    let mut part = hang.first(input.cabinets);
    if input.cabinets < total {
        part.bottom = None;
    }
    let standing_deg = part.frame_splay_deg + part.splays_deg.iter().sum::<f64>();
    let placed = place(&part, &part.splays_deg, standing_deg, 0.0);
    let [_, front, rear, _] = placed.corners_m[input.cabinets - 1];
    let picks_m = picks_of(&part, &placed, &input.pick_x_m);
    let stands = Stands {
        input,
        placed: &placed,
        picks_m: &picks_m,
        edges_m: [front, rear],
    };
    let mut shift = Shift::default();
    let mut rows = Vec::with_capacity(input.raised_m.len());
    for &raised_m in &input.raised_m {
        let rest = stands.rest(raised_m, shift);
        shift = rest.shift;
        rows.push(LiftRow {
            raised_m,
            end: rest.end,
            residual: rest.residual,
            tilt_rad: placed.frame_axis_rad + rest.shift.turn_rad,
            floor_n: [rest.prop_n[0], rest.prop_n[1]],
            hoist_n: rest.line_n,
        });
    }
    let (free_at_m, free_hoist_n) = stands.free_at();
    Ok(LiftOff {
        weight_n: placed.weight_n(),
        rows,
        free_at_m,
        free_hoist_n,
    })
}

struct Stands<'a> {
    input: &'a LiftInput,
    placed: &'a Pose,
    picks_m: &'a [Vec2],
    edges_m: [Vec2; 2],
}

impl Stands<'_> {
    fn rest(&self, raised_m: f64, from: Shift) -> AtRest {
        let input = self.input;
        let cg_m = self.placed.cg_m;
        let lines = self.picks_m.iter().map(|&pick| Line {
            roof_m: pick + Vec2::new(0.0, input.line_m),
            arm_m: pick - cg_m,
            unloaded_m: input.line_m - raised_m,
            stiffness_n_m: input.stiffness_n_m,
        });
        let props = self.edges_m.iter().map(|&edge| Prop {
            height_m: edge.y,
            arm_m: edge - cg_m,
            stiffness_n_m: input.floor_stiffness_n_m,
        });
        let hung = Hung {
            weight_n: self.placed.weight_n(),
            cg_m,
            lines: lines.collect(),
            props: props.collect(),
        };
        hung.rest(from)
    }

    /// The least take-up with nothing left on the floor, and what the hoists read there.
    fn free_at(&self) -> (Option<f64>, Vec<f64>) {
        let stands = |raised_m: f64| {
            let rest = self.rest(raised_m, Shift::default());
            (rest.prop_n.iter().any(|&push| push > 0.0), rest)
        };
        let (mut low, mut high) = (0.0, MOST_RAISED_M.min(0.9 * self.input.line_m));
        let (standing, mut rest) = stands(high);
        if standing || rest.end != LinesEnd::AtRest {
            return (None, Vec::new());
        }
        while high - low > 1e-6 {
            let middle = f64::midpoint(low, high);
            let (standing, there) = stands(middle);
            if standing {
                low = middle;
            } else {
                (high, rest) = (middle, there);
            }
        }
        (Some(high), rest.line_n)
    }
}
