"""An axis that meets no seat says where it goes instead."""

from __future__ import annotations

import dataclasses
import math

import builders
import hangarc as ha
import numpy as np
import pytest
import shapely
from outside import Outside, ran


def reasons(tilt_deg: float, top_m: float, venue: ha.Venue) -> list[str | None]:
    """Why each axis of a straight hang of three meets no seat."""
    found = ha.acoustics.axes_off_seats(builders.hang([0.0, 0.0]), tilt_deg, top_m, venue)
    return [None if axis is None else axis.reason(venue) for axis in found]


def block(name: str, *profile_m: tuple[float, float]) -> ha.SeatArea:
    return ha.SeatArea(name=name, profile_m=profile_m, width_m=20.0)


HALL = ha.Venue(
    name="hall (demo data)",
    areas=[
        block("Stalls", (8.0, 0.0), (24.0, 0.0)),
        block("Balcony", (20.0, 6.0), (30.0, 10.0)),
    ],
)


@pytest.mark.parametrize(
    ("tilt_deg", "reason"),
    [
        (30.0, "over the last row of Balcony"),
        (-12.0, "between the last row of Stalls and the first row of Balcony"),
        (-80.0, "short of the first row of Stalls"),
        (-30.0, None),
        (-2.0, None),
    ],
)
def test_the_reason_names_the_seats_that_the_axis_passes_by(
    tilt_deg: float, reason: str | None
) -> None:
    assert reasons(tilt_deg, 9.0, HALL) == [reason] * 3


def test_a_balcony_seen_from_below_is_passed_over_its_first_row() -> None:
    # From 2 m its ears rise by 18° to the first row at 5 m, and by 13° to the last at 9 m.
    low = ha.Venue(name="low (demo data)", areas=[block("Balcony", (12.0, 4.8), (40.0, 9.8))])
    assert reasons(25.0, 2.0, low) == ["over the first row of Balcony"] * 3
    assert reasons(0.0, 2.0, low) == ["below the last row of Balcony"] * 3


def test_a_block_behind_the_hang_is_below_an_axis_that_aims_down_in_front_of_it() -> None:
    behind = ha.Venue(
        name="behind (demo data)",
        areas=[
            block("Behind", (-20.0, 0.0), (-5.0, 0.0)),
            block("Stalls", (8.0, 0.0), (24.0, 0.0)),
        ],
    )
    between = "between the first row of Behind and the first row of Stalls"
    assert reasons(-80.0, 9.0, behind) == [between] * 3


def test_the_angle_off_the_seats_is_that_to_the_ears_of_that_row() -> None:
    hang = builders.hang([0.0, 0.0])
    placed = ha.pose(hang, 30.0, 9.0)
    for front_m, axis in zip(
        placed.front_m, ha.acoustics.axes_off_seats(hang, 30.0, 9.0, HALL), strict=True
    ):
        assert axis is not None
        assert axis.over is not None
        assert axis.under is None
        rise_m = 10.0 + HALL.areas[1].ear_height_m - front_m[1]
        to_row_deg = math.degrees(math.atan2(rise_m, 30.0 - front_m[0]))
        assert (axis.over.area, axis.over.row) == (1, "last")
        assert axis.over.off_deg == pytest.approx(30.0 - to_row_deg, rel=1e-12)


def test_turned_by_the_angle_it_is_off_an_axis_meets_the_seats(outside: Outside) -> None:
    """By shapely's overlay: a ray turned a hair more than `off_deg` meets that block, else not."""
    study = ha.demo.study()
    positions = study.hang.cabinets[0].splay_positions_deg["compression"]
    random = np.random.default_rng(3)
    ears = [
        shapely.LineString([(x, z + area.ear_height_m) for x, z in area.profile_m])
        for area in study.venue.areas
    ]
    theirs, ours = [], []
    for _ in range(20):
        hang = dataclasses.replace(study.hang, splays_deg=random.choice(positions, 11).tolist())
        tilt_deg, top_m = random.uniform(-8.0, 8.0), random.uniform(8.0, 14.0)
        placed = ha.pose(hang, tilt_deg, top_m)
        found = ha.acoustics.axes_off_seats(hang, tilt_deg, top_m, study.venue)
        met = ha.throws(hang, tilt_deg, top_m, study.venue)
        assert [axis is None for axis in found] == [
            throw is not None and throw.area is not None for throw in met
        ]
        for front_m, axis_deg, axis in zip(placed.front_m, placed.axis_deg, found, strict=True):
            for edge, turn in ((axis.over, -1.0), (axis.under, 1.0)) if axis else ():
                if edge is None:
                    continue
                for more_deg, meets in ((1e-6, True), (-1e-6, False)):
                    at = math.radians(axis_deg + turn * (edge.off_deg + more_deg))
                    end_m = front_m + 500.0 * np.array([math.cos(at), math.sin(at)])
                    ray = shapely.LineString([front_m, end_m])
                    theirs.append(ray.intersects(ears[edge.area]))
                    ours.append(meets)
    assert len(ours) > 100
    outside.check(
        "axes and lines of sight",
        "axes off the seats, turned by a millionth of a degree more and less: do they meet them?",
        ran("shapely", "overlay of a ray and the line of ears by shapely"),
        theirs=theirs, ours=ours, unit="yes or no", within=0.5, why="none: half of yes or no",
    )  # fmt: skip
