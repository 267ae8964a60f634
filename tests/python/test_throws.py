"""Each cabinet's axis is followed to the seats it meets first."""

from __future__ import annotations

import math
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
import shapely
from outside import Outside, ran

FAR_M = 500.0


def met_by_shapely(pose: ha.statics.Pose, cabinet: int, venue: ha.Venue) -> tuple[float, Any]:
    """Nearest meeting of axis and lines of ears and floors by shapely's overlay of line strings."""
    front = pose.front_m[cabinet]
    axis = math.radians(pose.axis_deg[cabinet])
    ray = shapely.LineString([front, front + FAR_M * np.array([math.cos(axis), math.sin(axis)])])
    lines = {
        (area, raised): shapely.LineString(
            [(x, z + raised * seats.ear_height_m) for x, z in seats.profile_m]
        )
        for area, seats in enumerate(venue.areas)
        for raised in (True, False)
    }
    meetings = [
        (shapely.Point(front).distance(met), which)
        for which, line in lines.items()
        if not (met := ray.intersection(line)).is_empty
    ]
    return min(meetings, default=(math.inf, (None, None)))


def test_throws_in_the_demo_hall_are_those_of_a_geometry_library(outside: Outside) -> None:
    study = ha.demo.study()
    venue = study.venue
    positions = study.hang.cabinets[0].splay_positions_deg["compression"]
    random = np.random.default_rng(1)
    missed = blocked = 0
    theirs, ours = [], []
    for _ in range(40):
        hang = ha.Hang.from_dict(
            {**study.hang.to_dict(), "splays_deg": random.choice(positions, 11).tolist()}
        )
        tilt_deg, top_m = random.uniform(-8, 8), random.uniform(8, 14)
        pose = ha.pose(hang, tilt_deg, top_m)
        for cabinet, throw in enumerate(ha.throws(hang, tilt_deg, top_m, venue)):
            length_m, (area, ears) = met_by_shapely(pose, cabinet, venue)
            if throw is None:
                assert area is None
                missed += 1
                continue
            theirs.append(length_m)
            ours.append(throw.length_m)
            if ears:
                assert (throw.area, throw.surface) == (area, None)
            else:
                blocked += 1
                name = f"floor of {venue.areas[area].name}"
                assert (throw.area, throw.surface) == (None, name)
            assert np.hypot(*(throw.point_m - pose.front_m[cabinet])) == pytest.approx(length_m)
    assert len(ours) > 200
    outside.check(
        "axes and lines of sight",
        "from each cabinet to where its axis meets seats or a floor, 40 hangs in the demo hall",
        ran("shapely", "overlay of a ray and the lines of ears and floors by shapely"),
        theirs=theirs, ours=ours, unit="m", relative=1e-9, why="rounding of the overlay",
    )  # fmt: skip
    assert missed > 15
    assert blocked > 5


def test_a_level_floor_is_met_where_the_tangent_says() -> None:
    venue = builders.venue(areas=[builders.area(profile_m=[(1.0, 0.0), (60.0, 0.0)])])
    hang = builders.hang([5.0, 5.0])
    pose = ha.pose(hang, -10.0, 9.0)
    for cabinet, throw in enumerate(ha.throws(hang, -10.0, 9.0, venue)):
        assert throw is not None
        drop_m = pose.front_m[cabinet, 1] - 1.2
        reach_m = drop_m / math.tan(math.radians(10.0 + 5.0 * cabinet))
        assert throw.point_m == pytest.approx([pose.front_m[cabinet, 0] + reach_m, 1.2], rel=1e-12)


def test_a_wall_before_the_seats_is_met_first() -> None:
    wall = ha.Surface(name="screen", profile_m=[(20.0, 0.0), (20.0, 30.0)])
    venue = builders.venue(
        areas=[builders.area(profile_m=[(25.0, 0.0), (60.0, 0.0)])], surfaces=[wall]
    )
    hang = builders.hang([5.0, 5.0])
    for throw in ha.throws(hang, -10.0, 9.0, venue):
        assert throw is not None
        assert (throw.area, throw.surface) == (None, "screen")
        assert throw.point_m[0] == pytest.approx(20.0)


def test_an_axis_aimed_at_the_sky_meets_no_seats() -> None:
    assert ha.throws(builders.hang([]), 20.0, 9.0, builders.venue()) == [None]


@pytest.mark.parametrize(("tilt_deg", "top_m"), [(math.nan, 9.0), (91.0, 9.0), (0.0, math.inf)])
def test_bad_angles_and_heights_are_refused(tilt_deg: float, top_m: float) -> None:
    with pytest.raises(ha.InputError):
        ha.throws(builders.hang([]), tilt_deg, top_m, builders.venue())
