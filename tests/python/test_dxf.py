"""A venue's section is read from a drawing as it was drawn, or refused by name."""

from __future__ import annotations

import itertools
import json
import math
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import hangarc as ha
import pytest
from ezdxf import units
from ezdxf.layouts import Modelspace
from hangarc.demo import make
from outside import Kind, Outside, Source

SEATS: dict[str, dict[str, Any]] = {"SEATS": {"width_m": 20.0}}

Draw = Callable[[Modelspace], object]


@pytest.fixture
def drawn(tmp_path: Path) -> Callable[..., Path]:
    def save(draw: Draw, unit: int = units.M) -> Path:
        drawing = ezdxf.new("R2010")
        drawing.header["$INSUNITS"] = unit
        drawing.layers.add("SEATS")
        draw(drawing.modelspace())
        path = tmp_path / "hall.dxf"
        drawing.saveas(path)
        return path

    return save


def on_seats(**attributes: Any) -> dict[str, Any]:
    return {"layer": "SEATS", **attributes}


def profiles(venue: ha.Venue) -> list[Any]:
    return [area.profile_m for area in venue.areas]


def refusal(path: Path, layers: Any = SEATS, **options: Any) -> ha.InputError:
    with pytest.raises(ha.InputError) as caught:
        ha.io.dxf.read_venue(path, layers, **options)
    return caught.value


def test_the_demo_drawing_gives_the_demo_venue() -> None:
    venue = ha.demo.study().venue
    read = ha.io.dxf.read_venue(
        ha.demo.SECTION_DXF,
        ha.demo.section_layers(),
        name=venue.name,
        origin=ha.demo.ORIGIN_LAYER,
    )
    assert read == venue


def test_the_script_beside_the_demo_data_writes_what_is_kept(tmp_path: Path) -> None:
    make.write(tmp_path)
    written = ha.Study.from_json((tmp_path / ha.demo.STUDY_JSON.name).read_text("utf-8"))
    assert written == ha.demo.study()
    layers = json.loads((tmp_path / ha.demo.SECTION_LAYERS_JSON.name).read_text("utf-8"))
    assert layers == ha.demo.section_layers()
    sections = [
        ha.io.dxf.read_venue(path, ha.demo.section_layers(), origin=ha.demo.ORIGIN_LAYER)
        for path in (tmp_path / ha.demo.SECTION_DXF.name, ha.demo.SECTION_DXF)
    ]
    assert sections[0] == sections[1]


def test_the_script_writes_the_same_bytes_each_time(tmp_path: Path) -> None:
    written = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        folder.mkdir()
        script = (
            "from pathlib import Path; from hangarc.demo import make; "
            f"make.write(Path({str(folder)!r}))"
        )
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        subprocess.run([sys.executable, "-c", script], check=True, env=environment, timeout=60)
        written.append({file.name: file.read_bytes() for file in folder.iterdir()})
    assert len(written[0]) == 3
    assert written[0] == written[1]


def test_the_demo_hall_seats_about_2400() -> None:
    venue = ha.demo.study().venue
    assert len(ha.model.seat_counts(venue)) == 3
    assert ha.model.seat_count(venue) == sum(ha.model.seat_counts(venue))
    assert ha.model.seat_count(venue) == pytest.approx(2400, abs=50)


@pytest.mark.parametrize("unit", ["mm", "cm", "m"])
def test_a_written_section_reads_back_in_any_unit(unit: str, tmp_path: Path) -> None:
    venue = ha.demo.study().venue
    path = tmp_path / "section.dxf"
    ha.io.dxf.write_section(path, venue, unit=unit, origin=(3.5, -2.25))
    layers = {area.name: {"width_m": 10.0} for area in venue.areas}
    read = ha.io.dxf.read_venue(path, layers, origin="HANG")
    assert [area.name for area in read.areas] == [area.name for area in venue.areas]
    for got, want in zip(profiles(read), profiles(venue), strict=True):
        assert [x for c in got for x in c] == pytest.approx([x for c in want for x in c], abs=1e-12)


def test_lines_and_both_kinds_of_polyline_give_the_same_floor(
    drawn: Callable[..., Path],
) -> None:
    corners = [(10.0, 0.0), (20.0, 0.0), (30.0, 2.0)]

    def as_lines(space: Modelspace) -> None:
        space.add_line(corners[2], corners[1], dxfattribs=on_seats())
        space.add_line(corners[0], corners[1], dxfattribs=on_seats())

    ways: list[Draw] = [
        lambda space: space.add_lwpolyline(corners, dxfattribs=on_seats()),
        lambda space: space.add_polyline2d(corners, dxfattribs=on_seats()),
        lambda space: space.add_lwpolyline(corners[::-1], dxfattribs=on_seats()),
        as_lines,
    ]
    for draw in ways:
        assert profiles(ha.io.dxf.read_venue(drawn(draw), SEATS)) == [tuple(corners)]


