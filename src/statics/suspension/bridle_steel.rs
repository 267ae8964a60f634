//! Which listed steels and how many chain links bring a bridle's apex nearest to where it is
//! wanted?
//!
//! A leg is made of fixed fittings, up to a number of listed steels, and whole chain links:
//! L = fittings + Σ steels + links · pitch. Every combination that can beat the best one found is
//! tried: moving the apex by d changes no leg's length by more than d, so a leg whose length
//! differs by more than the best miss from the way to the wanted apex cannot be in a better
//! bridle.

use super::bridle::{Bridle, Vec3, hung};
use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};

/// Lengths that differ by less than this are one length.
const SAME_LENGTH_M: f64 = 1e-9;

/// How many combinations of one leg may be listed.
const MOST_COMBINATIONS: f64 = 2e6;

/// More steels in one leg are taken for a slip of the pen.
const MOST_STEELS: usize = 20;

/// What each leg can be made of.
#[derive(Clone, Debug, PartialEq)]
pub struct LegStock {
    /// Lengths of the steels at hand, each as often as wanted.
    pub steels_m: Vec<f64>,
    /// Most steels in one leg.
    pub most_steels: usize,
    /// Inner length of one chain link.
    pub pitch_m: f64,
    /// Most links in one leg.
    pub most_links: usize,
    /// Length that every leg has besides: shackles, rings, hooks.
    pub fittings_m: f64,
}

/// One leg made up.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeLeg {
    /// Its steels, longest first.
    pub steels_m: Vec<f64>,
    /// Its chain links.
    pub links: usize,
    /// Its length.
    pub length_m: f64,
}

/// A bridle made of stock.
#[derive(Clone, Debug, PartialEq)]
pub struct MadeBridle {
    /// One per leg.
    pub legs: Vec<MadeLeg>,
    /// Forces and the apex it has.
    pub bridle: Bridle,
    /// Distance from that apex to the wanted one.
    pub miss_m: f64,
}

/// The bridle of taut legs made of `stock` whose apex comes nearest to `apex_m`.
///
/// # Errors
/// Stock out of bounds, or nothing in it brings the apex within `within_m`.
pub fn nearest_bridle(
    anchors_m: &[Vec3],
    apex_m: Vec3,
    load_n: f64,
    stock: &LegStock,
    within_m: f64,
) -> Result<MadeBridle> {
    accept(
        matches!(anchors_m.len(), 2 | 3),
        "anchors_m",
        format!("{} anchors", anchors_m.len()),
        "two or three anchors",
    )?;
    for (index, anchor) in anchors_m.iter().enumerate() {
        each(&format!("anchors_m[{index}]"), anchor.as_slice(), finite)?;
    }
    each("apex_m", apex_m.as_slice(), finite)?;
    positive("load_n", load_n)?;
    positive("within_m", within_m)?;
    let lengths = lengths_of(stock)?;
    let choices: Vec<Vec<&MadeLeg>> = anchors_m
        .iter()
        .map(|anchor| by_nearness(&lengths, (anchor - apex_m).norm(), within_m))
        .collect();
    let mut search = Search {
        anchors_m,
        apex_m,
        load_n,
        best: None,
        miss_m: within_m,
    };
    search.extend(&choices, &mut Vec::new());
    search.best.ok_or_else(|| {
        InputError::new(
            "apex_m",
            format!("({}, {}, {})", apex_m.x, apex_m.y, apex_m.z),
            format!("an apex within {within_m} m of one that taut legs of this stock reach"),
        )
    })
}

struct Search<'a> {
    anchors_m: &'a [Vec3],
    apex_m: Vec3,
    load_n: f64,
    best: Option<MadeBridle>,
    miss_m: f64,
}

impl Search<'_> {
    /// Tries every leg in reach for the next anchor.
    fn extend<'c>(&mut self, choices: &[Vec<&'c MadeLeg>], chosen: &mut Vec<&'c MadeLeg>) {
        let Some((next, rest)) = choices.split_first() else {
            self.judge(chosen);
            return;
        };
        let way_m = (self.anchors_m[chosen.len()] - self.apex_m).norm();
        for leg in next {
            if (leg.length_m - way_m).abs() >= self.miss_m {
                break;
            }
            chosen.push(leg);
            self.extend(rest, chosen);
            chosen.pop();
        }
    }

    fn judge(&mut self, chosen: &[&MadeLeg]) {
        let lengths_m: Vec<f64> = chosen.iter().map(|leg| leg.length_m).collect();
        let Some(bridle) = hung(self.anchors_m, &lengths_m, self.load_n) else {
            return;
        };
        let miss_m = (bridle.apex_m - self.apex_m).norm();
        if miss_m < self.miss_m && !bridle.slack.contains(&true) {
            self.miss_m = miss_m;
            self.best = Some(MadeBridle {
                legs: chosen.iter().map(|&leg| leg.clone()).collect(),
                bridle,
                miss_m,
            });
        }
    }
}

