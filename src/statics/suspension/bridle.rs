//! How do two or three legs that meet at one point share a load, and where does that point hang?
//!
//! The apex P is held by legs that only pull: with unit vectors uᵢ from P to the anchors Aᵢ,
//! Σ Fᵢ uᵢ = W ẑ and Fᵢ ≥ 0. For given leg lengths the apex is the lowest point that no leg
//! forbids, min z(P) subject to |P − Aᵢ| ≤ Lᵢ. The problem is convex, so the one set of taut legs
//! whose forces are not negative is the answer; the other legs are slack.
//!
//! Source: equilibrium of concurrent forces, any statics textbook, e.g. Meriam & Kraige,
//! *Engineering Mechanics: Statics*, ch. 3.

use crate::equilibrium::tolerances::NO_LEVER;
use crate::error::{InputError, Result, accept, each, finite, positive};
use nalgebra::{Matrix3, Vector3};

/// A point in the room, (x, y, z).
pub type Vec3 = Vector3<f64>;

/// Relative size below which a determinant or a distance counts as zero.
const DEGENERATE: f64 = 1e-9;

/// Relative force below zero that is rounding, not a pushing leg.
const ROUNDING: f64 = 1e-12;

/// What each leg of a bridle carries.
#[derive(Clone, Debug, PartialEq)]
pub struct Bridle {
    /// Where the legs meet.
    pub apex_m: Vec3,
    /// Length of each leg.
    pub length_m: Vec<f64>,
    /// Pull along each leg; 0 where slack.
    pub force_n: Vec<f64>,
    /// Legs longer than the way from apex to anchor.
    pub slack: Vec<bool>,
    /// Pull of each leg on its anchor.
    pub anchor_force_n: Vec<Vec3>,
    /// Horizontal part of that pull.
    pub horizontal_n: Vec<f64>,
    /// Angle of each leg from plumb.
    pub from_plumb_rad: Vec<f64>,
    /// Angle at the apex between legs (0, 1), or (0, 1), (0, 2), (1, 2).
    pub included_angle_rad: Vec<f64>,
}

/// Forces of a bridle whose apex is given. The leg lengths are a result.
///
/// # Errors
/// Not two or three anchors, the apex at an anchor, legs in one upright plane that leave the
/// shares open, or an apex at which a leg would have to push.
pub fn bridle_at(anchors_m: &[Vec3], apex_m: Vec3, load_n: f64) -> Result<Bridle> {
    check(anchors_m, load_n)?;
    each("apex_m", apex_m.as_slice(), finite)?;
    let force_n = pulls_at(anchors_m, apex_m, load_n)?;
    for (leg, &force) in force_n.iter().enumerate() {
        accept(
            force >= 0.0,
            "apex_m",
            shown(apex_m),
            format!("an apex at which every leg pulls; leg {leg} would have to push"),
        )?;
    }
    let slack = vec![false; anchors_m.len()];
    let length_m = anchors_m.iter().map(|a| (a - apex_m).norm()).collect();
    Ok(described(anchors_m, apex_m, length_m, force_n, slack))
}

/// Forces and apex of a bridle whose leg lengths are given.
///
/// # Errors
/// Not two or three anchors, lengths that are not positive, legs too short to meet or to hang.
pub fn bridle_of(anchors_m: &[Vec3], lengths_m: &[f64], load_n: f64) -> Result<Bridle> {
    check(anchors_m, load_n)?;
    accept(
        lengths_m.len() == anchors_m.len(),
        "lengths_m",
        format!("{lengths_m:?}"),
        format!("{} lengths, one per anchor", anchors_m.len()),
    )?;
    each("lengths_m", lengths_m, positive)?;
    let refused = |allowed: String| InputError::new("lengths_m", format!("{lengths_m:?}"), allowed);
    let Some(rest) = rest_of(anchors_m, lengths_m, load_n) else {
        let allowed = "legs long enough to meet below the line between their anchors";
        return Err(refused(allowed.into()));
    };
    if let Some(anchor) = anchor_at(anchors_m, rest.apex_m) {
        return Err(refused(format!(
            "legs that meet away from anchors_m[{anchor}], where its own leg has no direction"
        )));
    }
    Ok(rest.described(anchors_m, lengths_m))
}

