//! What stays the same for all candidates, and how one candidate is judged.

use super::candidate::{Aims, Candidate, Variables};
use super::company::{self, Beside, Company};
use super::conditions::{self, Condition};
use super::constraints::{Judge, Mechanics};
use super::detail::Detail;
use super::laid::Laid;
use super::listeners::Listeners;
use super::moves::{self, Move};
use super::roughness::roughness_deg;
use super::shadows::{Shadows, Tried};
use crate::acoustics::{Adding, AirLoss, Parts, Sources, cutting};
use crate::error::Result;
use crate::model::{Hang, Study, Valid};
use crate::pose::{Placement, Pose, Vec2, place};
use std::borrow::Cow;
use std::ops::Range;

/// A study made ready for evaluation.
pub(super) struct Problem<'s> {
    pub study: &'s Valid<Study>,
    pub variables: Variables,
    /// What a descent tries.
    pub moves: Vec<Vec<Move>>,
    pub ears_m: Vec<Vec2>,
    pub conditions: Vec<Condition>,
    /// What the air takes to the listeners, one a condition.
    pub air_losses: Vec<AirLoss>,
    pub listeners: Listeners,
    /// What else sounds, one a condition.
    pub beside: Vec<Beside>,
    /// Joints whose splay may break off a curve and begin another.
    pub gaps: usize,
    shadows: Shadows,
    parts: Parts,
    hang: Valid<Hang>,
    single: bool,
}

impl<'s> Problem<'s> {
    /// Makes a study ready, to be heard in this detail.
    pub(super) fn new(study: &'s Valid<Study>, detail: Detail) -> Result<Self> {
        Self::varying(study, Variables::of(study), detail)
    }

    /// The same with other values of the variables.
    pub(super) fn varying(
        study: &'s Valid<Study>,
        variables: Variables,
        detail: Detail,
    ) -> Result<Self> {
        Self::of(study, variables, detail, None)
    }

    /// The same, to be heard in less detail: at some of the seats, at frequencies no lower.
    pub(super) fn coarser(&self, detail: Detail) -> Result<Self> {
        Self::of(self.study, self.variables.clone(), detail, Some(self))
    }

    fn of(
        study: &'s Valid<Study>,
        variables: Variables,
        detail: Detail,
        finer: Option<&Self>,
    ) -> Result<Self> {
        let hang = Valid::new(study.hang.clone()).map_err(|error| error.within("hang"))?;
        let company = Company::of(study)?;
        let tried = Tried::of(study, &variables, company.fronts_m()?);
        let conditions = conditions::of(study, detail.lines_per_band)?;
        let more = finer.map(|finer| (&finer.listeners, finer.shadows.reach()));
        let (listeners, reach) =
            Listeners::new(study, &tried, &conditions, detail.most_seats, more)?;
        let places = &listeners.places;
        let losses = conditions
            .iter()
            .map(|condition| AirLoss::from_place(tried.middle_m(), places, &condition.lines));
        let besides = conditions
            .iter()
            .map(|condition| company.beside(&tried.room, places, condition, detail.tolerance));
        let beside = besides.collect::<Result<Vec<_>>>()?;
        let mut problem = Self {
            study,
            beside,
            air_losses: losses.collect(),
            ears_m: listeners.ears_m(study),
            shadows: Shadows::of(tried.room, reach),
            conditions,
            listeners,
            gaps: study.venue.groups().len() - 1,
            moves: moves::groups(&variables),
            variables,
            parts: Parts::Each(1),
            hang,
            single: detail.single,
        };
        problem.parts = problem.finest_parts(detail.tolerance)?;
        Ok(problem)
    }

    /// The sub-division that is fine enough at the ends of every range, so that all candidates
    /// are cut alike.
    fn finest_parts(&self, tolerance: f64) -> Result<Parts> {
        let straight = self.straight_pins();
        let longest = self.variables.positions_deg.iter().map(|p| p.len() - 1);
        let mut finest: Option<(f64, Parts)> = None;
        let sites = company::voices(self.study);
        let places: Vec<Placement> = sites
            .into_iter()
            .flatten()
            .map(company::placement)
            .collect();
        for (pins, &placement) in [straight, longest.collect()]
            .iter()
            .flat_map(|pins: &Vec<usize>| places.iter().map(move |place| (pins, place)))
        {
            for aim in [0, self.variables.aim_count() - 1] {
                for top in [0, self.variables.tops_m.len() - 1] {
                    let pins = pins.clone();
                    let laid = self.lay(self.variables.candidate(pins, aim, top));
                    let parts = cutting::parts_within(
                        tolerance,
                        &self.hang,
                        &laid.pose,
                        placement,
                        &self.listeners.places,
                        &self.conditions[0].lines,
                    )
                    .map_err(|error| error.within("hang"))?;
                    if let Parts::Within { nearest_m, .. } = parts
                        && finest.is_none_or(|(nearest, _)| nearest_m < nearest)
                    {
                        finest = Some((nearest_m, parts));
                    }
                }
            }
        }
        Ok(finest.map_or(Parts::Each(1), |(_, parts)| parts))
    }

