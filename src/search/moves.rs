//! The moves of a descent, in their fixed order.
//!
//! Every position of every joint; the neighbouring aims, heights and gains; the first joints
//! against the aim; the pins of two neighbours swapped, which moves a gap along the hang by a
//! cabinet; one joint a position up with another one down; a run of joints all up or down;
//! a joint two down with its neighbours one up, which keeps all that hangs below at its angle.

use super::candidate::{Candidate, Variables};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::Rng;

/// One change of one variable.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Step {
    Pin { joint: usize, pin: usize },
    Turn { joint: usize, by: isize },
    Swap { upper: usize },
    Aim { by: isize },
    Top { by: isize },
    Gain { cabinet: usize, by: isize },
}

/// Several steps taken together.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Move(Vec<Step>);

/// Joints that are tried against the aim.
const AIMED_JOINTS: usize = 3;

/// All moves, in groups of which a descent takes the best.
pub(super) fn groups(variables: &Variables) -> Vec<Vec<Move>> {
    let joints = variables.positions_deg.len();
    let cabinets = if variables.gains_db.is_empty() {
        0
    } else {
        joints + 1
    };
    let mut groups = pins(variables);
    groups.push(aims_and_tops(joints));
    groups.extend((0..cabinets).map(|cabinet| both(|by| vec![Step::Gain { cabinet, by }])));
    groups.push(swaps(joints));
    groups.extend(pairs(joints));
    groups.extend(bends(joints));
    groups.extend(blocks(joints));
    groups
}

impl Move {
    /// The candidate after this move; none where a variable would leave its list or nothing moves.
    pub(super) fn of(&self, from: &Candidate, variables: &Variables) -> Option<Candidate> {
        let mut candidate = from.clone();
        for step in &self.0 {
            match *step {
                Step::Pin { joint, pin } => candidate.pins[joint] = pin,
                Step::Turn { joint, by } => {
                    let count = variables.positions_deg[joint].len();
                    candidate.pins[joint] = shifted(candidate.pins[joint], by, count)?;
                }
                Step::Swap { upper } => {
                    let (here, next) = (candidate.pins[upper], candidate.pins[upper + 1]);
                    let fits = |joint: usize, pin: usize| {
                        Some(pin).filter(|&pin| pin < variables.positions_deg[joint].len())
                    };
                    candidate.pins[upper] = fits(upper, next)?;
                    candidate.pins[upper + 1] = fits(upper + 1, here)?;
                }
                Step::Aim { by } => {
                    candidate.aim = shifted(candidate.aim, by, variables.aim_count())?;
                }
                Step::Gain { cabinet, by } => {
                    let count = variables.gains_db.len();
                    candidate.gains[cabinet] = shifted(candidate.gains[cabinet], by, count)?;
                }
                Step::Top { by } => {
                    candidate.top = shifted(candidate.top, by, variables.tops_m.len())?;
                }
            }
        }
        (candidate != *from).then_some(candidate)
    }
}

fn shifted(index: usize, by: isize, count: usize) -> Option<usize> {
    index.checked_add_signed(by).filter(|&moved| moved < count)
}

fn both(steps: impl Fn(isize) -> Vec<Step>) -> Vec<Move> {
    vec![Move(steps(-1)), Move(steps(1))]
}

fn pins(variables: &Variables) -> Vec<Vec<Move>> {
    let positions = variables.positions_deg.iter().enumerate();
    positions
        .map(|(joint, positions)| {
            (0..positions.len())
                .map(|pin| Move(vec![Step::Pin { joint, pin }]))
                .collect()
        })
        .collect()
}

fn aims_and_tops(joints: usize) -> Vec<Move> {
    let mut moves = Vec::new();
    for by in [-4, -2, -1, 1, 2, 4] {
        moves.push(Move(vec![Step::Aim { by }]));
        moves.push(Move(vec![Step::Top { by }]));
        for aim in [-2, -1, 1, 2] {
            moves.push(Move(vec![
                Step::Top { by: by.signum() },
                Step::Aim { by: aim * by.abs() },
            ]));
        }
        for joint in 0..joints.min(AIMED_JOINTS) {
            for turn in [-1, 1] {
                let turn = Step::Turn { joint, by: turn };
                moves.push(Move(vec![Step::Aim { by }, turn]));
            }
        }
    }
    moves
}

