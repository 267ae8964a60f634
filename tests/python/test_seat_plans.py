"""Seat grids from outlines on the floor plan and in arcs, against shapely."""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
import shapely
from outside import Outside, ran

# A side block of the stalls with a corner cut off, and a horseshoe balcony's end.
SIDE = [(10.0, 4.0), (24.0, 6.0), (27.0, 15.0), (18.0, 15.0), (10.0, 9.0)]
HORSESHOE = [(6.0, -14.0), (28.0, -14.0), (28.0, 14.0), (6.0, 14.0), (6.0, 10.0)]
HORSESHOE += [(22.0, 10.0), (22.0, -10.0), (6.0, -10.0)]


def seats(**area: Any) -> tuple[np.ndarray, np.ndarray, ha.Venue]:
    fine = {"row_pitch_m": 0.05, "places_across": 60, "profile_m": [(0.0, 0.0), (40.0, 0.0)]}
    venue = builders.venue(areas=[ha.SeatArea(name="demo data", **{**fine, **area})])
    cabinet = builders.cabinet(source=ha.Source(elements=[ha.LineElement(height_m=0.01)]))
    levels = ha.seat_levels(
        builders.hang([], cabinets=[cabinet]), 0.0, 9.0, venue, lines_per_band=1
    )
    return levels.position_m, levels.weight, venue


@pytest.mark.parametrize("outline", [SIDE, HORSESHOE], ids=["side block", "horseshoe"])
@pytest.mark.parametrize("centre_x_m", [None, -3.0, 60.0])
def test_seats_fill_their_outline(
    outline: list, centre_x_m: float | None, outside: Outside
) -> None:
    position, weight, _ = seats(outline_m=outline, row_centre_x_m=centre_x_m)
    shape = shapely.Polygon(outline)
    inside = shapely.contains_xy(shape.buffer(1e-9), position[:, 0], position[:, 1])
    assert inside.all()
    # Rows 5 cm apart integrate area and centroid by the midpoint rule.
    source = ran("shapely", "area and centroid of a polygon by shapely")
    why = "rows 5 cm apart stand for the area"
    outside.check(
        "seat plans", "area of a block and of a horseshoe, straight rows and arcs", source,
        theirs=shape.area, ours=weight.sum(), unit="m²", relative=2e-3, why=why,
    )  # fmt: skip
    outside.check(
        "seat plans", "the same: middle of the area", source,
        theirs=[shape.centroid.x, shape.centroid.y],
        ours=np.average(position[:, :2], axis=0, weights=weight), unit="m", within=0.02, why=why,
    )  # fmt: skip


def test_the_length_of_each_row_is_shapelys(outside: Outside) -> None:
    position, weight, _ = seats(outline_m=SIDE, row_pitch_m=0.9, places_across=5)
    for x in np.unique(position[:, 0]):
        across = shapely.LineString([(x, -50), (x, 50)])
        expected = shapely.intersection(across, shapely.Polygon(SIDE)).length
        outside.check(
            "seat plans", "length of each row within an outline",
            ran("shapely", "intersection of a line and a polygon by shapely"),
            theirs=0.9 * expected, ours=weight[position[:, 0] == x].sum(), unit="m²",
            relative=1e-12, why="rounding",
        )  # fmt: skip


def test_arcs_keep_their_distance_and_rise_with_it() -> None:
    rake = [(9.0, 0.0), (25.0, 4.0)]
    position, weight, _ = seats(
        profile_m=rake, width_m=[12.0, 30.0], row_centre_x_m=-2.0, row_pitch_m=0.9, places_across=9
    )
    radius = np.hypot(position[:, 0] + 2.0, position[:, 1])
    np.testing.assert_allclose(position[:, 2], 1.2 + (radius - 11.0) / 4, atol=1e-9)
    rows = radius.reshape(-1, 9)
    np.testing.assert_allclose(rows, rows[:, :1] + np.zeros(9), rtol=1e-12)
    width_m = 12.0 + 18.0 * (np.arange(18) + 0.5) * 0.9 / np.hypot(16, 4)
    np.testing.assert_allclose(weight.reshape(-1, 9).sum(axis=1), 0.9 * width_m, rtol=1e-12)
    straight, same_weight, _ = seats(
        profile_m=rake, width_m=[12.0, 30.0], row_pitch_m=0.9, places_across=9
    )
    np.testing.assert_array_equal(weight, same_weight)
    middle = slice(4, None, 9)
    np.testing.assert_allclose(position[middle], straight[middle], atol=1e-12)


def test_the_seats_of_an_outline_are_counted_stretch_by_stretch() -> None:
    _, _, venue = seats(
        outline_m=HORSESHOE, profile_m=[(6.0, 5.0), (28.0, 5.0)], row_pitch_m=1.0, seat_pitch_m=0.5
    )
    # 16 rows of two arms of 4 m, 6 rows of 28 m.
    assert ha.model.seat_count(venue) == 16 * 2 * 8 + 6 * 56
    assert ha.Venue.from_json(venue.to_json()) == venue


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("width_m", {}),
        ("width_m", {"width_m": 4.0, "outline_m": SIDE}),
        ("outline_m", {"outline_m": SIDE[:2]}),
        ("outline_m", {"outline_m": [(0, 0), (1, 1), (2, 2)]}),
        ("outline_m[1][1]", {"outline_m": [(0, 0), (1, np.nan), (2, 0)]}),
        ("row_centre_x_m", {"width_m": 4.0, "row_centre_x_m": 20.0}),
        ("row_centre_x_m", {"width_m": 4.0, "row_centre_x_m": np.inf}),
        ("width_m[0]", {"width_m": 7.0, "row_centre_x_m": -1.0}),
    ],
)
def test_bad_plans_are_refused_by_name(field: str, changes: dict) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.SeatArea(name="demo data", profile_m=[(0.0, 0.0), (40.0, 0.0)], **changes)
    assert caught.value.field == field


def test_an_outline_that_no_row_meets_is_refused() -> None:
    area = ha.SeatArea(
        name="demo data", profile_m=[(0, 0), (40, 0)], outline_m=[(50, 0), (60, 0), (60, 5)]
    )
    with pytest.raises(ha.InputError) as caught:
        builders.venue(areas=[area])
    assert caught.value.field == "areas[0].outline_m"
