//! Where people sit.

use super::facet::crossing_sides;
use super::rows::{Row, twice_area_m2};
use super::{Check, Point, Surface, check_parts, check_point};
use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// More rows in one block are taken for a slip of the pen.
const MOST_ROWS: f64 = 100_000.0;

/// More places in one venue likewise; each takes some hundred bytes and a field of its own.
const MOST_PLACES: usize = 2_000_000;

/// More places in one row likewise.
const MOST_PLACES_ACROSS: u32 = 1_000;

/// The audience areas of a room and what blocks sound in it, in room axes with x = 0 under the hang.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Venue {
    /// Name printed on sheets.
    pub name: String,
    /// Audience areas.
    pub areas: Vec<SeatArea>,
    /// Walls, balcony fronts, ceilings, a stage; with the floors under the seats they block sound.
    #[serde(default)]
    pub surfaces: Vec<Surface>,
    /// Whether the floors under the seats block sound.
    #[serde(default = "default_floors_block")]
    pub floors_block: bool,
    /// What becomes, in measures, of seats that no cabinet sees.
    #[serde(default)]
    pub hidden_seats: HiddenSeats,
}

/// What becomes, in measures, of seats that no cabinet sees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum HiddenSeats {
    /// They count with what bends round the edges to them.
    #[default]
    #[serde(rename = "keep")]
    Keep,
    /// They are listed but do not count.
    #[serde(rename = "leave out")]
    LeaveOut,
}

fn default_floors_block() -> bool {
    true
}

/// A block of seats: its floor line in the vertical section, and on the floor plan its width along
/// that line or its outline. Rows are straight, or arcs about a centre.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SeatArea {
    /// Name printed on sheets.
    pub name: String,
    /// Floor line in the section, `[x, z]` of each corner, in order.
    pub profile_m: Vec<Point>,
    /// Width of the block at each corner of the floor line, along its rows; empty with an outline.
    #[serde(default)]
    pub width_m: Vec<f64>,
    /// Corners `[x, y]` on the floor plan, in order; empty with widths. Only the floor inside it
    /// has seats.
    #[serde(default)]
    pub outline_m: Vec<Point>,
    /// The rows are arcs about the vertical line through x here and y = 0.
    #[serde(default)]
    pub row_centre_x_m: Option<f64>,
    /// Ears above the floor.
    #[serde(default = "default_ear_height_m")]
    pub ear_height_m: f64,
    /// Distance between rows, along the floor line.
    #[serde(default = "default_row_pitch_m")]
    pub row_pitch_m: f64,
    /// Distance between seats within a row; counts seats.
    #[serde(default = "default_seat_pitch_m")]
    pub seat_pitch_m: f64,
    /// Places calculated across each row, spread evenly over the width; 1 is the middle.
    #[serde(default = "default_places_across")]
    pub places_across: u32,
    /// How much a square metre of this block counts in measures.
    #[serde(default = "default_weight")]
    pub weight: f64,
}

/// Seated ear height, 1.2 m (ISO 3382-1:2009, 4.2.2; from memory).
fn default_ear_height_m() -> f64 {
    1.2
}

/// Common practice, no source.
fn default_row_pitch_m() -> f64 {
    0.9
}

/// Common practice, no source.
fn default_seat_pitch_m() -> f64 {
    0.55
}

fn default_places_across() -> u32 {
    1
}

fn default_weight() -> f64 {
    1.0
}

/// One place at which the field is calculated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seat {
    /// Ears, `[x, y, z]` in room axes.
    pub ear_m: [f64; 3],
    /// Floor area it stands for, times the weight of its block.
    pub weight: f64,
    /// Index of its block.
    pub area: usize,
    /// Where its row lies on the floor line, counted in corners: 1.5 is half way from corner 1 to
    /// corner 2.
    pub corner: f64,
}

impl Venue {
    /// The places at which the field is calculated: for each row, `places_across` of them.
    #[must_use]
    pub fn seats(&self) -> Vec<Seat> {
        let mut seats = Vec::new();
        for (index, area) in self.areas.iter().enumerate() {
            area.add_seats(index, &mut seats);
        }
        seats
    }
}

