//! Who sounds together with the hang that is searched?
//!
//! Pressures of hangs of one feed add, energies of unlike feeds:
//!
//! |p|² = Σ_feeds |Σ_hangs of the feed p|²
//!
//! A *voice* is a feed whose pressure changes with the candidate: that of the hang, and that of its
//! twin, which has the same pins at another site, where the twin's feed is another one. What else
//! sounds in a voice is worked out once and is where its sum begins; the energy of all other feeds
//! is worked out once and added.

use super::conditions::Condition;
use crate::acoustics::field::Energies;
use crate::acoustics::{Field, Lines, Placed, Receivers, Rig, Room, Signal, Sources};
use crate::error::Result;
use crate::model::{Hang, Neighbour, Place, Site, Study, Valid};
use crate::pose::{Hanging, Placement};

/// A site on the floor plan.
pub(super) fn placement(site: &Site) -> Placement {
    Placement {
        x_m: site.position_m[0],
        y_m: site.position_m[1],
        pan_rad: site.pan_deg.to_radians(),
    }
}

/// Sites of the hang and its twin, voice by voice.
pub(super) fn voices(study: &Study) -> Vec<Vec<&Site>> {
    let mut voices = vec![vec![&study.site]];
    if let Some(twin) = &study.twin {
        if twin.feed == study.site.feed {
            voices[0].push(twin);
        } else {
            voices.push(vec![twin]);
        }
    }
    voices
}

/// What sounds beside the hang and its twin, ready for some receivers, under one condition.
#[derive(Clone, Debug)]
pub(super) struct Beside {
    /// Voice by voice, where its sum begins.
    pub start: Vec<Field>,
    /// Energies of all other feeds; none where there are none.
    pub others: Option<Energies>,
}

/// The others of each voice, and those of each further feed.
pub(super) struct Company {
    of_voices: Vec<Vec<Ready>>,
    of_feeds: Vec<Vec<Ready>>,
}

/// A neighbour, checked.
struct Ready {
    hang: Valid<Hang>,
    tilt_deg: f64,
    top_m: f64,
    site: Site,
}

impl Company {
    pub(super) fn of(study: &Study) -> Result<Self> {
        let feeds = voices(study)
            .into_iter()
            .map(|sites| sites[0].feed.as_str());
        let feeds: Vec<&str> = feeds.collect();
        let mut of_voices: Vec<Vec<Ready>> = feeds.iter().map(|_| Vec::new()).collect();
        let mut further: Vec<(&str, Vec<Ready>)> = Vec::new();
        for (index, neighbour) in study.beside.iter().enumerate() {
            let ready = Ready::of(neighbour)
                .map_err(|error| error.within(&format!("beside[{index}].hang")))?;
            let feed = neighbour.site.feed.as_str();
            if let Some(voice) = feeds.iter().position(|&known| known == feed) {
                of_voices[voice].push(ready);
            } else if let Some((_, known)) = further.iter_mut().find(|(known, _)| *known == feed) {
                known.push(ready);
            } else {
                further.push((feed, vec![ready]));
            }
        }
        Ok(Self {
            of_voices,
            of_feeds: further.into_iter().map(|(_, ready)| ready).collect(),
        })
    }

    /// Makes it ready for some receivers under a condition.
    pub(super) fn beside(
        &self,
        room: &Room,
        places: &Receivers,
        condition: &Condition,
        tolerance: f64,
    ) -> Result<Beside> {
        let lines = &condition.lines;
        let field = |ready: &[Ready]| -> Result<Field> {
            if ready.is_empty() {
                return Ok(Field::silent(places, lines));
            }
            let sources = sources(ready, tolerance, places, lines, room)?;
            Ok(Field::of(&sources, places, lines))
        };
        let start = self.of_voices.iter().map(|ready| field(ready));
        let fields = self.of_feeds.iter().map(|ready| field(ready));
        let fields = fields.collect::<Result<Vec<_>>>()?;
        Ok(Beside {
            start: start.collect::<Result<_>>()?,
            others: Energies::of(&fields, lines),
        })
    }

    /// The sources of each voice's others, and the fields of all other feeds, at any receivers.
    pub(super) fn fields(
        &self,
        room: &Room,
        places: &Receivers,
        lines: &Lines,
        tolerance: f64,
    ) -> Result<(Vec<Option<Sources>>, Vec<Field>)> {
        let of = |ready: &[Ready]| sources(ready, tolerance, places, lines, room);
        let starts = self.of_voices.iter().map(|ready| {
            let beside = (!ready.is_empty()).then(|| of(ready));
            beside.transpose()
        });
        let fields = self
            .of_feeds
            .iter()
            .map(|ready| Ok(Field::of(&of(ready)?, places, lines)));
        Ok((
            starts.collect::<Result<_>>()?,
            fields.collect::<Result<_>>()?,
        ))
    }

    /// The fronts of all their cabinets.
    pub(super) fn fronts_m(&self) -> Result<Vec<Place>> {
        let mut fronts_m = Vec::new();
        for ready in self.of_voices.iter().chain(&self.of_feeds).flatten() {
            let hanging = ready.hanging();
            let fronts = hanging.pose()?.front_m.into_iter();
            fronts_m.extend(fronts.map(|front| hanging.placement.point(front)));
        }
        Ok(fronts_m)
    }
}

impl Ready {
    fn of(neighbour: &Neighbour) -> Result<Self> {
        Ok(Self {
            hang: Valid::new(neighbour.hang.clone())?,
            tilt_deg: neighbour.tilt_deg,
            top_m: neighbour.top_m,
            site: neighbour.site.clone(),
        })
    }

    fn hanging(&self) -> Hanging<'_> {
        Hanging::at(&self.hang, self.tilt_deg)
            .top(self.top_m)
            .placed(placement(&self.site))
    }
}

/// The sources of some neighbours with the shadows that fall on `places`.
fn sources(
    ready: &[Ready],
    tolerance: f64,
    places: &Receivers,
    lines: &Lines,
    room: &Room,
) -> Result<Sources> {
    let placed = ready.iter().map(|ready| Placed {
        hanging: ready.hanging(),
        signal: Signal {
            delay_s: ready.site.delay_s,
            gain_db: ready.site.gain_db,
            drive: Vec::new(),
        },
        balloons: Vec::new(),
    });
    Rig::new(placed.collect(), 0.0, tolerance)?
        .sources(places, lines, Some(room))
        .map_err(|error| error.without("hangs").within("beside"))
}

/// Whether the plane y = 0 mirrors everything that sounds: the hang in its twin or in itself, each
/// neighbour in another or in itself, and feeds in feeds.
pub(super) fn is_symmetric(study: &Study) -> bool {
    let mirror = study.twin.as_ref().unwrap_or(&study.site);
    if !study.site.is_mirrored_by(mirror) {
        return false;
    }
    let mut feeds: Vec<[&str; 2]> = vec![[&study.site.feed, &mirror.feed]];
    for one in &study.beside {
        let mate = study.beside.iter().find(|other| {
            one.site.is_mirrored_by(&other.site)
                && one.hang == other.hang
                && one.tilt_deg == other.tilt_deg
                && one.top_m == other.top_m
        });
        let Some(mate) = mate else { return false };
        feeds.push([&one.site.feed, &mate.site.feed]);
    }
    // Whichever feed mirrors a feed is mirrored by that one, and by no other.
    feeds.iter().all(|&[a, b]| {
        let agree = |&[c, d]: &[&str; 2]| (a == c) == (b == d) && (a == d) == (b == c);
        feeds.iter().all(agree)
    })
}
