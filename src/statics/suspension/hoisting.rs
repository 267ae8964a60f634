//! What do starting, stopping and combining do to the loads?
//!
//! Start and stop: φ₂ = φ₂,min + β₂ v_h for hoisting class HC1 … HC4 and steady hoisting speed
//! v_h (EN 13001-2:2014, table 2; from memory). Emergency stop: a mass m sinking at v that its
//! suspension of spring rate k stops dead adds v √(k m), from ½ m v² = ½ k x²; damping and the
//! brake's slip would make it less. Combinations: Σ factor · action for sets of factors that the
//! user gives, e.g. by EN 1990; none is built in.

use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};
use crate::model::check_gravity;

/// Stiffness class of a hoist, EN 13001-2.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoistingClass {
    /// Softest.
    Hc1,
    /// Soft.
    Hc2,
    /// Stiff.
    Hc3,
    /// Stiffest.
    Hc4,
}

impl HoistingClass {
    /// The class named `HC1` … `HC4`.
    ///
    /// # Errors
    /// Another name.
    pub fn named(name: &str) -> Result<Self> {
        match name {
            "HC1" => Ok(Self::Hc1),
            "HC2" => Ok(Self::Hc2),
            "HC3" => Ok(Self::Hc3),
            "HC4" => Ok(Self::Hc4),
            _ => Err(InputError::new(
                "hoisting_class",
                name,
                "HC1, HC2, HC3 or HC4",
            )),
        }
    }

    /// φ₂,min and β₂ in s/m.
    fn numbers(self) -> (f64, f64) {
        match self {
            Self::Hc1 => (1.05, 0.17),
            Self::Hc2 => (1.10, 0.34),
            Self::Hc3 => (1.15, 0.51),
            Self::Hc4 => (1.20, 0.68),
        }
    }
}

/// Factor on the load for starting and stopping a hoist at `speed_m_s`.
///
/// # Errors
/// A speed below zero.
pub fn start_stop_factor(class: HoistingClass, speed_m_s: f64) -> Result<f64> {
    let (least, per_speed) = class.numbers();
    Ok(least + per_speed * non_negative("speed_m_s", speed_m_s)?)
}

/// Greatest force when a sinking weight is stopped dead: W + v √(k W/g).
///
/// # Errors
/// A weight or spring rate not above zero, a speed below zero, or no free fall on Earth.
pub fn emergency_stop_force_n(
    weight_n: f64,
    speed_m_s: f64,
    stiffness_n_m: f64,
    gravity_m_s2: f64,
) -> Result<f64> {
    positive("weight_n", weight_n)?;
    non_negative("speed_m_s", speed_m_s)?;
    positive("stiffness_n_m", stiffness_n_m)?;
    check_gravity(gravity_m_s2)?;
    Ok(weight_n + speed_m_s * (stiffness_n_m * weight_n / gravity_m_s2).sqrt())
}

/// A named set of forces, one per point.
#[derive(Clone, Debug, PartialEq)]
pub struct Action {
    /// Its name.
    pub name: String,
    /// Force at each point.
    pub force_n: Vec<f64>,
}

/// A named set of factors, one an action.
#[derive(Clone, Debug, PartialEq)]
pub struct FactorSet {
    /// Its name.
    pub name: String,
    /// Name of an action and its factor.
    pub factors: Vec<(String, f64)>,
}

/// Combined forces.
#[derive(Clone, Debug, PartialEq)]
pub struct Combined {
    /// Force at each point: one row per set.
    pub force_n: Vec<Vec<f64>>,
    /// Greatest force at each point.
    pub greatest_n: Vec<f64>,
    /// Set that gives it.
    pub governing: Vec<usize>,
}

