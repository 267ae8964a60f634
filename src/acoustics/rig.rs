//! Several hangs sounding together, over a floor that may reflect.
//!
//! Each hang has its place, its delay and gain, and for each cabinet a complex response over
//! frequency (filters, gains, delays, polarity). A reflecting floor z = 0 is the mirror image of
//! every source, weighted by a real reflection coefficient of the pressure, the same for all
//! angles and frequencies: 1 is rigid.

use super::cutting::Uncut;
use super::element::Sources;
use super::lines::Lines;
use super::receivers::Receivers;
use super::rooms::Room;
use crate::error::{InputError, LARGEST, Result, accept, finite, within_range};
use crate::model::{Balloon, MOST_GAIN_DB, Place};
use crate::pose::{Hanging, Hull, hulls};
use nalgebra::Complex;
use std::sync::Arc;

/// The air takes no more from one end of a rig to the other; beyond 700 numbers overflow.
const MOST_NEPERS_ACROSS: f64 = 600.0;

/// What is fed to a hang.
#[derive(Clone, Debug, Default)]
pub struct Signal {
    /// Delay of the whole hang.
    pub delay_s: f64,
    /// Gain of the whole hang.
    pub gain_db: f64,
    /// Cabinet by cabinet, the complex response at each line; empty where all are 1.
    pub drive: Vec<Vec<Complex<f64>>>,
}

/// A hang as it hangs in the room, with its signal.
#[derive(Clone, Debug)]
pub struct Placed<'a> {
    /// The hang, with tilt, height and place.
    pub hanging: Hanging<'a>,
    /// What is fed to it.
    pub signal: Signal,
    /// Cabinet by cabinet, measured data to be used instead of the line elements; empty for none.
    pub balloons: Vec<Option<Arc<Balloon>>>,
}

/// Hangs that sound together.
#[derive(Clone, Debug)]
pub struct Rig<'a> {
    hangs: Vec<Placed<'a>>,
    floor_reflection: f64,
    tolerance: f64,
}

impl<'a> Rig<'a> {
    /// Checks and keeps a rig. `tolerance` is the share of a sub-element's pressure that its far
    /// field may leave out at the nearest receiver.
    ///
    /// # Errors
    /// `floor_reflection` outside ±1, `far_field_tolerance` outside 10⁻⁸ to 0.1, a delay or gain
    /// that is not finite, or the wrong number of responses or balloons.
    pub fn new(hangs: Vec<Placed<'a>>, floor_reflection: f64, tolerance: f64) -> Result<Self> {
        within_range("floor_reflection", floor_reflection, -1.0, 1.0)?;
        within_range("far_field_tolerance", tolerance, 1e-8, 0.1)?;
        for (index, placed) in hangs.iter().enumerate() {
            placed
                .check()
                .map_err(|error| error.within(&format!("hangs[{index}]")))?;
        }
        Ok(Self {
            hangs,
            floor_reflection,
            tolerance,
        })
    }

    /// All sub-elements, mirror images included, cut for these receivers and lines. A room shades
    /// them, but not their mirror images.
    ///
    /// # Errors
    /// A tilt or top out of range, a cabinet without a source, responses for another number of
    /// lines, a receiver on top of an element, hangs that hang in each other or in a surface of the
    /// room, and with a reflecting floor a receiver or source below it.
    pub fn sources(
        &self,
        receivers: &Receivers,
        lines: &Lines,
        room: Option<&Room>,
    ) -> Result<Sources> {
        self.check_space(room)?;
        let mut sources = Sources::default();
        for (index, placed) in self.hangs.iter().enumerate() {
            let of_one = self.sources_of(placed, receivers, lines).map_err(|error| {
                let only = self.hangs.len() == 1 || error.field.starts_with("receivers_m");
                if only {
                    error
                } else {
                    error.within(&format!("hangs[{index}]"))
                }
            })?;
            sources.append(of_one);
        }
        if self.floor_reflection != 0.0 {
            for (index, point_m) in receivers.points_m().enumerate() {
                let field = format!("receivers_m[{index}][2]");
                accept(
                    point_m[2] >= 0.0,
                    &field,
                    point_m[2],
                    "on or above the floor, 0",
                )?;
            }
            accept(
                sources.lowest_m() > 0.0,
                "top_m",
                sources.lowest_m(),
                "all above the floor, 0",
            )?;
            sources.append(sources.mirrored(self.floor_reflection));
        }
        let across_m = 2.0 * sources.ball(&[]).1;
        let most_m = MOST_NEPERS_ACROSS / lines.greatest_decay_per_m();
        accept(
            across_m <= most_m,
            "hangs",
            format_args!("{across_m} m across"),
            format_args!("at most {most_m} m, as the air takes so much at the highest frequency"),
        )?;
        Ok(match room {
            Some(room) => sources.shaded_in(room, receivers, lines),
            None => sources,
        })
    }

