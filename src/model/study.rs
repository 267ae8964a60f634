//! One question to be answered: this hang, in this venue, within these bounds.

use super::{Air, Check, Goals, Hang, Neighbour, Site, Venue};
use crate::error::{
    InputError, Result, accept, each, finite, non_negative, positive, within_range,
};
use serde::{Deserialize, Serialize};

/// A hang to be aimed at a venue. The splays of `hang` are where the crew would start; the
/// search finds better ones within the ranges given here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Study {
    /// Name printed on sheets.
    pub name: String,
    /// The hang with the pins to start from.
    pub hang: Hang,
    /// The seats.
    pub venue: Venue,
    /// The air.
    #[serde(default)]
    pub air: Air,
    /// Further airs that the hang shall serve in as well: another evening, another hour.
    #[serde(default)]
    pub more_airs: Vec<Air>,
    /// How far each splay may be off its pin as built.
    #[serde(default)]
    pub splay_tolerance_deg: f64,
    /// How far the frame may be off its tilt as hung.
    #[serde(default)]
    pub tilt_tolerance_deg: f64,
    /// Lowest and highest tilt of the fly frame to be tried.
    pub tilt_range_deg: [f64; 2],
    /// Step of the tilts tried.
    #[serde(default = "default_tilt_step_deg")]
    pub tilt_step_deg: f64,
    /// Lowest and highest position of cabinet 0's upper front hinge to be tried.
    pub top_range_m: [f64; 2],
    /// Step of the heights tried.
    #[serde(default = "default_top_step_m")]
    pub top_step_m: f64,
    /// The frame holes the hoists take: two for a frame held level by two hoists, or none for
    /// one hoist in whichever hole gives the tilt.
    #[serde(default)]
    pub pick_x_m: Vec<f64>,
    /// The lowest point of the hang stays at or above this.
    #[serde(default)]
    pub min_trim_m: f64,
    /// Working load limit of each hoist.
    #[serde(default)]
    pub hoist_limit_n: Option<f64>,
    /// Mass of each hoist with its chain, carried by the roof point.
    #[serde(default)]
    pub hoist_mass_kg: f64,
    /// Factor on hoist, frame and roof loads for starting and stopping; 1 is the hang at rest.
    #[serde(default = "default_dynamic_factor")]
    pub dynamic_factor: f64,
    /// Limit of each roof point.
    #[serde(default)]
    pub roof_point_limit_n: Option<f64>,
    /// Wanted change of level for each doubling of distance, negative for a fall; `None` asks
    /// for the same level everywhere.
    #[serde(default)]
    pub fall_db_per_doubling: Option<f64>,
    /// What is wanted, and at what price.
    #[serde(default)]
    pub goals: Goals,
    /// Where it hangs, and its signal.
    #[serde(default, skip_serializing_if = "Site::is_default")]
    pub site: Site,
    /// A second site at which the same hang hangs with the same pins, tilt and height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub twin: Option<Site>,
    /// Hangs that sound beside it, as they hang.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<Neighbour>,
    /// Names of the blocks that it is for; empty is all of them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub serves: Vec<String>,
    /// Frequencies calculated in each third octave.
    #[serde(default = "default_lines_per_band")]
    pub lines_per_band: u32,
}

fn default_tilt_step_deg() -> f64 {
    0.5
}

fn default_top_step_m() -> f64 {
    0.25
}

fn default_dynamic_factor() -> f64 {
    1.0
}

fn default_lines_per_band() -> u32 {
    6
}

