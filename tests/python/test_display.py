"""Results show themselves in a notebook, and become tables of other libraries."""

from __future__ import annotations

import dataclasses
import re
import subprocess
import sys
from collections.abc import Callable
from html.parser import HTMLParser
from typing import Any
from urllib.parse import unquote
from xml.etree import ElementTree

import builders
import hangarc as ha
import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest
import xarray as xr

FOUR = builders.hang([1.0, 2.0, 2.0])
CLOSED = builders.hang([1.0] * 3, "compression", gear=builders.gear())
VENUE = builders.venue(areas=[builders.area(profile_m=[(8.0, 0.0), (14.0, 0.0)], width_m=6.0)])


def _compared(axes: list[int]) -> ha.survey.PlanComparison:
    at_deg = ha.pose(FOUR, -2.0).axis_deg
    read = [ha.survey.AngleReading(axis, float(at_deg[axis]), 0.1) for axis in axes]
    return ha.survey.compare_with_plan(FOUR, -2.0, read)


def _system() -> ha.search.SystemResult:
    study = dataclasses.replace(ha.demo.study(cabinets=2), lines_per_band=1)
    return ha.search.optimise_system(ha.search.System(name="one", hangs=[study]), rounds=1)


# Types and results that people read, each with a word that its table holds.
READ: dict[str, tuple[Callable[[], Any], str]] = {
    "hang": (lambda: FOUR, "pick holes"),
    "cabinet": (builders.cabinet, "rear pin x, m"),
    "fly frame": (lambda: FOUR.frame, "chain anchor, m"),
    "placed": (lambda: ha.Placed(hang=FOUR, tilt_deg=-2.0, top_m=8.0), "pan, °"),
    "pull back": (
        lambda: ha.statics.pull_back(FOUR, 0.0, -0.5, (9.0, -1.2), attach_m=(-0.5, -0.3)),
        "hoist load, N",
    ),
    "venue": (lambda: VENUE, "seats"),
    "study": (builders.study, "steps of"),
    "pose": (lambda: ha.pose(FOUR, -2.0), "trim, m"),
    "closing": (lambda: ha.close(CLOSED, 0.0), "contacts on the way"),
    "answer": (lambda: ha.evaluate(builders.study()), "hoists"),
    "search": (lambda: ha.evaluate(builders.study()).search, "margins"),
    "hoists": (lambda: ha.hoist_loads(FOUR, 0.0, [0.2, -0.8]), "load, N"),
    "joints": (lambda: ha.joint_loads(FOUR, 0.0), "rear link, N"),
    "bridle": (
        lambda: ha.bridle([(0.0, 9.0), (4.0, 9.5)], apex_m=(1.5, 6.0), load_n=9e3),
        "force, N",
    ),
    "bridle in space": (
        lambda: ha.bridle(
            [(-3.0, -4.0, 8.0), (-3.0, 4.0, 8.0), (5.0, 0.0, 1.0)],
            apex_m=(0.0, 0.0, 0.0),
            load_n=4e3,
        ),
        "from plumb, °",
    ),
    "beam": (lambda: ha.beam(9.0, [0.0, 4.0, 9.0], [(2.0, 3e3)], ei_nm2=5e6), "reaction, N"),
    "rigid hang": (
        lambda: ha.rigid_hang([[0, 0], [2, 0], [2, 2], [0, 2]], (1, 1), 12e3, 4e5),
        "load, N",
    ),
    "wind": (
        lambda: ha.wind_loads(FOUR, -2.0, [0.2, -0.8], ha.Wind(speed_m_s=9.0), top_m=9.0),
        "line, °",
    ),
    "levels": (lambda: ha.seat_levels(FOUR, -2.0, 8.0, VENUE), "band level, dB"),
    "rig": (
        lambda: ha.Rig(hangs=[ha.Placed(hang=FOUR, tilt_deg=-2.0, top_m=8.0, pan_deg=130.0)]),
        "floor reflection",
    ),
    "system": (_system, "one by one, dB"),
    "system asked about": (
        lambda: ha.search.System(name="one", hangs=[builders.study()]),
        "given",
    ),
    "gains": (lambda: ha.search.electronics(builders.study(), 0.0, 8.0), "gains, dB"),
    "lines": (
        lambda: ha.suspension.hang_on_lines(FOUR, 0.0, [0.2, -0.8], 8.0, 1e6),
        "line lean, °",
    ),
    "lift off": (
        lambda: ha.suspension.lift_off(
            FOUR, [0.2, -0.8], [0.0, 0.01, 0.03], cabinets=2, line_m=5.0, stiffness_n_m=2e5
        ),
        "weight, N",
    ),
    "closing in stages": (
        lambda: ha.closing.closing_stages(CLOSED, 0.0, available_n=1e6, cabinets=[2, 4]),
        "available, N",
    ),
    "level map": (
        lambda: ha.acoustics.level_map(
            ha.Placed(hang=FOUR, tilt_deg=-2.0, top_m=8.0),
            np.linspace(2.0, 60.0, 90),
            y_m=np.linspace(-20.0, 20.0, 70),
            lines_per_band=1,
        ),
        "across, m",
    ),
    "building up": (
        lambda: ha.statics.build_up(FOUR, [0.2, -0.8], stack=2, tilt_deg=0.0),
        "worst load, N",
    ),
    "work": (lambda: ha.evaluate(builders.study()).work, "gravity, m/s²"),
    "uncertainty": (
        lambda: ha.uncertainty.uncertainty_of(
            ha.evaluate(builders.study()), ha.uncertainty.Tolerances(cg_m=0.01, splay_deg=0.1)
        ),
        "contribution",
    ),
    "plan comparison": (lambda: _compared([0, 1, 2, 3]), "p value"),
    "second opinion": (lambda: ha.verify(ha.evaluate(builders.study())), "all agree"),
    "heavy leg": (
        lambda: ha.suspension.heavy_leg(6.0, -5.0, weight_n_m=30.0, length_m=8.2),
        "sag, m",
    ),
    "unevenness": (lambda: ha.unevenness(FOUR, -2.0, 8.0, VENUE), "spectral spread, dB"),
}


