//! Hostile documents and numbers through every JSON entry and every solver: an error that names its
//! field or a finite answer, never a panic.
//!
//! A run takes the default number of cases; `PROPTEST_CASES=20000` asks for more. The stored files
//! in `tests/stored` are what is mutated.
#![allow(clippy::unwrap_used)]

use hangarc::error::{InputError, Result};
use hangarc::model::{Air, Document, Hang, Rigging, Study, Valid, Venue, from_json, to_json};
use hangarc::pose::{Hanging, Placement, throws};
use hangarc::search::{Handle, Options, by_law, evaluate, one_hole, optimise_splays};
use hangarc::statics::balance::{hanging_tilt, hoist_loads, pick_for_tilt};
use hangarc::statics::buildup::{BuildUp, build_up};
use hangarc::statics::closing::{
    ClosingOptions, FrameHold, Spread, bypass, close, closing_stages, remedies, sensitivities,
    shortening, spread,
};
use hangarc::statics::joints::joint_loads;
use hangarc::statics::limits::Lifting;
use hangarc::statics::part_loads::part_loads;
use hangarc::statics::suspension::bridle::{Vec3, bridle_at, bridle_of};
use hangarc::statics::suspension::catenary::{catenary_of_length, catenary_of_pull};
use hangarc::statics::suspension::hoisting::emergency_stop_force_n;
use hangarc::statics::suspension::pan::pan_hold;
use hangarc::statics::suspension::rigid_hang::rigid_hang;
use hangarc::statics::wind::pressure::section_coefficient;
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::RngSeed;
use serde_json::{Value, json};
use std::fmt::Debug;

const HANGS: [&str; 2] = [
    include_str!("stored/version_1/hang_compression.json"),
    include_str!("stored/version_1/hang_tension.json"),
];
const STUDIES: [&str; 1] = [include_str!("stored/version_1/study.json")];
const VENUES: [&str; 1] = [include_str!("stored/version_1/venue.json")];
const AIRS: [&str; 1] = [include_str!("stored/version_1/air.json")];

/// Seats and frequencies beyond which a search takes longer than a test should.
const MOST_SEATS: usize = 2000;

/// What is done to one leaf of a document.
#[derive(Clone, Debug)]
enum Change {
    Scale(f64),
    Set(Value),
    Remove,
    Repeat,
}

fn hostile_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        prop::sample::select(vec![
            0.0,
            -0.0,
            5e-324,
            1e-300,
            1e-12,
            1e-9,
            1e-6,
            1e-3,
            1.0,
            -1.0,
            90.0,
            -90.0,
            180.0,
            1e3,
            1e6,
            1e9,
            1e12,
            1e15,
            1e16,
            1e308,
            -1e308,
            f64::NAN,
            f64::INFINITY,
        ]),
        any::<f64>(),
        -100.0..100.0,
    ]
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        6 => (-2.0..2.0).prop_map(Change::Scale),
        4 => hostile_number().prop_map(|number| Change::Set(json!(number))),
        1 => prop::sample::select(vec![
            json!(null), json!(true), json!("text"), json!([]), json!({}), json!([[1.0, 2.0]]),
            json!(u64::MAX), json!(-1), json!(3),
        ]).prop_map(Change::Set),
        1 => Just(Change::Remove),
        2 => Just(Change::Repeat),
    ]
}

/// Pointers to every value of a document.
fn places(value: &Value, path: &str, found: &mut Vec<String>) {
    found.push(path.to_owned());
    match value {
        Value::Object(fields) => {
            for (name, inner) in fields {
                places(inner, &format!("{path}/{name}"), found);
            }
        }
        Value::Array(items) => {
            for (index, inner) in items.iter().enumerate() {
                places(inner, &format!("{path}/{index}"), found);
            }
        }
        _ => (),
    }
}

fn changed(text: &str, changes: &[(Index, Change)]) -> String {
    let mut document: Value = serde_json::from_str(text).unwrap();
    for (index, change) in changes {
        let mut found = Vec::new();
        places(&document, "", &mut found);
        let path = index.get(&found);
        let Some(target) = document.pointer_mut(path) else {
            continue;
        };
        match (change, target) {
            (Change::Scale(by), target @ Value::Number(_)) => {
                let scaled = target.as_f64().unwrap_or(1.0) * by.exp2().copysign(*by);
                *target = json!(scaled);
            }
            (Change::Set(new), target) => *target = new.clone(),
            (Change::Repeat, Value::Array(items)) => {
                if let Some(last) = items.last().cloned() {
                    items.push(last);
                }
            }
            (Change::Remove, Value::Array(items)) => drop(items.pop()),
            (Change::Remove, Value::Object(fields)) => {
                if let Some(name) = fields.keys().next().cloned() {
                    fields.remove(&name);
                }
            }
            _ => (),
        }
    }
    document.to_string()
}