def test_several_floor_lines_of_a_layer_are_numbered_from_the_hang(
    drawn: Callable[..., Path],
) -> None:
    def draw(space: Modelspace) -> None:
        space.add_line((30.0, 5.0), (40.0, 8.0), dxfattribs=on_seats())
        space.add_line((10.0, 0.0), (20.0, 1.0), dxfattribs=on_seats())

    venue = ha.io.dxf.read_venue(drawn(draw), {"seats": {"name": "Stand", "width_m": 20.0}})
    assert [area.name for area in venue.areas] == ["Stand 1", "Stand 2"]
    assert venue.areas[0].profile_m == ((10.0, 0.0), (20.0, 1.0))


def test_origin_direction_and_unit_turn_the_drawing_into_room_axes(
    drawn: Callable[..., Path],
) -> None:
    def draw(space: Modelspace) -> None:
        space.add_line((400.0, 100.0), (-600.0, 300.0), dxfattribs=on_seats())

    path = drawn(draw, units.CM)
    venue = ha.io.dxf.read_venue(path, SEATS, origin=(1400.0, 50.0), forward="left")
    assert profiles(venue) == [((10.0, 0.5), (20.0, 2.5))]
    venue = ha.io.dxf.read_venue(path, SEATS, unit_m=0.1)
    assert profiles(venue)[0][1] == pytest.approx((40.0, 10.0))


def test_inches_and_feet_are_read_from_the_header(drawn: Callable[..., Path]) -> None:
    # 1 in = 25.4 mm and 1 ft = 0.3048 m, exact by the international agreement of 1959; ezdxf holds
    # their inverses with ten digits.
    for unit, metres in [(units.IN, 0.0254), (units.FT, 0.3048)]:
        path = drawn(
            lambda space: space.add_line((100.0, 0.0), (500.0, 100.0), dxfattribs=on_seats()), unit
        )
        ((near, far),) = profiles(ha.io.dxf.read_venue(path, SEATS))
        assert near == pytest.approx((100.0 * metres, 0.0), rel=1e-10)
        assert far == pytest.approx((500.0 * metres, 100.0 * metres), rel=1e-10)


def test_a_section_drawn_upright_in_space_is_read_with_z_up(drawn: Callable[..., Path]) -> None:
    path = drawn(
        lambda space: space.add_polyline3d(
            [(10.0, 4.0, 0.0), (20.0, 4.0, 2.0)], dxfattribs=on_seats()
        )
    )
    assert profiles(ha.io.dxf.read_venue(path, SEATS, up="z")) == [((10.0, 0.0), (20.0, 2.0))]
    assert "leaves the plane" in refusal(path).allowed


def test_a_curve_is_refused_or_flattened_within_what_is_asked(
    drawn: Callable[..., Path], outside: Outside
) -> None:
    bulge = 0.2
    path = drawn(
        lambda space: space.add_lwpolyline(
            [(10.0, 0.0, bulge), (30.0, 0.0, 0.0)], format="xyb", dxfattribs=on_seats()
        )
    )
    error = refusal(path)
    assert error.field == "layers"
    assert "curved" in error.allowed

    (profile,) = profiles(ha.io.dxf.read_venue(path, SEATS, flatten_m=0.01))
    # The bulge is the tangent of a quarter of the arc's angle (DXF reference, LWPOLYLINE, 42).
    radius = 10.0 / math.sin(2.0 * math.atan(bulge))
    centre = (20.0, math.sqrt(radius**2 - 100.0))
    assert len(profile) > 3
    # A cubic Bezier curve leaves a quarter circle by 2.7e-4 of its radius, falling with the sixth
    # power of the angle; ezdxf draws this 45 degree arc with one: 2.7e-4 / 2**6 = 4.3e-6.
    outside.check(
        "files", "points of an arc read from a drawing: distance from its centre",
        Source("DXF reference, LWPOLYLINE, group 42: tangent of a quarter of the angle",
               Kind.DERIVED, f"ezdxf {ezdxf.__version__}, which wrote the drawing"),
        theirs=radius, ours=[math.hypot(x - centre[0], z - centre[1]) for x, z in profile],
        unit="m", relative=4.4e-6, why="ezdxf puts one Bézier curve for 45° of arc",
    )  # fmt: skip
    for (x0, z0), (x1, z1) in itertools.pairwise(profile):
        middle = math.hypot((x0 + x1) / 2 - centre[0], (z0 + z1) / 2 - centre[1])
        assert 0.0 < radius - middle <= 0.01