impl Check for Study {
    fn check(&self) -> Result<()> {
        self.hang.check().map_err(|error| error.within("hang"))?;
        self.venue.check().map_err(|error| error.within("venue"))?;
        self.air.check().map_err(|error| error.within("air"))?;
        super::check_parts("more_airs", &self.more_airs)?;
        within_range("splay_tolerance_deg", self.splay_tolerance_deg, 0.0, 10.0)?;
        within_range("tilt_tolerance_deg", self.tilt_tolerance_deg, 0.0, 10.0)?;
        each("tilt_range_deg", &self.tilt_range_deg, |field, angle| {
            within_range(field, angle, -60.0, 60.0)
        })?;
        check_order("tilt_range_deg", self.tilt_range_deg)?;
        check_step("tilt_step_deg", self.tilt_step_deg, self.tilt_range_deg)?;
        each("top_range_m", &self.top_range_m, positive)?;
        check_order("top_range_m", self.top_range_m)?;
        check_step("top_step_m", self.top_step_m, self.top_range_m)?;
        self.check_picks()?;
        non_negative("min_trim_m", self.min_trim_m)?;
        non_negative("hoist_mass_kg", self.hoist_mass_kg)?;
        within_range("dynamic_factor", self.dynamic_factor, 1.0, 5.0)?;
        super::check_limit("hoist_limit_n", self.hoist_limit_n)?;
        super::check_limit("roof_point_limit_n", self.roof_point_limit_n)?;
        if let Some(fall) = self.fall_db_per_doubling {
            within_range("fall_db_per_doubling", fall, -6.0, 6.0)?;
        }
        self.goals.check().map_err(|error| error.within("goals"))?;
        self.check_wanted()?;
        self.check_company()?;
        if let Some([_, most]) = self.goals.cabinet_range {
            accept(
                most as usize <= self.hang.cabinets.len(),
                "goals.cabinet_range[1]",
                most,
                format!("at most the hang's {} cabinets", self.hang.cabinets.len()),
            )?;
        }
        accept(
            (1..=24).contains(&self.lines_per_band),
            "lines_per_band",
            self.lines_per_band,
            "a whole number from 1 to 24",
        )?;
        Ok(())
    }
}

impl Study {
    fn check_company(&self) -> Result<()> {
        self.site.check().map_err(|error| error.within("site"))?;
        if let Some(twin) = &self.twin {
            twin.check().map_err(|error| error.within("twin"))?;
            let apart = twin.position_m != self.site.position_m;
            let place = format!("{:?}", twin.position_m);
            accept(
                apart,
                "twin.position_m",
                place,
                "another place than the site's",
            )?;
        }
        super::check_parts("beside", &self.beside)?;
        for (index, name) in self.serves.iter().enumerate() {
            let names = || self.venue.areas.iter().map(|area| &area.name);
            let known = names().any(|known| known == name);
            let allowed = format!("a block of the venue, {:?}", names().collect::<Vec<_>>());
            accept(known, &format!("serves[{index}]"), name, allowed)?;
        }
        Ok(())
    }

    fn check_wanted(&self) -> Result<()> {
        for (index, wanted) in self.goals.wanted.iter().enumerate() {
            let area = self
                .venue
                .areas
                .iter()
                .find(|area| area.name == wanted.area);
            let names = || self.venue.areas.iter().map(|area| &area.name);
            let area = area.ok_or_else(|| {
                InputError::new(
                    &format!("goals.wanted[{index}].area"),
                    &wanted.area,
                    format!("a block of the venue, {:?}", names().collect::<Vec<_>>()),
                )
            })?;
            let corners = area.profile_m.len();
            accept(
                matches!(wanted.level_db.len(), count if count == 1 || count == corners),
                &format!("goals.wanted[{index}].level_db"),
                format!("{:?}", wanted.level_db),
                format!("one level, or {corners}, one at each corner of the floor line"),
            )?;
        }
        Ok(())
    }

    fn check_picks(&self) -> Result<()> {
        if !matches!(self.pick_x_m.len(), 0 | 2) {
            return Err(InputError::new(
                "pick_x_m",
                format!("{:?}", self.pick_x_m),
                "two holes, or none",
            ));
        }
        each("pick_x_m", &self.pick_x_m, finite)?;
        for (index, pick) in self.pick_x_m.iter().enumerate() {
            accept(
                self.hang.frame.pick_x_m.contains(pick),
                &format!("pick_x_m[{index}]"),
                pick,
                format!("one of the frame's holes {:?}", self.hang.frame.pick_x_m),
            )?;
        }
        if let [first, second] = self.pick_x_m[..] {
            accept(first != second, "pick_x_m[1]", second, "a second hole")?;
        }
        Ok(())
    }
}

/// A range takes at most so many steps: a tilt of 120° in tenths, a height of 20 m in centimetres.
const MOST_STEPS: f64 = 2000.0;

fn check_step(field: &str, step: f64, [low, high]: [f64; 2]) -> Result<()> {
    positive(field, step)?;
    let least = (high - low) / MOST_STEPS;
    accept(
        step >= least,
        field,
        step,
        format_args!("at least {least}, so that the range takes at most {MOST_STEPS} steps"),
    )
    .map(drop)
}

fn check_order(field: &str, [low, high]: [f64; 2]) -> Result<()> {
    accept(
        high >= low,
        &format!("{field}[1]"),
        high,
        format!("at least {low}"),
    )
    .map(drop)
}