/// Signed leg forces at each apex of a path; below zero the leg would have to push.
///
/// # Errors
/// As [`bridle_at`], except that a pushing leg is no error.
pub fn forces_along(anchors_m: &[Vec3], apexes_m: &[Vec3], load_n: f64) -> Result<Vec<Vec<f64>>> {
    check(anchors_m, load_n)?;
    apexes_m
        .iter()
        .enumerate()
        .map(|(index, &apex)| {
            each("", apex.as_slice(), finite)
                .and_then(|()| pulls_at(anchors_m, apex, load_n))
                .map_err(|error| InputError {
                    field: format!("apexes_m[{index}]"),
                    ..error
                })
        })
        .collect()
}

fn check(anchors_m: &[Vec3], load_n: f64) -> Result<()> {
    accept(
        matches!(anchors_m.len(), 2 | 3),
        "anchors_m",
        format!("{} anchors", anchors_m.len()),
        "two or three anchors",
    )?;
    for (index, anchor) in anchors_m.iter().enumerate() {
        each(&format!("anchors_m[{index}]"), anchor.as_slice(), finite)?;
        for (other, earlier) in anchors_m[..index].iter().enumerate() {
            accept(
                (anchor - earlier).norm() > DEGENERATE * (1.0 + anchor.norm()),
                &format!("anchors_m[{index}]"),
                shown(*anchor),
                format!("an anchor apart from anchors_m[{other}]"),
            )?;
        }
    }
    positive("load_n", load_n).map(drop)
}

/// The bridle of these legs, where they meet away from every anchor.
pub(super) fn hung(anchors_m: &[Vec3], lengths_m: &[f64], load_n: f64) -> Option<Bridle> {
    rest_of(anchors_m, lengths_m, load_n)
        .filter(|rest| anchor_at(anchors_m, rest.apex_m).is_none())
        .map(|rest| rest.described(anchors_m, lengths_m))
}

/// The anchor that lies at a point, if any.
fn anchor_at(anchors_m: &[Vec3], point: Vec3) -> Option<usize> {
    let at = |anchor: &Vec3| (anchor - point).norm() <= DEGENERATE * (1.0 + anchor.norm());
    anchors_m.iter().position(at)
}

/// Where legs of given lengths meet, and what they carry.
struct Rest {
    apex_m: Vec3,
    force_n: Vec<f64>,
    slack: Vec<bool>,
}

impl Rest {
    fn described(self, anchors_m: &[Vec3], lengths_m: &[f64]) -> Bridle {
        let lengths_m = lengths_m.to_vec();
        described(anchors_m, self.apex_m, lengths_m, self.force_n, self.slack)
    }
}

/// The lowest apex that the legs allow, tried over every set of taut legs.
fn rest_of(anchors_m: &[Vec3], lengths_m: &[f64], load_n: f64) -> Option<Rest> {
    let legs = anchors_m.len();
    let span = lengths_m.iter().copied().fold(0.0, f64::max);
    let mut sets: Vec<Vec<usize>> = (0..legs).map(|leg| vec![leg]).collect();
    sets.extend(pairs(legs).map(|(i, j)| vec![i, j]));
    if legs == 3 {
        sets.push(vec![0, 1, 2]);
    }
    sets.iter().find_map(|taut| {
        let apex = lowest_point(anchors_m, lengths_m, taut)?;
        let within = (0..legs).all(|leg| {
            taut.contains(&leg)
                || (apex - anchors_m[leg]).norm() <= lengths_m[leg] + ROUNDING * span
        });
        if !within {
            return None;
        }
        let ends: Vec<Vec3> = taut.iter().map(|&leg| anchors_m[leg]).collect();
        let pulls = pulls_at(&ends, apex, load_n).ok()?;
        if pulls.iter().any(|&force| force < 0.0) {
            return None;
        }
        let mut force_n = vec![0.0; legs];
        let mut slack = vec![true; legs];
        for (&leg, force) in taut.iter().zip(pulls) {
            force_n[leg] = force;
            slack[leg] = false;
        }
        Some(Rest {
            apex_m: apex,
            force_n,
            slack,
        })
    })
}