    /// The pins nearest to a straight column.
    pub(super) fn straight_pins(&self) -> Vec<usize> {
        let positions = &self.variables.positions_deg;
        positions
            .iter()
            .map(|p| super::law::nearest(p, 0.0))
            .collect()
    }

    /// The pins of the hang as given.
    pub(super) fn given_pins(&self) -> Vec<usize> {
        let positions = &self.variables.positions_deg;
        let given = &self.study.hang.splays_deg;
        positions
            .iter()
            .zip(given)
            .map(|(p, &splay)| super::law::nearest(p, splay))
            .collect()
    }

    /// Works out a candidate's angles and places its bodies.
    pub(super) fn lay(&self, candidate: Candidate) -> Laid {
        let splays_deg = self.variables.splays_deg(&candidate);
        let tilt_deg = self
            .variables
            .tilt_deg(&self.study.hang, &splays_deg, candidate.aim);
        let top_m = self.variables.tops_m[candidate.top];
        self.lay_at(candidate, tilt_deg, top_m)
    }

    /// The same at a tilt and height of their own.
    pub(super) fn lay_at(&self, candidate: Candidate, tilt_deg: f64, top_m: f64) -> Laid {
        let splays_deg = self.variables.splays_deg(&candidate);
        Laid {
            pose: place(&self.study.hang, &splays_deg, tilt_deg, top_m),
            candidate,
            splays_deg,
            tilt_deg,
            top_m,
        }
    }

    /// The hang of a candidate as it is under a condition.
    pub(super) fn pose<'l>(&self, laid: &'l Laid, condition: &Condition) -> Cow<'l, Pose> {
        let Some(off) = &condition.off else {
            return Cow::Borrowed(&laid.pose);
        };
        let splays = laid.splays_deg.iter().zip(&off.splays_deg);
        let splays_deg: Vec<f64> = splays.map(|(splay, off)| splay + off).collect();
        let tilt_deg = laid.tilt_deg + off.tilt_deg;
        Cow::Owned(place(&self.study.hang, &splays_deg, tilt_deg, laid.top_m))
    }

    /// Number of voices.
    pub(super) fn voices(&self) -> usize {
        company::voices(self.study).len()
    }

    /// The sub-elements of some cabinets of a candidate in this pose, of one voice.
    pub(super) fn sources(
        &self,
        candidate: &Candidate,
        pose: &Pose,
        cabinets: Range<usize>,
        voice: usize,
    ) -> Result<Sources> {
        let sites = &company::voices(self.study)[voice];
        let sources = |range: Range<usize>| -> Result<Sources> {
            let mut all = Sources::default();
            for site in sites {
                let place = company::placement(site);
                let here =
                    Sources::of_cabinets(&self.hang, pose, place, range.clone(), self.parts)?;
                if sites.len() == 1 && site.delay_s == 0.0 && site.gain_db == 0.0 {
                    return Ok(here);
                }
                all.append(here.with_gain_db(site.gain_db).delayed(site.delay_s));
            }
            Ok(all)
        };
        if candidate.gains.is_empty() {
            return sources(cabinets);
        }
        let mut all = Sources::default();
        for cabinet in cabinets {
            let gain_db = self.variables.gain_db(candidate, cabinet);
            all.append(sources(cabinet..cabinet + 1)?.with_gain_db(gain_db));
        }
        Ok(all)
    }

    /// The sum of `sources` over the listeners under a condition, with what floors and surfaces take on
    /// the way.
    pub(super) fn adding<'a>(&'a self, sources: &'a Sources, condition: usize) -> Adding<'a> {
        let lines = &self.conditions[condition].lines;
        let adding = Adding::new(sources, &self.listeners.places, lines)
            .with_air_loss(&self.air_losses[condition])
            .behind(self.shadows.cast(sources));
        if self.single { adding.single() } else { adding }
    }

    pub(super) fn roughness_deg(&self, laid: &Laid) -> f64 {
        roughness_deg(&laid.splays_deg, self.gaps)
    }

    pub(super) fn pick_x_m(&self, laid: &Laid) -> Vec<f64> {
        self.variables.pick_x_m(self.study, laid.candidate.aim)
    }

    pub(super) fn mechanics(&self, laid: &Laid) -> Result<Mechanics> {
        Judge {
            study: self.study,
            laid,
            pick_x_m: &self.pick_x_m(laid),
            tilt_is_free: matches!(self.variables.aims, Aims::Hole(_)),
        }
        .judge()
    }

    /// Index of the aim whose tilt, at these pins, comes nearest to a wanted one.
    pub(super) fn aim_near(&self, pins: &[usize], top: usize, tilt_deg: f64) -> usize {
        let miss = |aim: usize| {
            let pins = pins.to_vec();
            let candidate = self.variables.candidate(pins, aim, top);
            (self.lay(candidate).tilt_deg - tilt_deg).abs()
        };
        (0..self.variables.aim_count())
            .min_by(|&a, &b| miss(a).total_cmp(&miss(b)))
            .unwrap_or(0)
    }
}