class Reader(HTMLParser):
    """Notes text, and whether every element is closed in its turn."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[str] = []
        self.text = ""
        self.feed(text)
        self.close()
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        self.seen.append(tag)
        for name, value in attrs:
            assert name not in {"href", "onload"}
            if name == "src":
                assert (value or "").startswith("data:image/svg+xml"), "self-contained"
                ElementTree.fromstring(unquote((value or "").split(",", 1)[1]))
            assert "nan" not in (value or ""), (tag, name)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.mark.parametrize("name", READ)
def test_what_people_read_shows_a_drawing_and_a_table(name: str) -> None:
    make, words = READ[name]
    html = make()._repr_html_()
    read = Reader(html)
    assert {"img", "table"} <= set(read.seen)
    assert words in read.text
    assert "array(" not in read.text
    assert len(html) < 40_000


def test_a_result_without_figures_shows_no_drawing_rather_than_a_wrong_one() -> None:
    closing = ha.close(CLOSED, 0.0)
    path = {name: np.full_like(column, np.nan) for name, column in closing.path.items()}
    read = Reader(dataclasses.replace(closing, path=path)._repr_html_())
    assert "img" not in read.seen
    tilts = ha.pose(FOUR, np.array([0.0, 1.0]))
    assert "img" not in Reader(tilts._repr_html_()).seen


def _drawn(value: Any) -> str:
    """What a drawing's text says."""
    (svg,) = [part.split('"')[0] for part in value._repr_html_().split('src="')[1:]]
    return " ".join(ElementTree.fromstring(unquote(svg.split(",", 1)[1])).itertext())


def test_a_heavy_chain_is_drawn_between_its_ends() -> None:
    """The drawing lays the chain out again from its forces; its lower end is where it was asked."""
    steep = ha.suspension.heavy_leg(6.0, -5.0, weight_n_m=30.0, length_m=8.2)
    (path,) = re.findall(r"points='([^']*)' fill='none' stroke='#1d2b36' stroke-width='2.4'",
                         unquote(steep._repr_html_()))  # fmt: skip
    points = np.array([[float(n) for n in pair.split(",")] for pair in path.split()])
    (wide, high) = points[-1] - points[0]
    assert wide / high == pytest.approx(6.0 / 5.0, rel=2e-3)  # tenths of a pixel in 200


def test_what_readings_do_not_determine_is_not_drawn_as_a_figure() -> None:
    assert "not determined" in _drawn(_compared([0, 2, 3]))
    assert "not determined" not in _drawn(_compared([0, 1, 2, 3]))


def test_each_stage_of_building_has_a_bar_a_hoist() -> None:
    built = ha.statics.build_up(CLOSED, [0.2, -0.8], stack=2, tilt_deg=0.0)
    drawn = _drawn(built)
    assert drawn.count("hoist 1") == drawn.count("hoist 2") == len(built.stages)
    assert drawn.count("closed") == 1