impl SeatArea {
    /// Number of seats: the rows' lengths over the distance between seats, rounded down stretch by
    /// stretch.
    #[must_use]
    pub fn seat_count(&self) -> usize {
        self.rows()
            .iter()
            .flat_map(|row| &row.stretches)
            .map(|stretch| (stretch.length_m / self.seat_pitch_m + 1e-9).floor() as usize)
            .sum()
    }

    /// Ears over the corners of the floor line, `[x, z]`.
    pub fn ear_line_m(&self) -> impl Iterator<Item = Point> + '_ {
        let corners = self.profile_m.iter();
        corners.map(|[x, z]| [*x, z + self.ear_height_m])
    }

    fn floor_length_m(&self) -> f64 {
        self.profile_m
            .windows(2)
            .map(|ends| (ends[1][0] - ends[0][0]).hypot(ends[1][1] - ends[0][1]))
            .sum()
    }

    /// The rows that people sit on.
    fn rows(&self) -> Vec<Row> {
        let mut rows = Vec::new();
        // Distance from the last row to the corner at hand; the first row stands half a pitch in.
        let mut ahead_m = self.row_pitch_m / 2.0;
        for (piece, corners) in self.profile_m.windows(2).enumerate() {
            let [from, to] = [corners[0], corners[1]];
            let length_m = (to[0] - from[0]).hypot(to[1] - from[1]);
            while ahead_m < length_m {
                let t = ahead_m / length_m;
                let floor_m = [
                    from[0] + t * (to[0] - from[0]),
                    from[1] + t * (to[1] - from[1]),
                ];
                let radius_m = self.row_centre_x_m.map(|centre| floor_m[0] - centre);
                let row = match self.width_m.get(piece..piece + 2) {
                    Some(widths) => {
                        let width_m = widths[0] + t * (widths[1] - widths[0]);
                        Row::of_width(floor_m, radius_m, width_m)
                    }
                    None => Row::within(floor_m, radius_m, &self.outline_m),
                };
                let corner = piece as f64 + t;
                rows.push(Row { corner, ..row });
                ahead_m += self.row_pitch_m;
            }
            ahead_m -= length_m;
        }
        rows.retain(|row| !row.stretches.is_empty());
        rows
    }

    fn add_seats(&self, area: usize, seats: &mut Vec<Seat>) {
        let across = f64::from(self.places_across);
        for row in self.rows() {
            let weight = self.weight * self.row_pitch_m * row.length_m() / across;
            for place in 0..self.places_across {
                let [x_m, y_m] = row.plan_m(row.along_m((f64::from(place) + 0.5) / across));
                seats.push(Seat {
                    ear_m: [x_m, y_m, row.floor_m[1] + self.ear_height_m],
                    weight,
                    area,
                    corner: row.corner,
                });
            }
        }
    }

    fn check_plan(&self) -> Result<()> {
        if self.outline_m.is_empty() {
            accept(
                self.width_m.len() == self.profile_m.len(),
                "width_m",
                format!("{:?}", self.width_m),
                format!("{} widths, one for each corner", self.profile_m.len()),
            )?;
            each("width_m", &self.width_m, positive)?;
        } else {
            accept(
                self.width_m.is_empty(),
                "width_m",
                format!("{:?}", self.width_m),
                "left out where an outline is given",
            )?;
            for (index, &corner) in self.outline_m.iter().enumerate() {
                check_point(&format!("outline_m[{index}]"), corner)?;
            }
            accept(
                self.outline_m.len() >= 3 && twice_area_m2(&self.outline_m) != 0.0,
                "outline_m",
                format!("{:?}", self.outline_m),
                "at least three corners about an area",
            )?;
            if crossing_sides(&self.outline_m).is_some() {
                return Err(InputError::new(
                    "outline_m",
                    format!("{:?}", self.outline_m),
                    "an outline that does not cross itself",
                ));
            }
        }
        let Some(centre) = self.row_centre_x_m else {
            return Ok(());
        };
        finite("row_centre_x_m", centre)?;
        let radii_m: Vec<f64> = self.profile_m.iter().map(|[x, _]| x - centre).collect();
        accept(
            radii_m.iter().all(|radius| *radius > 0.0)
                || radii_m.iter().all(|radius| *radius < 0.0),
            "row_centre_x_m",
            centre,
            "before the floor line or behind it",
        )?;
        for (index, (width_m, radius_m)) in self.width_m.iter().zip(&radii_m).enumerate() {
            let around_m = 2.0 * PI * radius_m.abs();
            accept(
                *width_m <= around_m,
                &format!("width_m[{index}]"),
                width_m,
                format!("at most the full circle, {around_m}"),
            )?;
        }
        Ok(())
    }
}

