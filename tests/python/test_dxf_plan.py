"""Outlines of seats from a floor plan, beside the section that says how their floor rises."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import builders
import ezdxf
import hangarc as ha
import numpy as np
import pytest
from ezdxf import units
from ezdxf.layouts import Modelspace
from matplotlib.path import Path as Outline

CORNERS = [(8.0, -6.0), (30.0, -14.0), (30.0, 14.0), (8.0, 6.0)]

Drawn = Callable[[Callable[[Modelspace], object]], Path]


@pytest.fixture
def plan(tmp_path: Path) -> Drawn:
    def save(draw: Callable[[Modelspace], object]) -> Path:
        drawing = ezdxf.new("R2010")
        drawing.header["$INSUNITS"] = units.M
        drawing.layers.add("STALLS")
        draw(drawing.modelspace())
        drawing.saveas(tmp_path / "plan.dxf")
        return tmp_path / "plan.dxf"

    return save


def polyline(space: Modelspace) -> object:
    return space.add_lwpolyline(CORNERS, close=True, dxfattribs={"layer": "STALLS"})


def lines(space: Modelspace) -> None:
    for start, end in zip(CORNERS, [*CORNERS[1:], CORNERS[0]], strict=True):
        space.add_line(start, end, dxfattribs={"layer": "STALLS"})


@pytest.mark.parametrize("draw", [polyline, lines])
def test_a_fan_is_read_by_its_outline_and_its_seats_lie_within(
    plan: Drawn, draw: Callable[[Modelspace], object]
) -> None:
    venue = builders.venue(areas=[builders.area(places_across=9)])
    read = ha.io.dxf.with_plan(venue, plan(draw), {"STALLS": "stalls"})
    (area,) = read.areas
    assert sorted(map(tuple, area.outline_m)) == sorted(CORNERS)
    assert area.width_m == ()
    rig = ha.Rig(hangs=[ha.Placed(hang=builders.hang([1.0]), tilt_deg=0.0, top_m=8.0)])
    levels = ha.acoustics.seat_levels(rig, venue=read)
    # Against matplotlib's test of points in polygons.
    assert Outline(CORNERS).contains_points(levels.position_m[:, :2]).all()
    # The places stand for the outline's area: the shoelace formula gives 440 m².
    x, y = np.array(CORNERS).T
    shoelace_m2 = 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    assert levels.weight.sum() == pytest.approx(shoelace_m2, rel=0.03)


def test_units_origin_and_direction_turn_the_plan_into_the_room(plan: Drawn) -> None:
    turned = [(1000.0 * (2.0 - x), 1000.0 * (3.0 - y)) for x, y in CORNERS]
    path = plan(
        lambda space: space.add_lwpolyline(turned, close=True, dxfattribs={"layer": "STALLS"})
    )
    options = {"unit_m": 0.001, "origin": (2000.0, 3000.0), "forward": "left"}
    read = ha.io.dxf.with_plan(builders.venue(), path, {"STALLS": "stalls"}, **options)
    np.testing.assert_allclose(read.areas[0].outline_m, CORNERS)


def test_what_is_no_outline_is_refused_by_name(plan: Drawn) -> None:
    venue = builders.venue()
    layer = {"layer": "STALLS"}
    for draw, allowed in [
        (lambda space: space.add_lwpolyline(CORNERS, dxfattribs=layer), "one closed line"),
        (lambda space: space.add_text("stalls", dxfattribs=layer), "one closed line"),
        (lambda space: space.add_circle((20, 0), 5.0, dxfattribs=layer), "flatten_m"),
    ]:
        with pytest.raises(ha.InputError, match=allowed):
            ha.io.dxf.with_plan(venue, plan(draw), {"STALLS": "stalls"})
    with pytest.raises(ha.InputError, match="balcony"):
        ha.io.dxf.with_plan(venue, plan(polyline), {"STALLS": "balcony"})
    with pytest.raises(ha.InputError, match="layers"):
        ha.io.dxf.with_plan(venue, plan(polyline), {"BALCONY": "stalls"})
    bow_tie = [CORNERS[0], CORNERS[2], CORNERS[1], CORNERS[3]]
    crossed = plan(lambda space: space.add_lwpolyline(bow_tie, close=True, dxfattribs=layer))
    with pytest.raises(ha.InputError, match="does not cross itself"):
        ha.io.dxf.with_plan(venue, crossed, {"STALLS": "stalls"})