fn mutated(texts: &'static [&'static str]) -> impl Strategy<Value = String> {
    let changes = prop::collection::vec((any::<Index>(), change()), 0..4);
    (prop::sample::select(texts), changes).prop_map(|(text, changes)| changed(text, &changes))
}

/// What bytes gone wrong make of a file: cut, changed or put in.
fn garbled(texts: &'static [&'static str]) -> impl Strategy<Value = String> {
    let edit = (
        any::<Index>(),
        prop::sample::select(b"\"{}[],:.-e09ax\\ \n\xff".to_vec()),
        0..3,
    );
    let edits = prop::collection::vec(edit, 1..6);
    (prop::sample::select(texts), edits).prop_map(|(text, edits)| {
        let mut bytes = text.as_bytes().to_vec();
        for (index, byte, kind) in edits {
            let place = index.index(bytes.len().max(1));
            match kind {
                0 if place < bytes.len() => bytes[place] = byte,
                1 => bytes.insert(place.min(bytes.len()), byte),
                _ => bytes.truncate(place),
            }
        }
        String::from_utf8_lossy(&bytes).into_owned()
    })
}

/// An answer holds finite numbers, an error names its field. Closing says `inf` of a joint that no
/// straight chain can hold.
fn sound<T: Debug>(what: &str, answer: Result<T>) -> std::result::Result<(), TestCaseError> {
    match answer {
        Ok(answer) => {
            let told = format!("{answer:?}");
            let bad = told
                .split(|c: char| !(c.is_alphanumeric() || c == '-'))
                .find(|word| {
                    ["NaN", "-NaN"].contains(word)
                        || ["inf", "-inf"].contains(word) && what != "close"
                });
            prop_assert!(bad.is_none(), "{what} gives {bad:?}: {told}");
        }
        Err(InputError { field, allowed, .. }) => {
            prop_assert!(!field.is_empty() && !allowed.is_empty(), "{what}");
        }
    }
    Ok(())
}

/// A document that is read is written and read again to the same text.
fn read<T: Document>(text: &str) -> std::result::Result<Option<Valid<T>>, TestCaseError> {
    let Ok(document) = from_json::<T>(text) else {
        sound("from_json", from_json::<T>(text).map(|_| ()))?;
        return Ok(None);
    };
    let written = to_json(&document);
    let again = from_json::<T>(&written).unwrap();
    prop_assert_eq!(to_json(&again), written);
    Ok(Some(document))
}

fn seat_count(venue: &Venue) -> usize {
    venue.areas.iter().map(|area| area.seat_count()).sum()
}

fn ask_all(hang: &Valid<Hang>, tilt_deg: f64) -> std::result::Result<(), TestCaseError> {
    let holes = &hang.frame.pick_x_m;
    let picks = [holes[0], holes[holes.len() - 1]];
    sound("pose", Hanging::at(hang, tilt_deg).top(8.0).pose())?;
    sound(
        "hoist_loads",
        hoist_loads(&Hanging::at(hang, tilt_deg).on(&picks)),
    )?;
    sound("hanging_tilt", hanging_tilt(hang, picks[0]))?;
    sound("pick_for_tilt", pick_for_tilt(&Hanging::at(hang, tilt_deg)))?;
    sound("joint_loads", joint_loads(&Hanging::at(hang, tilt_deg)))?;
    sound(
        "part_loads",
        part_loads(
            &Hanging::at(hang, tilt_deg).on(&picks),
            &Lifting::default(),
            0.0,
            0.03,
        ),
    )?;
    for pick_x_m in [vec![picks[0]], picks.to_vec()] {
        let how = BuildUp {
            stack: 2,
            cart_m: 0.3,
            tilt_deg: (pick_x_m.len() == 2).then_some(tilt_deg),
            pick_x_m,
        };
        sound("build_up", build_up(hang, &how))?;
    }
    if hang.rigging == Rigging::Tension {
        return Ok(());
    }
    for frame in [FrameHold::Held, FrameHold::OnePick, FrameHold::TwoHoists] {
        let options = ClosingOptions {
            steps: 3,
            frame,
            ..ClosingOptions::default()
        };
        let one_pick = frame == FrameHold::OnePick;
        let held: &[f64] = if one_pick { &picks[1..] } else { &[] };
        sound(
            "close",
            close(&Hanging::at(hang, tilt_deg).on(held), &options),
        )?;
    }
    sound("shortening", shortening(&Hanging::at(hang, tilt_deg)))?;
    sound(
        "bypass",
        bypass(&Hanging::at(hang, tilt_deg), 0.001, Some(1e6)),
    )?;
    sound("remedies", remedies(&Hanging::at(hang, tilt_deg), 5000.0))?;
    sound(
        "closing_stages",
        closing_stages(&Hanging::at(hang, tilt_deg), 5000.0, None),
    )?;
    sound("sensitivities", sensitivities(&Hanging::at(hang, tilt_deg)))?;
    let known = Spread {
        mass: 0.05,
        cg_m: 0.01,
        splay_deg: 0.1,
        tilt_deg: 0.2,
        ..Spread::default()
    };
    sound(
        "spread",
        spread(&Hanging::at(hang, tilt_deg), &known, 4, 1, |_| true),
    )
}

