//! What is each hoist's load worth when masses, centres of gravity, hook heights and spring rates
//! are only known to within a spread?
//!
//! Monte Carlo: every case draws each part's mass m (1 + σ_m z) and place g + σ_g z, each hook's
//! height σ_h z and each spring rate k exp(σ_k z), with z standard normal, and solves the rigid
//! hang exactly.

use super::rigid_hang::{Plan, Work, check_count};
use crate::error::{
    InputError, Result, accept, each, finite, non_negative, positive, within_range,
};
use crate::model::check_gravity;
use crate::statics::sampling::{Cases, Draws, check_cases, quantile, sample};
use crate::threads;

/// A hang whose parts are known to within a spread.
#[derive(Clone, Debug, PartialEq)]
pub struct ScatterInput {
    /// Hoists in plan.
    pub points_m: Vec<[f64; 2]>,
    /// Mass of each part.
    pub mass_kg: Vec<f64>,
    /// Plan of each part's centre of gravity.
    pub cg_m: Vec<[f64; 2]>,
    /// Spring rate of each hoist.
    pub stiffness_n_m: Vec<f64>,
    /// How much too high each hook is on average.
    pub high_m: Vec<f64>,
    /// Standard deviation of a mass over its mean.
    pub mass_spread: f64,
    /// Standard deviation of each coordinate of a part's centre of gravity.
    pub cg_spread_m: f64,
    /// Standard deviation of a hook's height.
    pub high_spread_m: f64,
    /// Standard deviation of the logarithm of a spring rate.
    pub stiffness_spread: f64,
    /// Factor on every load.
    pub factor: f64,
    /// Acceleration of free fall.
    pub gravity_m_s2: f64,
    /// Number of cases.
    pub cases: usize,
    /// Seed of the draws.
    pub seed: u64,
}

/// Loads of every case, and their envelope over the cases that did not tip.
#[derive(Clone, Debug, PartialEq)]
pub struct Scatter {
    /// One row a case; NaN in a case that tips.
    pub load_n: Vec<f64>,
    /// Cases whose centre of gravity is not below the hoists, or where no share balances.
    pub tips: Vec<bool>,
    /// Least load of each hoist.
    pub least_n: Vec<f64>,
    /// Mean load of each hoist.
    pub mean_n: Vec<f64>,
    /// Greatest load of each hoist.
    pub greatest_n: Vec<f64>,
    /// Loads not exceeded in the asked shares of cases: one row a share.
    pub quantile_n: Vec<Vec<f64>>,
    /// Share of cases in which each hoist is slack.
    pub slack_share: Vec<f64>,
}

/// Runs the cases. `go_on` is told how many are done and stops the run by returning false: then
/// the answer is `None`.
///
/// # Errors
/// An input out of bounds, or every case tips.
pub fn scatter(
    input: &ScatterInput,
    shares: &[f64],
    go_on: impl FnMut(usize) -> bool,
) -> Result<Option<Scatter>> {
    let plan = Plan::new(&input.points_m)?;
    check(input)?;
    each("quantiles", shares, |field, share| {
        within_range(field, share, 0.0, 1.0)
    })?;
    let hoists = input.points_m.len();
    // The loads case by case and, for the envelope, hoist by hoist.
    crate::memory::fits(
        "cases",
        &format!("{} cases of {hoists} hoists", input.cases),
        16.0 * input.cases as f64 * hoists as f64,
    )?;
    let found = sample(
        [input.cases, hoists],
        input.seed,
        go_on,
        |case: &mut Case, draws, loads| case.draw(input, &plan, draws, loads),
    );
    let Some(Cases {
        rows: load_n,
        answered,
    }) = found
    else {
        return Ok(None);
    };
    let tips: Vec<bool> = answered.iter().map(|held| !held).collect();
    accept(
        tips.contains(&false),
        "cg_m",
        "every case",
        "centres of gravity below the hoists, so that the frame does not tip",
    )?;
    Ok(Some(envelope(load_n, tips, hoists, shares)))
}

#[derive(Default)]
struct Case {
    work: Work,
    stiffness: Vec<f64>,
    high: Vec<f64>,
}

impl Case {
    fn draw(
        &mut self,
        input: &ScatterInput,
        plan: &Plan,
        draws: &mut Draws,
        loads: &mut [f64],
    ) -> bool {
        let mut normal = || draws.normal();
        let (mut mass, mut moment) = (0.0, [0.0; 2]);
        for (&mean_kg, cg) in input.mass_kg.iter().zip(&input.cg_m) {
            let part = mean_kg * (1.0 + input.mass_spread * normal()).max(0.0);
            mass += part;
            for axis in 0..2 {
                moment[axis] += part * (cg[axis] + input.cg_spread_m * normal());
            }
        }
        self.stiffness.clear();
        self.high.clear();
        for (rate, high) in input.stiffness_n_m.iter().zip(&input.high_m) {
            self.stiffness
                .push(rate * (input.stiffness_spread * normal()).exp());
            self.high.push(high + input.high_spread_m * normal());
        }
        if mass <= 0.0 {
            return false;
        }
        let cg = [moment[0] / mass, moment[1] / mass];
        let weight_n = mass * input.gravity_m_s2 * input.factor;
        let held = plan.share(cg, weight_n, &self.stiffness, &self.high, &mut self.work);
        if held {
            loads.copy_from_slice(&self.work.pull);
        }
        held
    }
}