/// The lowest point at the given distance from each anchor of `taut`.
fn lowest_point(anchors_m: &[Vec3], lengths_m: &[f64], taut: &[usize]) -> Option<Vec3> {
    match *taut {
        [i] => Some(anchors_m[i] - Vec3::z() * lengths_m[i]),
        [i, j] => {
            let (centre, radius_squared, axis) =
                spheres_meet(anchors_m[i], lengths_m[i], anchors_m[j], lengths_m[j])?;
            let down = -(Vec3::z() - axis * axis.z);
            let steepness = down.norm();
            (steepness > DEGENERATE).then(|| centre + down * (radius_squared.sqrt() / steepness))
        }
        [i, j, k] => {
            let (centre, radius_squared, axis) =
                spheres_meet(anchors_m[i], lengths_m[i], anchors_m[j], lengths_m[j])?;
            let radius = radius_squared.sqrt();
            let to_third = anchors_m[k] - centre;
            let along = to_third.dot(&axis);
            let across = to_third - axis * along;
            let reach = across.norm();
            if reach <= DEGENERATE * to_third.norm() || radius == 0.0 {
                return None;
            }
            let towards = across / reach;
            let cosine = (radius_squared + along * along + reach * reach
                - lengths_m[k] * lengths_m[k])
                / (2.0 * radius * reach);
            if cosine.abs() > 1.0 {
                return None;
            }
            let side = axis.cross(&towards) * (radius * (1.0 - cosine * cosine).sqrt());
            let middle = centre + towards * (radius * cosine);
            Some(if side.z < 0.0 {
                middle + side
            } else {
                middle - side
            })
        }
        _ => None,
    }
}

/// Circle in which two spheres meet: centre, radius², axis.
fn spheres_meet(a: Vec3, length_a: f64, b: Vec3, length_b: f64) -> Option<(Vec3, f64, Vec3)> {
    let between = b - a;
    let distance = between.norm();
    let axis = between / distance;
    let along = (distance + (length_a - length_b) * (length_a + length_b) / distance) / 2.0;
    let radius_squared = (length_a - along) * (length_a + along);
    (radius_squared > 0.0).then_some((a + axis * along, radius_squared, axis))
}

/// Signed leg forces that carry the load at `apex`.
fn pulls_at(anchors_m: &[Vec3], apex: Vec3, load_n: f64) -> Result<Vec<f64>> {
    let mut units = Vec::with_capacity(anchors_m.len());
    for (leg, anchor) in anchors_m.iter().enumerate() {
        let reach = anchor - apex;
        accept(
            reach.norm() > DEGENERATE * (1.0 + anchor.norm()),
            "apex_m",
            shown(apex),
            format!("an apex away from anchors_m[{leg}]"),
        )?;
        units.push(reach.normalize());
    }
    let mut shares = match units[..] {
        [u] => plumb_share(u).map(|share| vec![share]),
        [u, v] => pair_shares(u, v),
        [u, v, w] => {
            let legs = Matrix3::from_columns(&[u, v, w]);
            if legs.determinant().abs() > DEGENERATE {
                legs.lu()
                    .solve(&Vec3::z())
                    .map(|shares| shares.as_slice().to_vec())
            } else {
                None
            }
        }
        _ => None,
    }
    .ok_or_else(|| {
        InputError::new(
            "apex_m",
            shown(apex),
            "an apex whose legs leave one answer: two legs with it in the upright plane of their \
             anchors, three legs not in one plane",
        )
    })?;
    let greatest = shares.iter().fold(0.0, |top: f64, s| top.max(s.abs()));
    accept(
        greatest <= NO_LEVER,
        "apex_m",
        shown(apex),
        format!("an apex at which no leg pulls more than {NO_LEVER} times the load"),
    )?;
    for share in &mut shares {
        if *share < 0.0 && *share > -ROUNDING * greatest {
            *share = 0.0;
        }
        *share *= load_n;
    }
    Ok(shares)
}