/// Combines actions by every set.
///
/// # Errors
/// No action or set, actions with different numbers of points, a name given twice, or a set that
/// leaves an action out or names one that is not there.
pub fn combine(actions: &[Action], sets: &[FactorSet]) -> Result<Combined> {
    accept(!actions.is_empty(), "actions", "{}", "at least one action")?;
    accept(
        !sets.is_empty(),
        "sets",
        "{}",
        "at least one set of factors",
    )?;
    let points = actions[0].force_n.len();
    for action in actions {
        let field = format!("actions[{:?}]", action.name);
        accept(
            action.force_n.len() == points && points > 0,
            &field,
            format!("{} forces", action.force_n.len()),
            format!("one force per point, {} as in the first", points.max(1)),
        )?;
        each(&field, &action.force_n, finite)?;
    }
    let names: Vec<&str> = actions.iter().map(|action| action.name.as_str()).collect();
    let mut force_n = Vec::with_capacity(sets.len());
    for set in sets {
        let field = format!("sets[{:?}]", set.name);
        for (name, factor) in &set.factors {
            accept(
                names.contains(&name.as_str()),
                &field,
                name,
                format!("the names of the actions, {names:?}"),
            )?;
            finite(&format!("{field}[{name:?}]"), *factor)?;
        }
        let mut row = vec![0.0; points];
        for action in actions {
            let factor = set.factors.iter().find(|(name, _)| *name == action.name);
            let (_, factor) = factor.ok_or_else(|| {
                InputError::new(
                    &field,
                    "no factor",
                    format!("a factor for {:?}, 0 included", action.name),
                )
            })?;
            for (sum, force) in row.iter_mut().zip(&action.force_n) {
                *sum += factor * force;
            }
        }
        force_n.push(row);
    }
    let governing: Vec<usize> = (0..points)
        .map(|point| {
            (1..sets.len()).fold(0, |best, set| {
                if force_n[set][point] > force_n[best][point] {
                    set
                } else {
                    best
                }
            })
        })
        .collect();
    Ok(Combined {
        greatest_n: governing
            .iter()
            .enumerate()
            .map(|(point, &set)| force_n[set][point])
            .collect(),
        force_n,
        governing,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_classes_rise_by_one_step_each() {
        use HoistingClass::{Hc1, Hc2, Hc3, Hc4};
        for (step, class) in (1_u8..).zip([Hc1, Hc2, Hc3, Hc4]) {
            let step = f64::from(step);
            let (least, per_speed) = class.numbers();
            assert!((least - (1.0 + 0.05 * step)).abs() < 1e-12);
            assert!((per_speed - 0.17 * step).abs() < 1e-12);
        }
    }

    fn action(name: &str, force_n: &[f64]) -> Action {
        Action {
            name: name.into(),
            force_n: force_n.to_vec(),
        }
    }

    fn set(name: &str, factors: &[(&str, f64)]) -> FactorSet {
        FactorSet {
            name: name.into(),
            factors: factors.iter().map(|(n, f)| ((*n).into(), *f)).collect(),
        }
    }

    #[test]
    fn each_point_is_governed_by_its_own_set() {
        let actions = [
            action("weight", &[100.0, 100.0]),
            action("wind", &[50.0, -50.0]),
        ];
        let sets = [
            set("with wind", &[("weight", 1.0), ("wind", 1.5)]),
            set("weight alone", &[("weight", 1.35), ("wind", 0.0)]),
        ];
        let combined = combine(&actions, &sets).unwrap();
        assert_eq!(combined.governing, [0, 1]);
        assert_eq!(combined.greatest_n, [175.0, 135.0]);
    }

    #[test]
    fn a_set_that_leaves_an_action_out_is_refused() {
        let actions = [action("weight", &[1.0]), action("wind", &[1.0])];
        let error = combine(&actions, &[set("a", &[("weight", 1.0)])]).unwrap_err();
        assert_eq!(error.field, "sets[\"a\"]");
        assert!(error.allowed.contains("wind"));
    }

    #[test]
    fn stopping_a_weight_at_rest_adds_nothing() {
        assert_eq!(
            emergency_stop_force_n(1000.0, 0.0, 1e6, 9.8).unwrap(),
            1000.0
        );
    }
}
