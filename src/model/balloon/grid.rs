//! The directions of a balloon, continued beyond the full turn and the poles.

use super::measured::Measured;
use super::stencil::Stencil;
use nalgebra::Complex;

/// Rows and columns that a stencil can reach beyond the ends.
const BEYOND: usize = 3;

/// Values over the sphere, the lines of a direction side by side.
#[derive(Clone, Debug)]
pub(super) struct Grid {
    azimuth_deg: Vec<f64>,
    elevation_deg: Vec<f64>,
    first_deg: f64,
    lines: usize,
    /// Elevation by elevation, azimuth by azimuth: real parts of all lines, then imaginary ones.
    values: Vec<f64>,
}

impl Grid {
    /// The values of `measured`, times a factor of line and direction.
    pub(super) fn of(
        measured: &Measured,
        factor: impl Fn(usize, [f64; 2]) -> Complex<f64>,
    ) -> Self {
        let lines = measured.frequency_hz.len();
        let columns = turned(&measured.azimuth_deg);
        let rows = over_the_poles(measured);
        let mut values = Vec::with_capacity(rows.len() * columns.len() * 2 * lines);
        for (_, row, turned) in &rows {
            for (_, column) in &columns {
                let column = turned.as_ref().map_or(*column, |to| to[*column]);
                let direction = row * measured.azimuth_deg.len() + column;
                let direction_deg = measured.direction_deg(direction);
                let of_line =
                    |line: usize| measured.line(line)[direction] * factor(line, direction_deg);
                values.extend((0..lines).map(|line| of_line(line).re));
                values.extend((0..lines).map(|line| of_line(line).im));
            }
        }
        Self {
            azimuth_deg: columns.iter().map(|column| column.0).collect(),
            elevation_deg: rows.iter().map(|row| row.0).collect(),
            first_deg: measured.azimuth_deg[0],
            lines,
            values,
        }
    }

    /// Real and imaginary parts of all lines in a direction.
    pub(super) fn towards(&self, azimuth_deg: f64, elevation_deg: f64) -> [Vec<f64>; 2] {
        let turn_deg = (azimuth_deg - self.first_deg).rem_euclid(360.0);
        let columns = Stencil::of(&self.azimuth_deg, self.first_deg + turn_deg);
        let rows = Stencil::of(&self.elevation_deg, elevation_deg);
        let mut sum = vec![0.0; 2 * self.lines];
        for (row, of_row) in rows.points() {
            for (column, of_column) in columns.points() {
                let weight = of_row * of_column;
                let start = (row * self.azimuth_deg.len() + column) * 2 * self.lines;
                let values = &self.values[start..start + 2 * self.lines];
                for (sum, value) in sum.iter_mut().zip(values) {
                    *sum += weight * value;
                }
            }
        }
        let im = sum.split_off(self.lines);
        [sum, im]
    }
}

/// Azimuths with those a turn before and after, and whose column each is.
fn turned(azimuth_deg: &[f64]) -> Vec<(f64, usize)> {
    let last = azimuth_deg.len() - 1;
    // A grid that holds both ends of the turn names one direction twice.
    let twice = last > 0 && azimuth_deg[last] - azimuth_deg[0] >= 360.0;
    let count = azimuth_deg.len() - usize::from(twice);
    let (count, beyond) = (count as isize, BEYOND as isize);
    (-beyond..count + beyond)
        .map(|index| {
            let column = index.rem_euclid(count) as usize;
            let turns = index.div_euclid(count) as f64;
            (azimuth_deg[column] + 360.0 * turns, column)
        })
        .collect()
}

type Row = (f64, usize, Option<Vec<usize>>);

/// Elevations with those beyond the poles, where the opposite azimuths come down again: of each,
/// whose row it is, and for each column the opposite one.
fn over_the_poles(measured: &Measured) -> Vec<Row> {
    let elevation_deg = &measured.elevation_deg;
    let last = elevation_deg.len() - 1;
    let opposite = opposite(&measured.azimuth_deg);
    let mut rows: Vec<Row> = (0..=last)
        .map(|row| (elevation_deg[row], row, None))
        .collect();
    if opposite.is_some() && last >= BEYOND {
        if elevation_deg[0] == -90.0 {
            for (row, elevation_deg) in elevation_deg.iter().enumerate().take(BEYOND + 1).skip(1) {
                rows.insert(0, (-180.0 - elevation_deg, row, opposite.clone()));
            }
        }
        if elevation_deg[last] == 90.0 {
            for row in (last - BEYOND..last).rev() {
                rows.push((180.0 - elevation_deg[row], row, opposite.clone()));
            }
        }
    }
    rows
}

/// The column half a turn from each, where every one has such.
fn opposite(azimuth_deg: &[f64]) -> Option<Vec<usize>> {
    let half_a_turn_off = |from: f64| {
        azimuth_deg.iter().position(|&to| {
            let miss = (to - from - 180.0).rem_euclid(360.0);
            miss.min(360.0 - miss) < 1e-6
        })
    };
    azimuth_deg
        .iter()
        .map(|&from| half_a_turn_off(from))
        .collect()
}
