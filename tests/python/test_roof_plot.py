"""Roof plots read back by the libraries of their formats."""

from __future__ import annotations

import csv
import dataclasses
from pathlib import Path
from typing import Any

import ezdxf
import hangarc as ha
import pymvr
import pytest
from hangarc.io import roof_plot
from outside import Outside, ran


def points() -> list[roof_plot.RoofPoint]:
    return [
        roof_plot.RoofPoint(
            name="P1",
            x_m=1.0,
            y_m=-2.0,
            z_m=12.0,
            vertical_n=8000.0,
            dynamic_factor=1.2,
            least_n=7500.0,
            greatest_n=8600.0,
            limit_n=10_000.0,
        ),
        roof_plot.RoofPoint(
            name="P2",
            x_m=3.5,
            y_m=2.0,
            z_m=11.5,
            vertical_n=4000.0,
            horizontal_x_n=300.0,
            horizontal_y_n=-400.0,
        ),
    ]


def test_the_table_says_what_nobody_stated() -> None:
    first, second = roof_plot.roof_table(points())
    assert first["utilisation"] == pytest.approx(8600.0 * 1.2 / 10_000.0)
    assert first["dynamic_vertical_n"] == pytest.approx(9600.0)
    assert second["limit_n"] == second["utilisation"] == "not stated"


def test_the_csv_reads_back_and_carries_the_caution() -> None:
    text = roof_plot.roof_table_csv(points())
    lines = text.splitlines()
    assert lines[-1] == f"# {roof_plot.CAUTION}"
    rows = list(csv.DictReader(lines[:-1]))
    assert [row["point"] for row in rows] == ["P1", "P2"]
    assert float(rows[1]["horizontal_y_n"]) == -400.0


def test_the_drawing_has_points_loads_and_caution_on_its_layer(tmp_path: Path) -> None:
    path = tmp_path / "roof.dxf"
    roof_plot.write_roof_dxf(points(), path, layer="LOADS")
    drawing = ezdxf.readfile(path)
    assert not drawing.audit().errors
    assert drawing.units == ezdxf.units.M
    space = drawing.modelspace()
    assert {entity.dxf.layer for entity in space} == {"LOADS"}
    places = [tuple(point.dxf.location) for point in space.query("POINT")]
    assert places == [(1.0, -2.0, 12.0), (3.5, 2.0, 11.5)]
    texts = [text.plain_text() for text in space.query("MTEXT")]
    assert texts[0].splitlines() == [
        "P1",
        "V 8.00 kN",
        "V dynamic 9.60 kN",
        "V from 7.50 to 8.60 kN",
    ]
    assert "H 0.50 kN" in texts[1]
    assert texts[2] == roof_plot.CAUTION


def test_the_scene_has_a_support_at_every_point(tmp_path: Path, outside: Outside) -> None:
    path = tmp_path / "roof.mvr"
    roof_plot.write_roof_mvr(points(), path, chain_m=18.0)
    with pymvr.GeneralSceneDescription(str(path)) as scene:
        (layer,) = scene.scene.layers
        supports = layer.child_list.supports
        assert [support.name.split(" | ")[0] for support in supports] == ["P1", "P2"]
        outside.check(
            "files", "roof points of a scene file, as another package reads them",
            ran("pymvr", "MVR scene read by pymvr"),
            theirs=[support.matrix.matrix[3][:3] for support in supports],
            ours=[[1000.0 * c for c in (p.x_m, p.y_m, p.z_m)] for p in points()], unit="mm",
            within=1e-6, why="written as decimals",
        )  # fmt: skip
        assert supports[0].chain_length == 18_000.0
        (data,) = scene.user_data.data
        assert data.provider == "hangarc"
        assert roof_plot.CAUTION in data.text


def test_a_bridles_anchors_become_roof_points_in_balance() -> None:
    anchors = [(0.0, 10.0), (3.0, 11.0)]
    bridle = ha.bridle(anchors, lengths_m=[2.5, 2.5], load_n=6000.0)
    left, right = roof_plot.bridle_points(bridle, anchors, ["A", "B"], dynamic_factor=1.1)
    assert left.vertical_n + right.vertical_n == pytest.approx(6000.0)
    assert left.horizontal_x_n == pytest.approx(-right.horizontal_x_n)
    assert left.horizontal_x_n > 0.0
    assert (right.x_m, right.y_m, right.z_m) == (3.0, 0.0, 11.0)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("vertical_n", {"vertical_n": float("nan")}),
        ("dynamic_factor", {"dynamic_factor": 0.9}),
        ("limit_n", {"limit_n": 0.0}),
        ("name", {"name": 3}),
    ],
)
def test_a_bad_point_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {"name": "P", "x_m": 0.0, "y_m": 0.0, "z_m": 9.0, "vertical_n": 1.0}
    with pytest.raises(ha.InputError) as refused:
        roof_plot.RoofPoint(**{**good, **changes})
    assert refused.value.field == field


def test_no_point_and_a_name_given_twice_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ha.InputError, match="points"):
        roof_plot.roof_table([])
    with pytest.raises(ha.InputError, match="name of its own"):
        roof_plot.write_roof_dxf([points()[0]] * 2, tmp_path / "roof.dxf")


@pytest.mark.parametrize("factor", [1.0, 1.25])
def test_a_roof_point_is_given_the_load_of_building_as_the_limits_have_it(factor: float) -> None:
    study = dataclasses.replace(ha.demo.study(), dynamic_factor=factor)
    answer = ha.evaluate(study)
    limits = [row for row in answer.limits if row.part == "roof_point"]
    given = ha.report.roof_points(answer)
    assert len(given) == len(limits) == 2
    for point, row, hoist in zip(given, limits, answer.work.hoists, strict=True):
        assert point.governing_n == pytest.approx(row.force_n, rel=1e-12)
        assert point.utilisation == pytest.approx(row.utilisation, rel=1e-12)
        own_n = study.hoist_mass_kg * study.hang.gravity_m_s2
        assert hoist.roof_building_n == pytest.approx(hoist.building_n + own_n * factor)
    # With its rear open the hang leans on the front hoist.
    assert limits[0].state == "building"
    assert given[0].governing_n > given[0].dynamic_vertical_n