impl Check for Venue {
    fn check(&self) -> Result<()> {
        if self.areas.is_empty() {
            return Err(InputError::new("areas", "[]", "at least one seat area"));
        }
        check_parts("areas", &self.areas)?;
        let mut places = 0;
        for (index, area) in self.areas.iter().enumerate() {
            places += area.rows().len() * area.places_across as usize;
            accept(
                places <= MOST_PLACES,
                &format!("areas[{index}].places_across"),
                area.places_across,
                format_args!("few enough that the venue has at most {MOST_PLACES} places"),
            )?;
            if area.rows().is_empty() && !area.outline_m.is_empty() {
                return Err(InputError::new(
                    &format!("areas[{index}].outline_m"),
                    format!("{:?}", area.outline_m),
                    "an outline that a row of the floor line crosses",
                ));
            }
            if area.rows().is_empty() {
                return Err(InputError::new(
                    &format!("areas[{index}].profile_m"),
                    format!("{:?}", area.profile_m),
                    format!("long enough for a row, {} m", area.row_pitch_m / 2.0),
                ));
            }
        }
        accept(
            self.areas.iter().any(|area| area.weight > 0.0),
            "areas[0].weight",
            self.areas[0].weight,
            "above 0 in at least one area",
        )?;
        check_parts("surfaces", &self.surfaces)?;
        self.check_roofs()
    }
}

impl Check for SeatArea {
    fn check(&self) -> Result<()> {
        accept(
            self.profile_m.len() >= 2,
            "profile_m",
            format!("{:?}", self.profile_m),
            "at least two corners",
        )?;
        for (index, &corner) in self.profile_m.iter().enumerate() {
            check_point(&format!("profile_m[{index}]"), corner)?;
        }
        self.check_plan()?;
        non_negative("ear_height_m", self.ear_height_m)?;
        positive("row_pitch_m", self.row_pitch_m)?;
        let floor_m = self.floor_length_m();
        accept(
            floor_m / self.row_pitch_m <= MOST_ROWS,
            "row_pitch_m",
            self.row_pitch_m,
            format!(
                "at least {} for a floor of {floor_m} m",
                floor_m / MOST_ROWS
            ),
        )?;
        positive("seat_pitch_m", self.seat_pitch_m)?;
        accept(
            (1..=MOST_PLACES_ACROSS).contains(&self.places_across),
            "places_across",
            self.places_across,
            format_args!("a whole number from 1 to {MOST_PLACES_ACROSS}"),
        )?;
        non_negative("weight", self.weight)?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block() -> SeatArea {
        SeatArea {
            name: "stalls".into(),
            profile_m: vec![[10.0, 0.0], [19.0, 0.0]],
            width_m: vec![11.0, 11.0],
            outline_m: Vec::new(),
            row_centre_x_m: None,
            ear_height_m: 1.2,
            row_pitch_m: 0.9,
            seat_pitch_m: 0.55,
            places_across: 2,
            weight: 1.0,
        }
    }

    #[test]
    fn weights_of_a_flat_block_add_up_to_its_floor_area() {
        let venue = Venue {
            name: "flat".into(),
            areas: vec![block()],
            surfaces: Vec::new(),
            floors_block: true,
            hidden_seats: HiddenSeats::Keep,
        };
        let seats = venue.seats();
        let area: f64 = seats.iter().map(|seat| seat.weight).sum();
        assert_eq!(seats.len(), 20);
        approx::assert_relative_eq!(area, 99.0, max_relative = 1e-12);
        assert_eq!(venue.areas[0].seat_count(), 200);
    }

    #[test]
    fn rows_keep_their_pitch_round_a_corner() {
        let mut bent = block();
        bent.profile_m = vec![[10.0, 0.0], [12.0, 0.0], [12.0, 3.0]];
        bent.width_m = vec![11.0; 3];
        let rows = bent.rows();
        assert_eq!(rows.len(), 6);
        approx::assert_relative_eq!(rows[2].floor_m[1], 0.25, max_relative = 1e-12);
    }
}