fn plumb_share(unit: Vec3) -> Option<f64> {
    (unit.z > 0.0 && unit.xy().norm() < DEGENERATE).then_some(1.0 / unit.z)
}

/// Shares of two legs: a leg's share is the moment of the load about the other leg's line.
fn pair_shares(u: Vec3, v: Vec3) -> Option<Vec<f64>> {
    let normal = u.cross(&v);
    let sine = normal.norm();
    if sine < DEGENERATE || normal.z.abs() > DEGENERATE * sine {
        return None;
    }
    let square = sine * sine;
    Some(vec![
        Vec3::z().cross(&v).dot(&normal) / square,
        u.cross(&Vec3::z()).dot(&normal) / square,
    ])
}

fn described(
    anchors_m: &[Vec3],
    apex_m: Vec3,
    length_m: Vec<f64>,
    force_n: Vec<f64>,
    slack: Vec<bool>,
) -> Bridle {
    let units: Vec<Vec3> = anchors_m.iter().map(|a| (a - apex_m).normalize()).collect();
    let anchor_force_n: Vec<Vec3> = units.iter().zip(&force_n).map(|(u, &f)| u * -f).collect();
    Bridle {
        apex_m,
        length_m,
        slack,
        horizontal_n: anchor_force_n.iter().map(|f| f.xy().norm()).collect(),
        from_plumb_rad: units.iter().map(|u| u.xy().norm().atan2(u.z)).collect(),
        included_angle_rad: pairs(units.len())
            .map(|(i, j)| angle_between(units[i], units[j]))
            .collect(),
        anchor_force_n,
        force_n,
    }
}

fn angle_between(u: Vec3, v: Vec3) -> f64 {
    u.cross(&v).norm().atan2(u.dot(&v))
}

fn pairs(count: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..count).flat_map(move |i| (i + 1..count).map(move |j| (i, j)))
}

