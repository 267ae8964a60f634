//! Do the pins read as a curve?
//!
//! Roughness is the root mean square of the second differences s_{j−1} − 2 s_j + s_{j+1} of the
//! splays, in degrees: 0 for splays that grow evenly. Where the hang passes from one group of
//! blocks to the next it may break off one curve and begin another, so one joint a gap is free:
//! differences it takes part in are left out, the free joints being those that leave the least.

/// Roughness of `splays_deg` with `gaps` free joints.
pub(super) fn roughness_deg(splays_deg: &[f64], gaps: usize) -> f64 {
    let mut square: Vec<f64> = splays_deg
        .windows(3)
        .map(|s| (s[0] - 2.0 * s[1] + s[2]).powi(2))
        .collect();
    let count = square.len();
    for _ in 0..gaps {
        // Differences j, j + 1 and j + 2 are those about joints j + 1 to j + 3: all that joint
        // j + 2 takes part in.
        let freed = |square: &[f64], joint: usize| -> f64 {
            let first = joint.saturating_sub(2);
            square[first..(joint + 1).min(count)].iter().sum()
        };
        let best = (0..splays_deg.len()).max_by(|&a, &b| {
            freed(&square, a)
                .total_cmp(&freed(&square, b))
                .then(b.cmp(&a))
        });
        if let Some(joint) = best.filter(|_| count > 0) {
            square[joint.saturating_sub(2)..(joint + 1).min(count)].fill(0.0);
        }
    }
    (square.iter().sum::<f64>() / count.max(1) as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_growth_is_smooth_and_a_zigzag_is_not() {
        assert_eq!(roughness_deg(&[0.0, 1.0, 2.0, 3.0], 0), 0.0);
        assert_eq!(roughness_deg(&[1.0, 3.0, 1.0, 3.0], 0), 4.0);
        assert_eq!(roughness_deg(&[1.0, 9.0], 0), 0.0);
        assert_eq!(roughness_deg(&[], 2), 0.0);
    }

    #[test]
    fn one_break_a_gap_is_free() {
        let two_curves = [1.0, 2.0, 3.0, 8.0, 0.5, 1.0, 1.5];
        assert_eq!(roughness_deg(&two_curves, 1), 0.0);
        assert!(roughness_deg(&two_curves, 0) > 4.0);
        let spike_at_the_end = [1.0, 1.0, 1.0, 7.0];
        assert_eq!(roughness_deg(&spike_at_the_end, 1), 0.0);
    }
}