fn by_nearness(lengths: &[MadeLeg], way_m: f64, within_m: f64) -> Vec<&MadeLeg> {
    let off = |leg: &&MadeLeg| (leg.length_m - way_m).abs();
    let mut near: Vec<&MadeLeg> = lengths.iter().filter(|leg| off(leg) < within_m).collect();
    near.sort_by(|a, b| off(a).total_cmp(&off(b)));
    near
}

/// Every length the stock can make, ascending, each with the fewest steels and then links.
fn lengths_of(stock: &LegStock) -> Result<Vec<MadeLeg>> {
    each("steels_m", &stock.steels_m, positive)?;
    non_negative("pitch_m", stock.pitch_m)?;
    non_negative("fittings_m", stock.fittings_m)?;
    let mut steels = stock.steels_m.clone();
    steels.sort_by(|a, b| b.total_cmp(a));
    steels.dedup();
    check_count(steels.len(), stock)?;
    let mut sets: Vec<(Vec<f64>, usize)> = vec![(Vec::new(), 0)];
    let mut grown = 0;
    for _ in 0..stock.most_steels {
        let from = grown;
        grown = sets.len();
        for index in from..grown {
            for (kind, &steel) in steels.iter().enumerate().skip(sets[index].1) {
                let mut longer = sets[index].0.clone();
                longer.push(steel);
                sets.push((longer, kind));
            }
        }
    }
    let mut legs = Vec::new();
    for (steels_m, _) in sets {
        let fixed_m = stock.fittings_m + steels_m.iter().sum::<f64>();
        for links in 0..=stock.most_links {
            let length_m = fixed_m + stock.pitch_m * links as f64;
            if length_m > 0.0 {
                legs.push(MadeLeg {
                    steels_m: steels_m.clone(),
                    links,
                    length_m,
                });
            }
        }
    }
    legs.sort_by(|a, b| a.length_m.total_cmp(&b.length_m));
    let mut distinct: Vec<MadeLeg> = Vec::new();
    for leg in legs {
        match distinct.last_mut() {
            Some(last) if leg.length_m - last.length_m < SAME_LENGTH_M => {
                if (leg.steels_m.len(), leg.links) < (last.steels_m.len(), last.links) {
                    *last = leg;
                }
            }
            _ => distinct.push(leg),
        }
    }
    Ok(distinct)
}

/// Up to m of n kinds of steel, each as often as wanted, make (n + m)!/(n! m!) sets.
fn check_count(kinds: usize, stock: &LegStock) -> Result<()> {
    accept(
        stock.most_steels <= MOST_STEELS,
        "most_steels",
        stock.most_steels,
        format!("at most {MOST_STEELS}"),
    )?;
    let sets: f64 = (1..=stock.most_steels)
        .map(|steels| (kinds + steels) as f64 / steels as f64)
        .product();
    let allowed = format!("few enough that a leg has at most {MOST_COMBINATIONS} combinations");
    let fits =
        |count: f64, field, value| accept(count <= MOST_COMBINATIONS, field, value, &allowed);
    fits(sets, "most_steels", stock.most_steels)?;
    let links = stock.most_links as f64 + 1.0;
    fits(sets * links, "most_links", stock.most_links).map(drop)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn stock() -> LegStock {
        LegStock {
            steels_m: vec![0.5, 1.0, 2.0, 3.0],
            most_steels: 2,
            pitch_m: 0.07,
            most_links: 14,
            fittings_m: 0.12,
        }
    }

    /// Tries every pair of lengths without any bound.
    fn by_trial(anchors: &[Vec3], apex: Vec3) -> f64 {
        let lengths = lengths_of(&stock()).unwrap();
        let mut best = f64::INFINITY;
        for a in &lengths {
            for b in &lengths {
                if let Some(found) = hung(anchors, &[a.length_m, b.length_m], 1.0)
                    && !found.slack.contains(&true)
                {
                    best = best.min((found.apex_m - apex).norm());
                }
            }
        }
        best
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(6))]
        #[test]
        fn the_bounded_search_finds_what_trying_everything_finds(
            span in 1.0..5.0f64, rise in -1.0..1.0f64, x in 0.2..0.8f64, drop in 0.7..3.0f64,
        ) {
            let anchors = [Vec3::new(0.0, 0.0, 10.0), Vec3::new(span, 0.0, 10.0 + rise)];
            let apex = Vec3::new(x * span, 0.0, 10.0 + rise.min(0.0) - drop);
            let found = nearest_bridle(&anchors, apex, 1.0, &stock(), 0.5).unwrap();
            prop_assert!((found.miss_m - by_trial(&anchors, apex)).abs() < 1e-12);
            for leg in &found.legs {
                let sum = 0.12 + leg.steels_m.iter().sum::<f64>() + 0.07 * leg.links as f64;
                prop_assert!((sum - leg.length_m).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn an_apex_out_of_reach_is_refused() {
        let anchors = [Vec3::zeros(), Vec3::new(2.0, 0.0, 0.0)];
        let apex = Vec3::new(1.0, 0.0, -40.0);
        let error = nearest_bridle(&anchors, apex, 1.0, &stock(), 0.25).unwrap_err();
        assert_eq!(error.field, "apex_m");
    }
}