    /// The hangs.
    pub(super) fn hangs(&self) -> &[Placed<'a>] {
        &self.hangs
    }

    /// Of each receiver, whether it lies too near a source to be heard.
    ///
    /// # Errors
    /// A tilt or top out of range, or a cabinet without a source.
    pub fn touched(&self, receivers: &Receivers) -> Result<Vec<bool>> {
        let mut touched = vec![false; receivers.len()];
        for (index, placed) in self.hangs.iter().enumerate() {
            let within = |error: InputError| error.within(&format!("hangs[{index}]"));
            let pose = placed.hanging.pose().map_err(within)?;
            let with = |cabinet| placed.balloon(cabinet).is_none();
            let uncut = Uncut::of(placed.hanging.hang, &pose, placed.hanging.placement, with)
                .map_err(within)?;
            for (point_m, touched) in receivers.points_m().zip(&mut touched) {
                *touched |= uncut.touches(point_m);
            }
        }
        Ok(touched)
    }

    /// The middle of each cabinet's front face, hang by hang.
    ///
    /// # Errors
    /// A tilt or top out of range.
    pub fn fronts_m(&self) -> Result<Vec<Place>> {
        let mut fronts_m = Vec::new();
        for (index, placed) in self.hangs.iter().enumerate() {
            let pose = placed
                .hanging
                .pose()
                .map_err(|error| error.within(&format!("hangs[{index}]")))?;
            let fronts = pose.front_m.iter();
            fronts_m.extend(fronts.map(|&front_m| placed.hanging.placement.point(front_m)));
        }
        Ok(fronts_m)
    }

    /// Refuses hangs that hang in each other or in a surface.
    ///
    /// # Errors
    /// The first cabinet that does, or a tilt or top out of range.
    pub fn check_space(&self, room: Option<&Room>) -> Result<()> {
        if self.hangs.len() == 1 && room.is_none() {
            return Ok(());
        }
        let mut before: Vec<(usize, Vec<Hull>)> = Vec::new();
        for (index, placed) in self.hangs.iter().enumerate() {
            let alone = self.hangs.len() == 1;
            let name = |cabinet: usize| {
                let hang = if alone {
                    String::new()
                } else {
                    format!("hangs[{index}].")
                };
                format!("{hang}cabinets[{cabinet}]")
            };
            let pose = placed.hanging.pose().map_err(|error| {
                if alone {
                    error
                } else {
                    error.within(&format!("hangs[{index}]"))
                }
            })?;
            let here = hulls(placed.hanging.hang, &pose, placed.hanging.placement);
            for (cabinet, hull) in here.iter().enumerate() {
                let surfaces = room.map_or(&[][..], |room| &room.blocking().blockers);
                let met = surfaces
                    .iter()
                    .find(|one| one.facets.iter().any(|f| hull.meets(f)));
                if let Some(surface) = met {
                    return Err(InputError::new(
                        &name(cabinet),
                        format!("in {}", surface.name),
                        "a cabinet clear of every floor and surface",
                    ));
                }
                for (other, there) in &before {
                    if let Some(hit) = there.iter().position(|one| hull.overlaps(one)) {
                        return Err(InputError::new(
                            &name(cabinet),
                            format!("in hangs[{other}].cabinets[{hit}]"),
                            "hangs that hang clear of each other",
                        ));
                    }
                }
            }
            before.push((index, here));
        }
        Ok(())
    }

