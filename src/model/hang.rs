//! The column as rigged: frame, cabinets, pins, bottom frame, closing gear.

use super::outline::{TOUCHING_M, least_overlap_m};
use super::rigging::Rigging;
use super::{BottomFrame, Cabinet, Carrier, Check, ClosingGear, FlyFrame, Piece, Run, check_parts};
use crate::error::{InputError, Result, accept, within_range};
use serde::{Deserialize, Serialize};

/// How far a stated splay may lie from a listed position and still be that position.
const PIN_TOLERANCE_DEG: f64 = 1e-9;

/// Standard acceleration of free fall (ISO 80000-3:2019, annex C).
pub const STANDARD_GRAVITY_M_S2: f64 = 9.80665;

/// A column of cabinets under a fly frame, top to bottom.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Hang {
    /// The frame on top.
    pub frame: FlyFrame,
    /// Cabinets, top to bottom.
    pub cabinets: Vec<Cabinet>,
    /// Splay between cabinet i and i+1; one fewer than cabinets.
    pub splays_deg: Vec<f64>,
    /// What the rear of the joints can carry.
    pub rigging: Rigging,
    /// The frame below the last cabinet.
    #[serde(default)]
    pub bottom: Option<BottomFrame>,
    /// Chain and lever hoist of a compression hang.
    #[serde(default)]
    pub gear: Option<ClosingGear>,
    /// Angle at which an open joint of a compression hang comes to rest.
    #[serde(default = "default_open_limit_deg")]
    pub open_limit_deg: f64,
    /// Angle from the fly frame down to cabinet 0.
    #[serde(default)]
    pub frame_splay_deg: f64,
    /// Acceleration of free fall where it hangs.
    #[serde(default = "default_gravity_m_s2")]
    pub gravity_m_s2: f64,
    /// Steel and whatever else hangs on one body.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pieces: Vec<Piece>,
    /// Cables and ropes along the cabinets.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub runs: Vec<Run>,
}

fn default_gravity_m_s2() -> f64 {
    STANDARD_GRAVITY_M_S2
}

/// Accepts what free fall can be on Earth, 9.76 to 9.84 m/s² (Hirt et al., Geophysical Research
/// Letters 40, 2013), with some room; so other units are refused.
///
/// # Errors
/// Another value.
pub(crate) fn check_gravity(gravity_m_s2: f64) -> Result<f64> {
    within_range("gravity_m_s2", gravity_m_s2, 9.7, 9.9)
}

fn default_open_limit_deg() -> f64 {
    -2.0
}

impl Hang {
    /// Number of joints, fixed ones included: frame to cabinet 0, between cabinets, and last
    /// cabinet to bottom frame when there is one.
    #[must_use]
    pub fn joint_count(&self) -> usize {
        self.cabinets.len() + usize::from(self.bottom.is_some())
    }

    /// The angles that the joint below cabinet `index` can be pinned at: those listed at which it
    /// and the next cabinet clear each other.
    #[must_use]
    pub fn positions_deg(&self, index: usize) -> &[f64] {
        let upper = &self.cabinets[index];
        let listed = upper.splay_positions_deg.of(self.rigging);
        let Some(lower) = self.cabinets.get(index + 1) else {
            return listed;
        };
        let clears = |&splay: &f64| least_overlap_m(upper, lower, splay) <= TOUCHING_M;
        let reached = listed.iter().rposition(clears);
        &listed[..reached.map_or(0, |last| last + 1)]
    }

    /// The same hang with its first `count` cabinets only, the bottom frame under the last of them.
    /// A count beyond the cabinets keeps them all; at least one is kept.
    #[must_use]
    pub fn first(&self, count: usize) -> Self {
        let count = count.clamp(1, self.cabinets.len());
        Self {
            cabinets: self.cabinets[..count].to_vec(),
            splays_deg: self.splays_deg[..count - 1].to_vec(),
            ..self.clone()
        }
    }

