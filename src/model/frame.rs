//! The frames above and below the cabinets.

use super::{Check, Point, check_limit, check_point};
use crate::error::{
    InputError, Result, accept, each, finite, non_negative, positive, within_range,
};
use serde::{Deserialize, Serialize};

/// The frame the hoists take. Its body frame has its origin at its lower front hinge, which is
/// cabinet 0's upper front hinge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FlyFrame {
    /// Mass.
    pub mass_kg: f64,
    /// Height above its lower front hinge; used in drawings.
    pub height_m: f64,
    /// Centre of gravity, `[x, z]`.
    pub cg_m: Point,
    /// Holes of the pick line, x of each; rear holes are negative.
    pub pick_x_m: Vec<f64>,
    /// Height of the pick line.
    pub pick_z_m: f64,
    /// Upper end of the closing chain, `[x, z]`.
    #[serde(default)]
    pub chain_anchor_m: Option<Point>,
    /// Rear link pin of joint 0, `[x, z]`; `None` mirrors the pin of cabinet 0.
    #[serde(default)]
    pub rear_pin_m: Option<Point>,
    /// Corners of its rear side that can hold the chain off, `[x, z]`, top to bottom.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rear_outline_m: Vec<Point>,
    /// Stated limits.
    #[serde(default)]
    pub limits: FlyFrameLimits,
}

/// Stated limits of the fly frame.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FlyFrameLimits {
    /// Everything hung, frame included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub total_n: Option<f64>,
    /// One pick.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pick_n: Option<f64>,
    /// Front hinge of joint 0, resultant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hinge_n: Option<f64>,
    /// Rear link of joint 0, tension.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rear_link_n: Option<f64>,
    /// Rear link of joint 0, compression.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop_n: Option<f64>,
    /// Anchor of the closing chain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chain_n: Option<f64>,
}

/// The frame below the last cabinet. Its body frame has its origin at its upper front hinge,
/// which is the last cabinet's lower front hinge.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct BottomFrame {
    /// Mass.
    pub mass_kg: f64,
    /// Centre of gravity, `[x, z]`.
    pub cg_m: Point,
    /// Lower end of the closing chain, `[x, z]`.
    #[serde(default)]
    pub chain_anchor_m: Option<Point>,
    /// The one angle its joint takes.
    #[serde(default)]
    pub fixed_splay_deg: f64,
    /// Rear link pin of its joint, `[x, z]`; `None` mirrors the pin of the last cabinet.
    #[serde(default)]
    pub rear_pin_m: Option<Point>,
    /// Corners of its rear side that can hold the chain off, `[x, z]`, top to bottom.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub rear_outline_m: Vec<Point>,
    /// Stated limits.
    #[serde(default)]
    pub limits: BottomFrameLimits,
}

/// Stated limits of the bottom frame.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct BottomFrameLimits {
    /// Anchor of the closing chain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chain_n: Option<f64>,
}

impl Check for FlyFrame {
    fn check(&self) -> Result<()> {
        non_negative("mass_kg", self.mass_kg)?;
        positive("height_m", self.height_m)?;
        check_point("cg_m", self.cg_m)?;
        if self.pick_x_m.is_empty() {
            return Err(InputError::new("pick_x_m", "[]", "at least one hole"));
        }
        each("pick_x_m", &self.pick_x_m, finite)?;
        for (index, hole) in self.pick_x_m.iter().enumerate() {
            accept(
                !self.pick_x_m[..index].contains(hole),
                &format!("pick_x_m[{index}]"),
                hole,
                "a hole not listed before",
            )?;
        }
        finite("pick_z_m", self.pick_z_m)?;
        check_optional_point("chain_anchor_m", self.chain_anchor_m)?;
        check_optional_point("rear_pin_m", self.rear_pin_m)?;
        check_outline(&self.rear_outline_m)?;
        self.limits.check().map_err(|error| error.within("limits"))
    }
}

impl Check for FlyFrameLimits {
    fn check(&self) -> Result<()> {
        check_limit("total_n", self.total_n)?;
        check_limit("pick_n", self.pick_n)?;
        check_limit("hinge_n", self.hinge_n)?;
        check_limit("rear_link_n", self.rear_link_n)?;
        check_limit("stop_n", self.stop_n)?;
        check_limit("chain_n", self.chain_n)
    }
}

impl Check for BottomFrame {
    fn check(&self) -> Result<()> {
        non_negative("mass_kg", self.mass_kg)?;
        check_point("cg_m", self.cg_m)?;
        check_optional_point("chain_anchor_m", self.chain_anchor_m)?;
        within_range("fixed_splay_deg", self.fixed_splay_deg, -45.0, 45.0)?;
        check_optional_point("rear_pin_m", self.rear_pin_m)?;
        check_outline(&self.rear_outline_m)?;
        self.limits.check().map_err(|error| error.within("limits"))
    }
}

impl Check for BottomFrameLimits {
    fn check(&self) -> Result<()> {
        check_limit("chain_n", self.chain_n)
    }
}

/// Most corners of a frame's rear side.
pub(crate) const MOST_REAR_CORNERS: usize = 4;

fn check_outline(outline_m: &[Point]) -> Result<()> {
    accept(
        outline_m.len() <= MOST_REAR_CORNERS,
        "rear_outline_m",
        format!("{} corners", outline_m.len()),
        format!("at most {MOST_REAR_CORNERS} corners"),
    )?;
    for (index, &corner) in outline_m.iter().enumerate() {
        let field = format!("rear_outline_m[{index}]");
        check_point(&field, corner)?;
        let above = index.checked_sub(1).map(|above| outline_m[above][1]);
        accept(
            above.is_none_or(|above| corner[1] < above),
            &field,
            format!("{corner:?}"),
            "a corner below the one before",
        )?;
    }
    Ok(())
}

fn check_optional_point(field: &str, point: Option<Point>) -> Result<()> {
    point.map_or(Ok(()), |point| check_point(field, point))
}