    fn sources_of(
        &self,
        placed: &Placed<'_>,
        receivers: &Receivers,
        lines: &Lines,
    ) -> Result<Sources> {
        for (cabinet, row) in placed.signal.drive.iter().enumerate() {
            accept(
                row.len() == lines.len(),
                &format!("drive[{cabinet}]"),
                row.len(),
                format!("{} values, one for each frequency", lines.len()),
            )?;
        }
        let pose = placed.hanging.pose()?;
        let place = placed.hanging.placement;
        let with = |cabinet| placed.balloon(cabinet).is_none();
        let uncut = Uncut::of(placed.hanging.hang, &pose, place, with)?;
        let parts = uncut.parts_within(self.tolerance, receivers, lines)?;
        let gain = 10f64.powf(placed.signal.gain_db / 20.0);
        let mut sources = Sources::default();
        if placed.balloons.is_empty() && placed.signal.drive.is_empty() {
            if uncut.is_all() && uncut.stays_whole(parts) {
                sources = uncut.sources;
            } else {
                let all = 0..placed.hanging.hang.cabinets.len();
                sources = Sources::of_cabinets(placed.hanging.hang, &pose, place, all, parts)?;
            }
            sources.feed(gain, placed.signal.delay_s, None);
            return Ok(sources);
        }
        for cabinet in 0..placed.hanging.hang.cabinets.len() {
            let mut of_one = match placed.balloon(cabinet) {
                Some(balloon) => Sources::measured(&pose, place, cabinet, balloon),
                None => {
                    let one = cabinet..cabinet + 1;
                    Sources::of_cabinets(placed.hanging.hang, &pose, place, one, parts)?
                }
            };
            of_one.feed(
                gain,
                placed.signal.delay_s,
                placed.signal.drive.get(cabinet),
            );
            sources.append(of_one);
        }
        Ok(sources)
    }

    /// How much louder the rig can be driven until the first cabinet reaches its stated greatest
    /// level: the least over the cabinets of `max_level_db` less the cabinet's own level on its
    /// axis at 1 m, at the line where it is loudest. `None` when a cabinet states no such level.
    #[must_use]
    pub fn greatest_gain_db(&self, lines: &Lines) -> Option<f64> {
        let mut least_db = f64::INFINITY;
        for placed in &self.hangs {
            for (index, cabinet) in placed.hanging.hang.cabinets.iter().enumerate() {
                let source = cabinet.source.as_ref()?;
                let own_db = placed.own_level_db(index, lines);
                least_db = least_db.min(source.max_level_db? - own_db);
            }
        }
        Some(least_db)
    }
}

impl Placed<'_> {
    fn check(&self) -> Result<()> {
        finite("delay_s", self.signal.delay_s)?;
        within_range("gain_db", self.signal.gain_db, -MOST_GAIN_DB, MOST_GAIN_DB)?;
        finite("position_m[0]", self.hanging.placement.x_m)?;
        finite("position_m[1]", self.hanging.placement.y_m)?;
        let cabinets = self.hanging.hang.cabinets.len();
        for (field, count) in [
            ("drive", self.signal.drive.len()),
            ("balloon", self.balloons.len()),
        ] {
            accept(
                count == 0 || count == cabinets,
                field,
                count,
                format_args!("{cabinets}, one for each cabinet"),
            )?;
        }
        for (cabinet, row) in self.signal.drive.iter().enumerate() {
            for (line, value) in row.iter().enumerate() {
                if finite("drive", value.re)
                    .and(finite("drive", value.im))
                    .is_err()
                {
                    let field = format!("drive[{cabinet}][{line}]");
                    let allowed = format!("a finite number of a size up to {LARGEST:e}");
                    return Err(InputError::new(&field, value, allowed));
                }
            }
        }
        Ok(())
    }

    fn balloon(&self, cabinet: usize) -> Option<&Arc<Balloon>> {
        let source = self.hanging.hang.cabinets[cabinet].source.as_ref();
        let own = source.and_then(|source| source.balloon.as_ref());
        self.balloons.get(cabinet).and_then(Option::as_ref).or(own)
    }

    /// Size of the pressure of one cabinet alone on its axis at 1 m, line by line.
    pub(super) fn own_lines(&self, cabinet: usize, lines: &Lines) -> Vec<f64> {
        let drive = self.signal.drive.get(cabinet);
        let frequency_hz = lines.frequency_hz();
        let alone: Vec<f64> = match (
            self.balloon(cabinet),
            &self.hanging.hang.cabinets[cabinet].source,
        ) {
            (Some(balloon), _) => {
                let ahead = balloon.response_towards(0.0, 0.0, frequency_hz);
                ahead.iter().map(|response| response.norm()).collect()
            }
            (None, Some(source)) => frequency_hz
                .iter()
                .map(|&f| source.on_axis(f).norm())
                .collect(),
            (None, None) => Vec::new(),
        };
        let gain = 10f64.powf(self.signal.gain_db / 20.0);
        let own = alone.iter().enumerate();
        own.map(|(line, level)| gain * level * drive.map_or(1.0, |row| row[line].norm()))
            .collect()
    }

    /// Level of one cabinet alone on its axis at 1 m, at the line where it is loudest.
    fn own_level_db(&self, cabinet: usize, lines: &Lines) -> f64 {
        let own = self.own_lines(cabinet, lines);
        20.0 * own.into_iter().fold(0.0, f64::max).log10()
    }
}
