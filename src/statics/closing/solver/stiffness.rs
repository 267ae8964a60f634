//! Small moves of the free joints about a balance, in time proportional to their number.
//!
//! Between two free joints the hang is one rigid cluster. In the clusters' absolute turns a_c the
//! gravity energy has no mixed second derivatives, and a straight part of the chain, of length l and
//! reaching κ_c along itself in cluster c, has ∂²l/∂a_b∂a_c = κ_b [b = c] + κ_b κ_c / l. So
//!
//! ```text
//! ∂²(U + T L) = D + Σ_p B_p B_pᵀ,   D_c = U_c″ + T Σ_p κ_pc,   B_p = κ_p √(T/l_p)
//! ```
//!
//! and only parts next to each other share a cluster. With g = ∂L/∂a, moves x at held length solve
//!
//! ```text
//! D x + Σ B_p y_p + g τ = r,   B_pᵀ x = y_p,   gᵀ x = Δℓ
//! ```
//!
//! from which x is eliminated first, then y by a tridiagonal system, last τ (Sherman, Morrison and
//! Woodbury's formula; Nocedal & Wright, Numerical Optimization, 2nd ed., A.28). By Haynsworth's
//! rule of inertia (1968) the balance lasts at held length when the last two eliminations have as
//! many negative pivots as the first.

use crate::equilibrium::Rest;
use crate::pose::state::State;

/// A cluster and the free joint it hangs from.
#[derive(Clone, Copy, Debug)]
struct Cluster {
    joint: usize,
    /// Number of the string's part past the joint, among the parts with free joints.
    part: usize,
    /// 1/D.
    softness: f64,
    /// g.
    lever: f64,
    /// B of that part.
    own: f64,
    /// B of the next part where it starts in this cluster, else zero.
    over: f64,
}

/// The factors, kept between calls so that a step allocates nothing.
#[derive(Clone, Debug, Default)]
pub(crate) struct Stiffness {
    clusters: Vec<Cluster>,
    /// The tridiagonal system: pivots, and the entries beside the diagonal.
    pivot: Vec<f64>,
    beside: Vec<f64>,
    /// Its answer to Bᵀ g / D.
    pull: Vec<f64>,
    last_pivot: f64,
    load: Vec<f64>,
}

/// The balance does not last at held length, or no free joint changes the length.
pub(crate) struct Unstable;

impl Stiffness {
    /// Factors for the joints that `rests` leaves free.
    pub fn factor(&mut self, state: &State, rests: &[Rest], force_n: f64) -> Result<(), Unstable> {
        let sign = if force_n < 0.0 { -1.0 } else { 1.0 };
        let negative = self.gather(state, rests, force_n);
        let parts = self.clusters.first().map_or(0, |first| first.part + 1);
        for list in [&mut self.beside, &mut self.pull, &mut self.load] {
            list.clear();
            list.resize(parts, 0.0);
        }
        self.pivot.clear();
        self.pivot.resize(parts, sign);
        let mut square = 0.0;
        for cluster in &mut self.clusters {
            // Gathered from the bottom up.
            cluster.part = parts - 1 - cluster.part;
            let Cluster {
                part,
                softness,
                lever,
                own,
                over,
                ..
            } = *cluster;
            self.pivot[part] += own * own * softness;
            self.pull[part] += own * lever * softness;
            if over != 0.0 {
                self.pivot[part + 1] += over * over * softness;
                self.pull[part + 1] += over * lever * softness;
                self.beside[part] = own * over * softness;
            }
            square += lever * lever * softness;
        }
        let mut minus = 0;
        for part in 0..parts {
            if part > 0 {
                let share = self.beside[part - 1] / self.pivot[part - 1];
                self.pivot[part] -= share * self.beside[part - 1];
                self.pull[part] -= share * self.pull[part - 1];
            }
            let pivot = off_zero(self.pivot[part], f64::EPSILON);
            self.pivot[part] = pivot;
            minus += usize::from(pivot < 0.0);
            square -= self.pull[part] * self.pull[part] / pivot;
        }
        back(&self.pivot, &self.beside, &mut self.pull);
        self.last_pivot = square;
        minus += usize::from(square < 0.0);
        let expected = if sign < 0.0 {
            negative + parts
        } else {
            negative
        };
        if square != 0.0 && square.is_finite() && minus == expected {
            Ok(())
        } else {
            Err(Unstable)
        }
    }