fn envelope(load_n: Vec<f64>, tips: Vec<bool>, hoists: usize, shares: &[f64]) -> Scatter {
    let columns = threads::map(0..hoists, |hoist| {
        let held = load_n.chunks(hoists).zip(&tips).filter(|(_, tips)| !**tips);
        let mut column: Vec<f64> = held.map(|(row, _)| row[hoist]).collect();
        column.sort_by(f64::total_cmp);
        column
    });
    let of = |value: fn(&[f64]) -> f64| columns.iter().map(|column| value(column)).collect();
    Scatter {
        least_n: of(|sorted| sorted[0]),
        mean_n: of(|sorted| sorted.iter().sum::<f64>() / sorted.len() as f64),
        greatest_n: of(|sorted| sorted[sorted.len() - 1]),
        slack_share: of(|sorted| {
            sorted.partition_point(|&load| load <= 0.0) as f64 / sorted.len() as f64
        }),
        quantile_n: shares
            .iter()
            .map(|&share| {
                columns
                    .iter()
                    .map(|column| quantile(column, share))
                    .collect()
            })
            .collect(),
        load_n,
        tips,
    }
}

fn check(input: &ScatterInput) -> Result<()> {
    let hoists = input.points_m.len();
    check_count("stiffness_n_m", input.stiffness_n_m.len(), hoists)?;
    each("stiffness_n_m", &input.stiffness_n_m, positive)?;
    check_count("high_m", input.high_m.len(), hoists)?;
    each("high_m", &input.high_m, finite)?;
    accept(
        !input.mass_kg.is_empty() && input.mass_kg.len() == input.cg_m.len(),
        "mass_kg",
        format!("{} masses", input.mass_kg.len()),
        format!("{} masses, one a centre of gravity", input.cg_m.len()),
    )?;
    each("mass_kg", &input.mass_kg, non_negative)?;
    positive("mass_kg", input.mass_kg.iter().sum())?;
    for (index, cg) in input.cg_m.iter().enumerate() {
        each("", cg, finite).map_err(|error| InputError {
            field: format!("cg_m[{index}]"),
            ..error
        })?;
    }
    within_range("mass_spread", input.mass_spread, 0.0, 1.0)?;
    non_negative("cg_spread_m", input.cg_spread_m)?;
    non_negative("high_spread_m", input.high_spread_m)?;
    within_range("stiffness_spread", input.stiffness_spread, 0.0, 2.0)?;
    positive("factor", input.factor)?;
    check_gravity(input.gravity_m_s2)?;
    check_cases(input.cases)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::STANDARD_GRAVITY_M_S2;
    use crate::statics::suspension::rigid_hang::rigid_hang;

    fn input() -> ScatterInput {
        ScatterInput {
            points_m: vec![[0.0, -0.5], [0.0, 0.5], [-1.0, 0.5], [-1.0, -0.5]],
            mass_kg: vec![60.0; 24],
            cg_m: (0..24).map(|i| [-0.3 - 0.01 * f64::from(i), 0.0]).collect(),
            stiffness_n_m: vec![4e5; 4],
            high_m: vec![0.0; 4],
            mass_spread: 0.02,
            cg_spread_m: 0.01,
            high_spread_m: 0.005,
            stiffness_spread: 0.2,
            factor: 1.0,
            gravity_m_s2: STANDARD_GRAVITY_M_S2,
            cases: 3000,
            seed: 5,
        }
    }

    fn on_threads(threads: usize) -> Scatter {
        threads::with_count(threads, || scatter(&input(), &[0.5], |_| true))
            .unwrap()
            .unwrap()
    }

    #[test]
    fn any_number_of_threads_gives_the_same_bits() {
        assert_eq!(on_threads(1), on_threads(3));
    }

    #[test]
    fn without_spread_every_case_is_the_rigid_hang() {
        let calm = ScatterInput {
            mass_spread: 0.0,
            cg_spread_m: 0.0,
            high_spread_m: 0.0,
            stiffness_spread: 0.0,
            cases: 3,
            ..input()
        };
        let found = scatter(&calm, &[], |_| true).unwrap().unwrap();
        let cg = calm.cg_m.iter().map(|cg| cg[0]).sum::<f64>() / 24.0;
        let weight_n = 24.0 * 60.0 * STANDARD_GRAVITY_M_S2;
        let single = rigid_hang(
            &calm.points_m,
            [cg, 0.0],
            weight_n,
            Some(&calm.stiffness_n_m),
            None,
        )
        .unwrap();
        for (a, b) in found.load_n[..4].iter().zip(&single.load_n) {
            assert!((a - b).abs() < 1e-10 * weight_n);
        }
    }

    #[test]
    fn a_run_that_is_stopped_gives_nothing() {
        assert_eq!(scatter(&input(), &[], |_| false).unwrap(), None);
    }

    #[test]
    fn cases_that_tip_are_counted_and_left_out() {
        let wild = ScatterInput {
            cg_spread_m: 2.0,
            ..input()
        };
        let found = scatter(&wild, &[0.0], |_| true).unwrap().unwrap();
        let tipped = found.tips.iter().filter(|tips| **tips).count();
        assert!(tipped > 0 && tipped < 3000);
        assert_eq!(found.quantile_n[0], found.least_n);
    }
}