    fn check_steel(&self) -> Result<()> {
        check_parts("pieces", &self.pieces)?;
        check_parts("runs", &self.runs)?;
        let lowest = self.cabinets.len() - 1;
        let cabinets = format!("a cabinet, 0 to {lowest}");
        for (index, piece) in self.pieces.iter().enumerate() {
            let field = format!("pieces[{index}]");
            if let Some(cabinet) = piece.cabinet {
                let field = format!("{field}.cabinet");
                accept(cabinet <= lowest, &field, cabinet, &cabinets)?;
            }
            let carried = piece.on != Carrier::Bottom || self.bottom.is_some();
            let allowed = "what the hang has; it has no bottom frame";
            accept(carried, &format!("{field}.on"), "bottom", allowed)?;
        }
        for (index, run) in self.runs.iter().enumerate() {
            for (end, cabinet) in [("first", Some(run.first)), ("last", run.last)] {
                let field = format!("runs[{index}].{end}");
                let cabinet = cabinet.unwrap_or_default();
                accept(cabinet <= lowest, &field, cabinet, &cabinets)?;
            }
        }
        Ok(())
    }

    /// The bottom frame, or an error that says which calculation asked for it.
    ///
    /// # Errors
    /// The hang has none.
    pub fn require_bottom(&self) -> Result<&BottomFrame> {
        self.bottom.as_ref().ok_or_else(|| {
            InputError::new(
                "bottom",
                "None",
                "a BottomFrame; this calculation needs one",
            )
        })
    }

    /// The closing gear, or an error that says that the calculation needs it.
    ///
    /// # Errors
    /// The hang has none.
    pub fn require_gear(&self) -> Result<&ClosingGear> {
        self.gear.as_ref().ok_or_else(|| {
            InputError::new("gear", "None", "a ClosingGear; this calculation needs one")
        })
    }
}

impl Check for Hang {
    fn check(&self) -> Result<()> {
        self.frame.check().map_err(|error| error.within("frame"))?;
        if self.cabinets.is_empty() {
            return Err(InputError::new("cabinets", "[]", "at least one cabinet"));
        }
        check_parts("cabinets", &self.cabinets)?;
        let joints = self.cabinets.len() - 1;
        accept(
            self.splays_deg.len() == joints,
            "splays_deg",
            format!("{:?}", self.splays_deg),
            format!("{joints} angles, one fewer than cabinets"),
        )?;
        for (index, &splay) in self.splays_deg.iter().enumerate() {
            let positions = self.cabinets[index].splay_positions_deg.of(self.rigging);
            accept(
                positions
                    .iter()
                    .any(|p| (p - splay).abs() <= PIN_TOLERANCE_DEG),
                &format!("splays_deg[{index}]"),
                splay,
                format!(
                    "one of {positions:?}, the {} positions of {}",
                    self.rigging.name(),
                    self.cabinets[index].name
                ),
            )?;
        }
        for (joint, &splay) in self.splays_deg.iter().enumerate() {
            let [upper, lower] = [&self.cabinets[joint], &self.cabinets[joint + 1]];
            let overlap_m = least_overlap_m(upper, lower, splay);
            accept(
                overlap_m <= TOUCHING_M,
                &format!("splays_deg[{joint}]"),
                splay,
                format!(
                    "a pin at which {} and {} clear each other; however far their rears taper, they \
                     reach {:.0} mm into each other",
                    upper.name,
                    lower.name,
                    overlap_m * 1e3
                ),
            )?;
        }
        if let Some(bottom) = &self.bottom {
            bottom.check().map_err(|error| error.within("bottom"))?;
        }
        if let Some(gear) = &self.gear {
            gear.check().map_err(|error| error.within("gear"))?;
        }
        self.check_steel()?;
        within_range("open_limit_deg", self.open_limit_deg, -45.0, 0.0)?;
        within_range("frame_splay_deg", self.frame_splay_deg, -45.0, 45.0)?;
        check_gravity(self.gravity_m_s2)?;
        Ok(())
    }
}