    /// Lists the clusters, top to bottom, with their parts counted from the bottom; gives the number
    /// of negative D.
    fn gather(&mut self, state: &State, rests: &[Rest], force_n: f64) -> usize {
        let least = f64::EPSILON * state.gravity_curve(0).abs() + f64::MIN_POSITIVE;
        self.clusters.clear();
        let mut negative = 0;
        let mut part = 0;
        let mut below: Option<(usize, f64)> = None;
        for joint in (0..rests.len()).rev() {
            if rests[joint] != Rest::Free {
                continue;
            }
            let mut curve = state.gravity_curve(joint);
            let mut lever = state.lever_m[joint];
            let (mut own, mut over) = (state.chain_curve(joint), 0.0);
            let mut root = None;
            let mut over_root = 0.0;
            if let Some((next, next_root)) = below {
                curve -= state.gravity_curve(next);
                lever -= state.lever_m[next];
                if state.same_part(joint, next) {
                    own -= state.chain_curve(next);
                    root = Some(next_root);
                } else {
                    part += 1;
                    over = -state.part_m(next) - state.chain_curve(next);
                    over_root = next_root;
                }
            }
            let root = root.unwrap_or_else(|| (force_n.abs() / state.part_m(joint)).sqrt());
            let diagonal = off_zero(curve + force_n * (own + over), least);
            negative += usize::from(diagonal < 0.0);
            self.clusters.push(Cluster {
                joint,
                part,
                softness: 1.0 / diagonal,
                lever,
                own: own * root,
                over: over * over_root,
            });
            below = Some((joint, root));
        }
        self.clusters.reverse();
        negative
    }

    /// The move that takes the slopes away at held length; gives the change of the force.
    pub fn relax(&mut self, slope_nm: impl Fn(usize) -> f64, change_rad: &mut [f64]) -> f64 {
        self.load.fill(0.0);
        let mut across = 0.0;
        let mut below = 0.0;
        for cluster in self.clusters.iter().rev() {
            let slope = slope_nm(cluster.joint);
            let give = (below - slope) * cluster.softness;
            below = slope;
            self.load[cluster.part] += cluster.own * give;
            if cluster.over != 0.0 {
                self.load[cluster.part + 1] += cluster.over * give;
            }
            across += cluster.lever * give;
            change_rad[cluster.joint] = give;
        }
        let pulled: f64 = self.pull.iter().zip(&self.load).map(|(a, b)| a * b).sum();
        let force_n = (across - pulled) / self.last_pivot;
        for part in 1..self.load.len() {
            let share = self.beside[part - 1] / self.pivot[part - 1];
            self.load[part] -= share * self.load[part - 1];
        }
        back(&self.pivot, &self.beside, &mut self.load);
        self.turn(force_n, change_rad);
        force_n
    }

    /// The move along the balances for a change of one metre of the length; gives the change of the
    /// force.
    pub fn follow(&mut self, change_rad: &mut [f64]) -> f64 {
        self.load.fill(0.0);
        for cluster in &self.clusters {
            change_rad[cluster.joint] = 0.0;
        }
        let force_n = -1.0 / self.last_pivot;
        self.turn(force_n, change_rad);
        force_n
    }

    /// From r/D in `change_rad` and the tridiagonal system's answer to r in `load`: the joints' turns.
    fn turn(&self, force_n: f64, change_rad: &mut [f64]) {
        let held = |part: usize| self.load[part] - self.pull[part] * force_n;
        let mut above = 0.0;
        for cluster in &self.clusters {
            let mut pulled = cluster.lever * force_n + cluster.own * held(cluster.part);
            if cluster.over != 0.0 {
                pulled += cluster.over * held(cluster.part + 1);
            }
            let turned = change_rad[cluster.joint] - pulled * cluster.softness;
            change_rad[cluster.joint] = turned - above;
            above = turned;
        }
    }
}

/// Second half of the tridiagonal solution: divides by the pivots and substitutes backwards.
fn back(pivot: &[f64], beside: &[f64], load: &mut [f64]) {
    for part in (0..load.len()).rev() {
        let next = if part + 1 < load.len() {
            beside[part] * load[part + 1]
        } else {
            0.0
        };
        load[part] = (load[part] - next) / pivot[part];
    }
}

/// `value`, or `least` where it is nearer to zero than that.
fn off_zero(value: f64, least: f64) -> f64 {
    if value.abs() < least { least } else { value }
}