def test_a_missing_layer_lists_the_layers_there_are(drawn: Callable[..., Path]) -> None:
    path = drawn(lambda space: space.add_line((1, 0), (2, 0), dxfattribs={"layer": "WALLS"}))
    error = refusal(path, {"STALLS": {"width_m": 20.0}})
    assert (error.field, error.value) == ("layers", "STALLS")
    assert "SEATS" in error.allowed
    assert "WALLS" in error.allowed


def test_a_layer_without_lines_says_what_it_holds(drawn: Callable[..., Path]) -> None:
    assert "holds nothing" in refusal(drawn(lambda space: None)).allowed
    path = drawn(lambda space: space.add_text("row 1", dxfattribs=on_seats()))
    assert "holds 1 TEXT" in refusal(path).allowed


def closed(space: Modelspace) -> None:
    space.add_lwpolyline([(1, 0), (9, 0), (9, 3)], close=True, dxfattribs=on_seats())


def branching(space: Modelspace) -> None:
    for end in [(9, 0), (9, 3), (9, 6)]:
        space.add_line((1, 0), end, dxfattribs=on_seats())


def a_dot(space: Modelspace) -> None:
    space.add_line((1, 0), (1, 0), dxfattribs=on_seats())


@pytest.mark.parametrize(
    ("draw", "word"), [(closed, "open"), (branching, "branches"), (a_dot, "length")]
)
def test_lines_that_are_no_floor_are_refused(
    draw: Draw, word: str, drawn: Callable[..., Path]
) -> None:
    assert word in refusal(drawn(draw)).allowed


def test_a_drawing_without_a_unit_needs_one(drawn: Callable[..., Path]) -> None:
    for unit in (77, 0):
        path = drawn(lambda space: space.add_line((9, 0), (19, 0), dxfattribs=on_seats()), unit)
        assert refusal(path).field == "unit_m"
    assert profiles(ha.io.dxf.read_venue(path, SEATS, unit_m=1.0)) == [((9.0, 0.0), (19.0, 0.0))]


@pytest.mark.parametrize(
    ("options", "field"),
    [
        ({"forward": "up"}, "forward"),
        ({"up": "x"}, "up"),
        ({"unit_m": 0.0}, "unit_m"),
        ({"unit_m": math.nan}, "unit_m"),
        ({"flatten_m": -1.0}, "flatten_m"),
        ({"origin": "NOWHERE"}, "origin"),
        ({"origin": "SEATS"}, "origin"),
        ({"origin": (0.0,)}, "origin"),
        ({"origin": (0.0, math.inf)}, "origin[1]"),
        ({"layers": {}}, "layers"),
        ({"layers": {"SEATS": {}}}, "layers[SEATS].width_m"),
        ({"layers": {"SEATS": {"width_m": -1.0}}}, "layers[SEATS].width_m[0]"),
        ({"layers": {"SEATS": {"width_m": 1.0, "profile_m": []}}}, "layers[SEATS].profile_m"),
        ({"layers": {"SEATS": {"width_m": 1.0, "colour": "red"}}}, "layers[SEATS].colour"),
    ],
)
def test_each_bad_option_is_named(
    options: dict[str, Any], field: str, drawn: Callable[..., Path]
) -> None:
    path = drawn(lambda space: space.add_line((9, 0), (19, 0), dxfattribs=on_seats()))
    assert refusal(path, **options).field == field


@pytest.mark.parametrize("content", [None, b"", b"PK\x03\x04 not a drawing", b"\xff\xfe\x00"])
def test_a_file_that_is_no_drawing_is_named(content: bytes | None, tmp_path: Path) -> None:
    path = tmp_path / "hall.dxf"
    if content is not None:
        path.write_bytes(content)
    error = refusal(path)
    assert (error.field, error.value) == ("path", path)


def test_sections_are_written_only_with_a_layer_for_each_area(tmp_path: Path) -> None:
    venue = ha.demo.study().venue
    with pytest.raises(ha.InputError, match="layers"):
        ha.io.dxf.write_section(tmp_path / "x.dxf", venue, layers=["ONE"])
    with pytest.raises(ha.InputError, match="unit"):
        ha.io.dxf.write_section(tmp_path / "x.dxf", venue, unit="ell")
