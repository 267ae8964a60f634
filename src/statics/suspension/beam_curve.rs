//! Shear, moment and deflection along a beam, and where they are least and greatest.

use super::beam::Beam;
use super::beam_part::SmoothPart;
use super::beam_segment::Segment;

/// The least and the greatest of a quantity, each with its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extremes {
    /// Least value.
    pub least: f64,
    /// Its place.
    pub least_x_m: f64,
    /// Greatest value.
    pub greatest: f64,
    /// Its place.
    pub greatest_x_m: f64,
}

impl Extremes {
    fn of(values: impl IntoIterator<Item = (f64, f64)>) -> Self {
        let mut found = Self {
            least: f64::INFINITY,
            least_x_m: 0.0,
            greatest: f64::NEG_INFINITY,
            greatest_x_m: 0.0,
        };
        for (x, value) in values {
            if value < found.least {
                (found.least, found.least_x_m) = (value, x);
            }
            if value > found.greatest {
                (found.greatest, found.greatest_x_m) = (value, x);
            }
        }
        found
    }
}

impl Beam {
    /// The segment that holds the beam just right of `x_m`, and the place in it.
    fn locate(&self, x_m: f64) -> (&Segment, f64) {
        let start = |segment: &Segment| segment.x_m(0.0).min(segment.x_m(segment.length_m));
        let begun = self
            .segments
            .partition_point(|segment| x_m >= start(segment));
        let segment = &self.segments[begun.max(1) - 1];
        (segment, (x_m - segment.origin_m) * segment.direction)
    }

    /// Shear just right of `x_m`, at the right end just left of it: the upward forces to the left
    /// less the loads there.
    #[must_use]
    pub fn shear_n(&self, x_m: f64) -> f64 {
        let (segment, at) = self.locate(x_m);
        let before_loads = segment.direction < 0.0 || x_m >= self.length_m;
        segment.direction * segment.part(at, before_loads).shear(at)
    }

    /// Bending moment, positive where the beam sags.
    #[must_use]
    pub fn moment_nm(&self, x_m: f64) -> f64 {
        let (segment, at) = self.locate(x_m);
        segment.part(at, false).moment(at)
    }

    /// Deflection, positive downward.
    #[must_use]
    pub fn deflection_m(&self, x_m: f64) -> f64 {
        let (segment, at) = self.locate(x_m);
        segment.part(at, false).deflection(at)
    }

    /// Least and greatest shear, on either side of every jump.
    #[must_use]
    pub fn shear_extremes(&self) -> Extremes {
        Extremes::of(self.smooth_parts().flat_map(|(segment, part)| {
            [part.from, part.flat_load(), part.to]
                .map(|at| (segment.x_m(at), segment.direction * part.shear(at)))
        }))
    }

    /// Least and greatest moment, from the roots of the shear.
    #[must_use]
    pub fn moment_extremes(&self) -> Extremes {
        Extremes::of(self.smooth_parts().flat_map(|(segment, part)| {
            let turn = part.flat_load();
            let roots = [(part.from, turn), (turn, part.to)]
                .map(|(from, to)| root(|at| part.shear(at), from, to));
            [Some(part.from), Some(part.to), roots[0], roots[1]]
                .into_iter()
                .flatten()
                .map(|at| (segment.x_m(at), part.moment(at)))
        }))
    }

    /// Least and greatest deflection, from the roots of the slope.
    #[must_use]
    pub fn deflection_extremes(&self) -> Extremes {
        const PIECES: u32 = 16;
        Extremes::of(self.smooth_parts().flat_map(|(segment, part)| {
            let width = part.to - part.from;
            let place = move |piece: u32| part.from + width * f64::from(piece) / f64::from(PIECES);
            (0..PIECES).flat_map(move |piece| {
                let (low, high) = (place(piece), place(piece + 1));
                [Some(low), root(|at| part.slope(at), low, high), Some(high)]
                    .into_iter()
                    .flatten()
                    .map(|at| (segment.x_m(at), part.deflection(at)))
            })
        }))
    }

    fn smooth_parts(&self) -> impl Iterator<Item = (&Segment, &SmoothPart)> {
        self.segments
            .iter()
            .flat_map(|segment| segment.parts.iter().map(move |part| (segment, part)))
    }
}

/// The root of a function between two places where its sign differs, by halving.
fn root(function: impl Fn(f64) -> f64, from: f64, to: f64) -> Option<f64> {
    let (mut low, mut high) = (from, to);
    let sign = function(low);
    if sign * function(high) >= 0.0 {
        return None;
    }
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if function(middle) * sign > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_least_and_the_greatest_are_found_wherever_they_stand() {
        let places = [(0.0, 1.0), (1.0, -3.0), (2.0, 5.0), (3.0, 0.0)];
        let expected = Extremes {
            least: -3.0,
            least_x_m: 1.0,
            greatest: 5.0,
            greatest_x_m: 2.0,
        };
        assert_eq!(Extremes::of(places), expected);
        let backwards = places.iter().rev().copied();
        assert_eq!(Extremes::of(backwards), expected);
        let alone = Extremes::of([(4.0, 2.0)]);
        assert_eq!((alone.least, alone.greatest), (2.0, 2.0));
        assert_eq!((alone.least_x_m, alone.greatest_x_m), (4.0, 4.0));
    }
}