fn shown(point: Vec3) -> String {
    format!("({}, {}, {})", point.x, point.y, point.z)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn balance(bridle: &Bridle, load_n: f64) -> f64 {
        let sum: Vec3 = bridle.anchor_force_n.iter().sum();
        (sum + Vec3::z() * load_n).norm() / load_n
    }

    #[test]
    fn equal_legs_follow_the_table_of_included_angles() {
        for (included_deg, force) in [
            (60.0, 1.0 / 3.0_f64.sqrt()),
            (90.0, 0.5_f64.sqrt()),
            (120.0, 1.0),
        ] {
            let half = f64::to_radians(included_deg / 2.0);
            let anchors = [Vec3::zeros(), Vec3::new(2.0 * half.sin(), 0.0, 0.0)];
            let bridle = bridle_of(&anchors, &[1.0, 1.0], 1.0).unwrap();
            assert_relative_eq!(bridle.force_n[0], force, max_relative = 1e-8);
            assert_relative_eq!(
                bridle.included_angle_rad[0].to_degrees(),
                included_deg,
                max_relative = 1e-12
            );
        }
    }

    #[test]
    fn a_leg_that_is_too_long_hangs_slack() {
        let anchors = [Vec3::zeros(), Vec3::new(2.0, 0.0, 0.0)];
        let bridle = bridle_of(&anchors, &[1.0, 4.0], 100.0).unwrap();
        assert_eq!(bridle.slack, [false, true]);
        assert_eq!(bridle.force_n, [100.0, 0.0]);
        assert_relative_eq!(bridle.apex_m, Vec3::new(0.0, 0.0, -1.0));
    }

    #[test]
    fn legs_that_cannot_meet_are_refused() {
        let anchors = [Vec3::zeros(), Vec3::new(2.0, 0.0, 0.0)];
        for lengths in [[0.9, 1.0], [1.0, 1.0]] {
            assert_eq!(
                bridle_of(&anchors, &lengths, 1.0).unwrap_err().field,
                "lengths_m"
            );
        }
    }

    #[test]
    fn a_place_is_at_an_anchor_within_rounding_of_its_size() {
        // 1e-9 of 1 + 1000 m: two thirds of a micrometre are rounding there, two are not.
        let anchors = [Vec3::new(1000.0, 0.0, 0.0), Vec3::new(1002.0, 0.0, 0.0)];
        for (off_m, at) in [(0.7e-6, Some(0)), (2e-6, None)] {
            assert_eq!(anchor_at(&anchors, Vec3::new(1000.0 + off_m, 0.0, 0.0)), at);
        }
        for (off_m, refused) in [(0.7e-6, true), (1e-3, false)] {
            let pulls = pulls_at(&anchors, Vec3::new(1000.0, 0.0, -off_m), 1.0);
            let said = pulls.map_or_else(|error| error.allowed, |_| String::new());
            assert_eq!(said.contains("away from anchors_m[0]"), refused);
        }
    }

    #[test]
    fn an_apex_beyond_the_anchors_is_refused() {
        let anchors = [Vec3::zeros(), Vec3::new(2.0, 0.0, 0.0)];
        let error = bridle_at(&anchors, Vec3::new(2.5, 0.0, -1.0), 1.0).unwrap_err();
        assert!(error.allowed.contains("leg 0 would have to push"));
    }

    fn point(low: f64, high: f64) -> impl Strategy<Value = Vec3> {
        (-6.0..6.0f64, -6.0..6.0f64, low..high).prop_map(|(x, y, z)| Vec3::new(x, y, z))
    }

    proptest! {
        /// Random shares of three random anchors give an apex in the legs' reach.
        #[test]
        fn forces_balance_the_load_and_lengths_give_the_apex_back(
            anchors in proptest::collection::vec(point(8.0, 12.0), 3),
            shares in (0.1..1.0f64, 0.1..1.0f64, 0.1..1.0f64),
            drop in 1.0..6.0f64,
        ) {
            let spread = (anchors[1] - anchors[0]).cross(&(anchors[2] - anchors[0])).norm();
            prop_assume!(spread > 1.0);
            let total = shares.0 + shares.1 + shares.2;
            let mut apex =
                (anchors[0] * shares.0 + anchors[1] * shares.1 + anchors[2] * shares.2) / total;
            apex.z -= drop;
            let forward = bridle_at(&anchors, apex, 5000.0).unwrap();
            prop_assert!(balance(&forward, 5000.0) < 1e-10);
            let back = bridle_of(&anchors, &forward.length_m, 5000.0).unwrap();
            prop_assert!((back.apex_m - apex).norm() < 1e-8);
            prop_assert!(balance(&back, 5000.0) < 1e-10);
        }

        /// Whatever legs reach: the load is carried, and no leg is longer than its length.
        #[test]
        fn given_lengths_hang_in_balance(
            anchors in proptest::collection::vec(point(8.0, 12.0), 2..4),
            lengths in proptest::collection::vec(2.0..12.0f64, 3),
            turn in 0usize..3,
        ) {
            let lengths = &lengths[..anchors.len()];
            if let Ok(bridle) = bridle_of(&anchors, lengths, 1000.0) {
                // A leg pulled almost straight magnifies rounding without bound.
                prop_assume!(bridle.force_n.iter().all(|&force| force < 5000.0));
                prop_assert!(balance(&bridle, 1000.0) < 1e-10);
                for (anchor, length) in anchors.iter().zip(lengths) {
                    prop_assert!((anchor - bridle.apex_m).norm() < length + 1e-9);
                }
                let order: Vec<usize> =
                    (0..anchors.len()).map(|i| (i + turn) % anchors.len()).collect();
                let turned: Vec<Vec3> = order.iter().map(|&i| anchors[i]).collect();
                let turned_lengths: Vec<f64> = order.iter().map(|&i| lengths[i]).collect();
                let again = bridle_of(&turned, &turned_lengths, 1000.0).unwrap();
                for (place, &i) in order.iter().enumerate() {
                    prop_assert!((again.force_n[place] - bridle.force_n[i]).abs() < 1e-9 * 1000.0);
                }
            }
        }
    }
}