def test_names_are_escaped() -> None:
    bad = "<script>alert('no')</script>"
    cabinet = dataclasses.replace(builders.cabinet(), name=bad)
    hang = builders.hang([0.0, 0.0], cabinets=[cabinet] * 3)
    study = builders.study(name=bad, hang=hang)
    for value in (hang, study, ha.evaluate(study)):
        assert "script" not in Reader(value._repr_html_()).seen


def test_a_limit_that_nobody_stated_says_so() -> None:
    rows = ha.statics.part_loads(FOUR, 0.0, [0.2, -0.8])
    read = Reader(rows._repr_html_())
    assert "not stated" in read.text
    assert "utilisation" in read.text
    assert "none" not in read.text


def test_lists_of_results_show_a_table_one_a_row() -> None:
    throws = ha.throws(FOUR, -30.0, 8.0, VENUE)
    met = sum(throw is not None for throw in throws)
    assert met > 0
    read = Reader(throws._repr_html_())
    assert read.seen.count("tr") == len(throws) + 1
    assert throws.to_frame()["length_m"].notna().sum() == met


def test_it_is_shown_without_matplotlib() -> None:
    code = (
        "import sys\n"
        "sys.modules['matplotlib'] = None\n"
        "import hangarc as ha\n"
        "study = ha.demo.study()\n"
        "assert 'svg+xml' in study._repr_html_() and 'svg+xml' in study.hang._repr_html_()\n"
        "assert 'svg+xml' in ha.close(study.hang, 0.0)._repr_html_()"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_result_is_a_table_for_each_library() -> None:
    closing = ha.close(CLOSED, 0.0)
    in_pandas, in_polars, in_arrow = (
        closing.to_frame(library=library) for library in ("pandas", "polars", "arrow")
    )
    assert isinstance(in_pandas, pd.DataFrame)
    assert isinstance(in_polars, pl.DataFrame)
    assert isinstance(in_arrow, pa.Table)
    assert np.array_equal(in_pandas["force_n"], closing.path["force_n"])
    assert in_polars["force_n"].to_list() == closing.path["force_n"].tolist()
    # What reads Arrow streams needs no method of ours.
    assert pl.DataFrame(closing).equals(in_polars)
    joint = 1
    assert np.array_equal(in_pandas["angle_1_deg"], closing.path["angle_deg"][:, joint])


def test_points_have_a_column_for_each_axis() -> None:
    joints = ha.joint_loads(FOUR, 0.0)
    frame = joints.to_frame()
    assert list(frame) == [
        "weight_n", "moment_nm", "rear_link_n", "hinge_force_x_n", "hinge_force_z_n",
    ]  # fmt: skip
    assert np.array_equal(frame["hinge_force_z_n"], joints.hinge_force_n[:, 1])
    held = ha.close(CLOSED, 0.0, frame="two hoists", pick_x_m=(0.2, -0.8)).to_frame()
    assert "hoist_load_0_n" in held  # hoists are numbered; they are no axes


def test_one_field_of_a_result_is_a_table_too() -> None:
    closing = ha.close(CLOSED, 0.0)
    limits = closing.to_frame("limits")
    assert limits["item"].to_list() == [row.item for row in closing.limits]
    assert list(closing.to_frame("events")["contact"]) == [e.contact for e in closing.events]
    with pytest.raises(ha.InputError, match="of = "):
        closing.to_frame("no such field")
    with pytest.raises(ha.InputError, match="of = "):
        closing.to_frame("order")
    with pytest.raises(ha.InputError, match="library = "):
        closing.to_frame(library="excel")  # type: ignore[arg-type]


def test_levels_are_labelled_by_band_and_seat() -> None:
    levels = ha.seat_levels(FOUR, -2.0, 8.0, VENUE)
    data = levels.to_xarray()
    assert isinstance(data, xr.Dataset)
    assert data["band_level_db"].dims == ("band_hz", "seat")
    one = data["band_level_db"].sel(band_hz=1000.0, method="nearest").isel(seat=3)
    assert float(one) == levels.band_level_db[0, 3]
    assert np.array_equal(data["x_m"], levels.position_m[:, 0])
    frame = levels.to_frame()
    assert np.array_equal(frame["band_1000_hz_db"], levels.band_level_db[0])
    rig = ha.Rig(hangs=[ha.Placed(hang=FOUR, tilt_deg=-2.0, top_m=8.0)])
    points = ha.acoustics.point_levels(rig, [(9.0, 0.0, 1.2), (12.0, 0.0, 1.2)])
    assert points.to_xarray()["level_db"].dims == ("point",)
    maps = ha.acoustics.level_map(rig, [8.0, 9.0, 10.0], y_m=[0.0, 1.0])
    assert maps.to_xarray()["band_level_db"].shape == maps.band_level_db.shape
    assert len(maps.to_frame()) == 6
