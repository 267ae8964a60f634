//! What does each seat area get?
//!
//! Over the places of one area: mean L̄ = Σ w L / Σ w, spread √(Σ w (L − L̄)² / Σ w), least and
//! greatest. Within an area of no weight all places count alike.

use super::measures::spread_db;

/// Levels over the places of one seat area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AreaLevels {
    /// Weighted mean.
    pub mean_db: f64,
    /// The quietest place.
    pub least_db: f64,
    /// The loudest place.
    pub greatest_db: f64,
    /// Weighted standard deviation.
    pub evenness_db: f64,
}

/// One summary for each area from the first to the last that has places, in their order.
#[must_use]
pub fn by_area(level_db: &[f64], weight: &[f64], area: &[usize]) -> Vec<AreaLevels> {
    let count = area.iter().max().map_or(0, |last| last + 1);
    (0..count)
        .map(|wanted| {
            let places = || (0..area.len()).filter(|&place| area[place] == wanted);
            let levels: Vec<f64> = places().map(|place| level_db[place]).collect();
            let weights: Vec<f64> = places().map(|place| weight[place]).collect();
            summary(&levels, weights)
        })
        .collect()
}

fn summary(level_db: &[f64], mut weight: Vec<f64>) -> AreaLevels {
    if weight.iter().all(|&w| w == 0.0) {
        weight.fill(1.0);
    }
    let total: f64 = weight.iter().sum();
    let weighted: f64 = level_db.iter().zip(&weight).map(|(l, w)| l * w).sum();
    AreaLevels {
        mean_db: weighted / total,
        least_db: level_db.iter().copied().fold(f64::INFINITY, f64::min),
        greatest_db: level_db.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        evenness_db: spread_db(level_db, &weight),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn each_area_is_summed_up_by_its_own_places() {
        let found = by_area(&[-3.0, 1.0, 9.0, 4.0], &[1.0, 2.0, 5.0, 1.0], &[1, 0, 0, 1]);
        assert_eq!(found.len(), 2);
        assert_relative_eq!(found[0].mean_db, 47.0 / 7.0, max_relative = 1e-15);
        assert_relative_eq!(found[1].mean_db, 0.5, max_relative = 1e-15);
        assert_relative_eq!(found[1].evenness_db, 3.5, max_relative = 1e-15);
        assert_eq!([found[1].least_db, found[1].greatest_db], [-3.0, 4.0]);
    }

    #[test]
    fn places_of_an_area_without_weight_count_alike() {
        let found = by_area(&[1.0, 4.0], &[0.0, 0.0], &[0, 0]);
        assert_relative_eq!(found[0].mean_db, 2.5, max_relative = 1e-15);
        assert_relative_eq!(found[0].evenness_db, 1.5, max_relative = 1e-15);
    }
}
