//! How does a hang hang: at which tilt and height, on which picks, where in the room?

use super::Placement;
use super::placed::{Pose, place};
use crate::error::{Result, accept, each, finite, within_range};
use crate::model::{Hang, Valid};

/// A hang as it hangs.
#[derive(Clone, Copy, Debug)]
pub struct Hanging<'a> {
    /// The hang.
    pub hang: &'a Valid<Hang>,
    /// Elevation of the fly frame's axis.
    pub tilt_deg: f64,
    /// Height of cabinet 0's upper front hinge.
    pub top_m: f64,
    /// Where along the frame's pick line hoists hold it; empty where nothing asks.
    pub pick_x_m: &'a [f64],
    /// Place on the floor plan, and pan.
    pub placement: Placement,
}

impl<'a> Hanging<'a> {
    /// At a tilt, its upper front hinge at the origin.
    #[must_use]
    pub fn at(hang: &'a Valid<Hang>, tilt_deg: f64) -> Self {
        Self {
            hang,
            tilt_deg,
            top_m: 0.0,
            pick_x_m: &[],
            placement: Placement::default(),
        }
    }

    /// With its upper front hinge at this height.
    #[must_use]
    pub fn top(self, top_m: f64) -> Self {
        Self { top_m, ..self }
    }

    /// On these picks.
    #[must_use]
    pub fn on(self, pick_x_m: &'a [f64]) -> Self {
        Self { pick_x_m, ..self }
    }

    /// At this place in the room.
    #[must_use]
    pub fn placed(self, placement: Placement) -> Self {
        Self { placement, ..self }
    }

    /// Every body at its pinned angles.
    ///
    /// # Errors
    /// `tilt_deg` is not within ±90, or `top_m` is not finite.
    pub fn pose(&self) -> Result<Pose> {
        self.check()?;
        Ok(place(
            self.hang,
            &self.hang.splays_deg,
            self.tilt_deg,
            self.top_m,
        ))
    }

    /// Every body at angles between cabinets that need not be pin positions: a hang that is open or
    /// on its way to closed.
    ///
    /// # Errors
    /// Not one angle a gap between cabinets, an angle beyond ±90, or as [`Hanging::pose`].
    pub fn pose_at(&self, splays_deg: &[f64]) -> Result<Pose> {
        self.check()?;
        let gaps = self.hang.splays_deg.len();
        accept(
            splays_deg.len() == gaps,
            "splays_deg",
            format!("{} angles", splays_deg.len()),
            format_args!("{gaps} angles, one a gap between cabinets"),
        )?;
        each("splays_deg", splays_deg, |field, angle| {
            within_range(field, angle, -90.0, 90.0)
        })?;
        Ok(place(self.hang, splays_deg, self.tilt_deg, self.top_m))
    }

    fn check(&self) -> Result<()> {
        within_range("tilt_deg", self.tilt_deg, -90.0, 90.0)?;
        finite("top_m", self.top_m).map(drop)
    }
}