fn turns(joints: impl IntoIterator<Item = (usize, isize)>) -> Vec<Step> {
    let turn = |(joint, by)| Step::Turn { joint, by };
    joints.into_iter().map(turn).collect()
}

fn swaps(joints: usize) -> Vec<Move> {
    (1..joints)
        .map(|lower| Move(vec![Step::Swap { upper: lower - 1 }]))
        .collect()
}

fn pairs(joints: usize) -> Vec<Vec<Move>> {
    let mut groups = Vec::new();
    for apart in 1..joints {
        for upper in 0..joints - apart {
            groups.push(both(|by| turns([(upper, by), (upper + apart, -by)])));
        }
    }
    groups
}

fn blocks(joints: usize) -> Vec<Vec<Move>> {
    let mut groups = Vec::new();
    for first in 0..joints {
        for last in first + 1..joints {
            groups.push(both(|by| turns((first..=last).map(|joint| (joint, by)))));
        }
    }
    groups
}

fn bends(joints: usize) -> Vec<Vec<Move>> {
    (1..joints.saturating_sub(1))
        .map(|joint| both(|by| turns([(joint - 1, by), (joint, -2 * by), (joint + 1, by)])))
        .collect()
}

/// How many doublings of a step, and one more, cross a quarter of the longest list of positions.
pub(super) fn strides(variables: &Variables) -> u32 {
    let longest = variables.positions_deg.iter().map(Vec::len).max();
    (longest.unwrap_or(0) / 4).max(1).ilog2().max(2)
}

/// A move of a kind chosen at random; none where it would leave a list.
pub(super) fn random(
    from: &Candidate,
    variables: &Variables,
    random: &mut Pcg64Mcg,
) -> Option<Candidate> {
    let joints = from.pins.len();
    let strides = strides(variables) as usize;
    let mut below = |count: usize| (random.next_u64() % count.max(1) as u64) as usize;
    let sign = if below(2) == 0 { -1 } else { 1 };
    let turn = sign << below(strides - 1);
    let steps = match below(11) {
        0 => {
            let by = sign * (1 + below(3) as isize);
            let mut steps = vec![Step::Aim { by }];
            if joints > 0 && below(2) == 0 {
                let joint = below(joints.min(AIMED_JOINTS));
                steps.push(Step::Turn { joint, by: -turn });
            }
            steps
        }
        1 if variables.tops_m.len() > 1 => {
            let mut steps = vec![Step::Top {
                by: sign * (1 + below(2) as isize),
            }];
            if below(2) == 0 {
                let by = -sign * (1 + below(3) as isize);
                steps.push(Step::Aim { by });
            }
            steps
        }
        2 if !from.gains.is_empty() => vec![Step::Gain {
            cabinet: below(from.gains.len()),
            by: sign,
        }],
        _ if joints == 0 => return None,
        1..5 => turns([(below(joints), sign << below(strides))]),
        5 | 6 => {
            let (a, b) = (below(joints), below(joints));
            turns([(a, turn), (b, -turn)])
        }
        7 => {
            let (a, b) = (below(joints), below(joints));
            turns((a.min(b)..=a.max(b)).map(|joint| (joint, turn)))
        }
        8 => {
            let upper = below(joints.saturating_sub(1));
            if joints < 2 {
                return None;
            }
            turns([(upper, turn), (upper + 1, -turn)])
        }
        9 => {
            if joints < 2 {
                return None;
            }
            vec![Step::Swap {
                upper: below(joints - 1),
            }]
        }
        _ => {
            if joints < 3 {
                return None;
            }
            let upper = below(joints - 2);
            turns([(upper, turn), (upper + 1, -2 * turn), (upper + 2, turn)])
        }
    };
    Move(steps).of(from, variables)
}
