//! Which link of the chain does the shortening clutch take?
//!
//! k whole links of pitch p in line with the lever hoist make up the chain length L:
//! hoist = L − k p. The hoist starts on the free hang and ends on the closed one, so k is feasible
//! when L_closed − k p ≥ hoist_min and L_free − k p ≤ hoist_max. The best k leaves the most stroke
//! at the shorter of its two ends.

use crate::equilibrium::minimum::RestEnd;
use crate::error::{Result, within_range};
use crate::model::ClosingGear;
use crate::pose::Hanging;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::statics::rest::free_hang;

/// Whether a link fits, or why none does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShorteningEnd {
    /// At least one link fits.
    Fits,
    /// The way from free to closed is longer than the hoist's stroke, or falls between two links.
    StrokeTooShort,
    /// All links together with the hoist fully drawn out do not reach the free hang.
    ChainTooShort,
    /// The closed hang is shorter than the hoist with one link.
    HangTooShort,
    /// The free hang was not found at rest, so its chain length is not known.
    NoRest,
}

impl ShorteningEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Fits => "fits",
            Self::StrokeTooShort => "stroke too short",
            Self::ChainTooShort => "chain too short",
            Self::HangTooShort => "hang too short for the hoist",
            Self::NoRest => "the free hang comes to no rest",
        }
    }
}

/// The hoist with the shortening clutch in one link.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinkChoice {
    /// Links in the load path.
    pub link: u32,
    /// Hoist length on the free hang.
    pub hoist_open_m: f64,
    /// Hoist length on the closed hang.
    pub hoist_closed_m: f64,
    /// Stroke left when drawn out to the free hang; below zero it does not reach.
    pub spare_open_m: f64,
    /// Stroke left when closed; below zero it runs out before.
    pub spare_closed_m: f64,
    /// Links that hang slack.
    pub slack_links: u32,
}

impl LinkChoice {
    /// The lesser of the two spares.
    #[must_use]
    pub fn spare_m(&self) -> f64 {
        self.spare_open_m.min(self.spare_closed_m)
    }

    fn new(gear: &ClosingGear, [free_m, closed_m]: [f64; 2], link: u32) -> Self {
        let taken_m = f64::from(link) * gear.pitch_m;
        Self {
            link,
            hoist_open_m: free_m - taken_m,
            hoist_closed_m: closed_m - taken_m,
            spare_open_m: gear.hoist_max_m - (free_m - taken_m),
            spare_closed_m: closed_m - taken_m - gear.hoist_min_m,
            slack_links: gear.links - link,
        }
    }
}

/// Where to shorten the chain.
#[derive(Clone, Debug, PartialEq)]
pub struct Shortening {
    /// Whether a link fits, or why none does.
    pub end: ShorteningEnd,
    /// Chain length in the free hang.
    pub chain_free_m: f64,
    /// Chain length in the closed hang.
    pub chain_closed_m: f64,
    /// Every link that fits, fewest first.
    pub feasible: Vec<LinkChoice>,
    /// The best of them.
    pub best: Option<LinkChoice>,
    /// The best with one link fewer and one more, where the chain has them, feasible or not.
    pub neighbours: Vec<LinkChoice>,
}

/// The link that the shortening clutch takes, frame held at its tilt.
///
/// # Errors
/// No closing gear, or as [`crate::statics::closing::close`].
pub fn shortening(hanging: &Hanging<'_>) -> Result<Shortening> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    let gear = hang.require_gear()?;
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let free = free_hang(&mechanism);
    let closed_m = State::closed(&mechanism).chain_m;
    let mut found = choose(gear, [free.state.chain_m, closed_m]);
    if free.end != RestEnd::AtRest {
        found.end = ShorteningEnd::NoRest;
        found.best = None;
        found.feasible.clear();
    }
    Ok(found)
}

/// The link for a chain that goes from the first of `lengths_m` to the second.
pub(crate) fn choose(gear: &ClosingGear, lengths_m: [f64; 2]) -> Shortening {
    let [free_m, closed_m] = lengths_m;
    let choice = |link| LinkChoice::new(gear, lengths_m, link);
    let fewest = ((free_m - gear.hoist_max_m) / gear.pitch_m).max(1.0) as u32;
    let most = ((closed_m - gear.hoist_min_m) / gear.pitch_m).max(0.0) as u32;
    let feasible: Vec<LinkChoice> = (fewest..=most.saturating_add(1).min(gear.links))
        .map(choice)
        .filter(|choice| choice.spare_m() >= 0.0)
        .collect();
    let best = feasible.iter().copied().reduce(|best, next| {
        if next.spare_m() > best.spare_m() {
            next
        } else {
            best
        }
    });
    let end = if best.is_some() {
        ShorteningEnd::Fits
    } else if choice(gear.links).spare_open_m < 0.0 {
        ShorteningEnd::ChainTooShort
    } else if choice(1).spare_closed_m < 0.0 {
        ShorteningEnd::HangTooShort
    } else {
        ShorteningEnd::StrokeTooShort
    };
    let neighbours = best.map_or(Vec::new(), |best| {
        [best.link - 1, best.link + 1]
            .into_iter()
            .filter(|link| (1..=gear.links).contains(link))
            .map(choice)
            .collect()
    });
    Shortening {
        end,
        chain_free_m: free_m,
        chain_closed_m: closed_m,
        feasible,
        best,
        neighbours,
    }
}