/// The same cases in every run, unless it asks for a number of its own.
fn config() -> ProptestConfig {
    let mut config = ProptestConfig::default();
    if std::env::var_os("PROPTEST_CASES").is_none() {
        config.rng_seed = RngSeed::Fixed(1);
    }
    config
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn a_hang_is_refused_or_every_solver_answers(
        text in mutated(&HANGS),
        tilt_deg in prop_oneof![-12.0..12.0, -90.0..=90.0, prop::sample::select(vec![90.0, -90.0, 0.0])],
    ) {
        if let Some(hang) = read::<Hang>(&text)? {
            ask_all(&hang, tilt_deg)?;
        }
    }

    #[test]
    fn a_study_is_refused_or_searched(text in mutated(&STUDIES), seed in any::<u64>()) {
        let Some(study) = read::<Study>(&text)? else { return Ok(()) };
        if seat_count(&study.venue) > MOST_SEATS || study.hang.cabinets.len() > 8 {
            return Ok(());
        }
        let options = Options { seed, prove: false, budget_evaluations: Some(20) };
        sound("optimise_splays", optimise_splays(&study, options, &Handle::default()))?;
        sound("by_law", by_law(&study, &Handle::default()))?;
        sound("evaluate", evaluate(&study, &Handle::default()))?;
        sound("one_hole", one_hole(&study, 0.0, 8.0))?;
    }

    #[test]
    fn a_venue_is_refused_or_aimed_at(text in mutated(&VENUES)) {
        if let Some(venue) = read::<Venue>(&text)? {
            let hang: Valid<Hang> = from_json(HANGS[1]).unwrap();
            let placed = Hanging::at(&hang, -2.0).top(8.0).pose().unwrap();
            sound("throws", Ok(throws(&placed, Placement::default(), &venue)))?;
            if seat_count(&venue) < 100_000 {
                sound("seats", Ok(venue.seats()))?;
            }
        }
    }

    #[test]
    fn an_air_is_refused_or_read(text in mutated(&AIRS)) {
        read::<Air>(&text)?;
    }

    #[test]
    fn a_garbled_file_is_refused_or_read_whole(
        hang in garbled(&HANGS),
        study in garbled(&STUDIES),
        venue in garbled(&VENUES),
        air in garbled(&AIRS),
    ) {
        read::<Hang>(&hang)?;
        read::<Study>(&study)?;
        read::<Venue>(&venue)?;
        read::<Air>(&air)?;
    }

    #[test]
    fn what_hangs_above_is_refused_or_carried(
        n in prop::collection::vec(hostile_number(), 16),
        legs in 0_usize..5,
    ) {
        let anchor = |i: usize| Vec3::new(n[3 * i % 16], n[(3 * i + 1) % 16], n[(3 * i + 2) % 16]);
        let anchors: Vec<Vec3> = (0..legs).map(anchor).collect();
        let plan: Vec<[f64; 2]> = anchors.iter().map(|anchor| [anchor.x, anchor.y]).collect();
        sound("bridle_at", bridle_at(&anchors, anchor(5), n[15]))?;
        sound("bridle_of", bridle_of(&anchors, &n[..legs], n[15]))?;
        sound("rigid_hang", rigid_hang(&plan, [n[12], n[13]], n[14], None, None))?;
        let stiffness = vec![n[15]; legs];
        sound("rigid_hang", rigid_hang(&plan, [n[12], n[13]], n[14], Some(&stiffness), None))?;
        sound("catenary", catenary_of_length(n[0], n[1], n[2], n[3]))?;
        sound("catenary", catenary_of_pull(n[0], n[1], n[2], n[3]))?;
        sound("pan_hold", pan_hold(n[0], n[1], n[2], n[3], n[4]))?;
        sound("emergency stop", emergency_stop_force_n(n[0], n[1], n[2], n[3]))?;
        sound("section", section_coefficient(n[0], n[1]))?;
    }
}

#[test]
fn the_stored_files_are_read_and_every_solver_answers() {
    for text in HANGS {
        let hang: Valid<Hang> = from_json(text).unwrap();
        ask_all(&hang, -2.0).unwrap();
    }
    for text in STUDIES {
        from_json::<Study>(text).unwrap();
    }
    for text in VENUES {
        from_json::<Venue>(text).unwrap();
    }
    for text in AIRS {
        from_json::<Air>(text).unwrap();
    }
}
