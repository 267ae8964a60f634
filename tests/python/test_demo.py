"""The demo's answer is consistent with itself and with everything tried against it."""

from __future__ import annotations

import dataclasses

import hangarc as ha
import numpy as np
import pytest

GRAVITY_M_S2 = 9.80665


@pytest.fixture(scope="module")
def study() -> ha.Study:
    return ha.demo.study()


@pytest.fixture(scope="module")
def found(demo_answer: ha.Answer) -> ha.search.SearchResult:
    return demo_answer.search


def test_the_demo_hang_can_be_built(found: ha.search.SearchResult) -> None:
    assert found.ended == "settled"
    assert all(margin.margin >= 0.0 for margin in found.margins)
    assert any(row.limit_n is None for row in found.limits)
    stated = [row.utilisation for row in found.limits if row.utilisation is not None]
    assert 0.0 < max(stated) <= 1.0


def test_hoist_loads_add_up_to_the_weight(study: ha.Study, found: ha.search.SearchResult) -> None:
    loads = ha.hoist_loads(found.hang, found.tilt_deg, found.pick_x_m)
    mass_kg = (
        study.hang.frame.mass_kg
        + sum(cabinet.mass_kg for cabinet in study.hang.cabinets)
        + (study.hang.bottom.mass_kg if study.hang.bottom else 0.0)
    )
    assert loads.load_n.sum() == pytest.approx(mass_kg * GRAVITY_M_S2, rel=1e-9)


def test_the_lowest_joint_carries_the_bottom_frame_alone(found: ha.search.SearchResult) -> None:
    bottom = found.hang.bottom
    assert bottom is not None
    axis_deg = ha.pose(found.hang, found.tilt_deg).axis_deg[-1] - bottom.fixed_splay_deg
    angle = np.radians(axis_deg)
    weight_n = bottom.mass_kg * GRAVITY_M_S2
    lever_m = -(np.cos(angle) * bottom.cg_m[0] - np.sin(angle) * bottom.cg_m[1])
    joints = ha.joint_loads(found.hang, found.tilt_deg)
    assert joints.weight_n[-1] == pytest.approx(weight_n, rel=1e-12)
    assert joints.moment_nm[-1] == pytest.approx(weight_n * lever_m, rel=1e-12)
    upper_n = joints.weight_n[-2] - joints.weight_n[-1]
    assert upper_n == pytest.approx(found.hang.cabinets[-1].mass_kg * GRAVITY_M_S2, rel=1e-12)


def test_the_search_gains_at_least_a_decibel_and_a_half(found: ha.search.SearchResult) -> None:
    assert found.unevenness_db <= found.straight_sound.unevenness_db - 1.5


def test_the_reported_evenness_is_that_of_the_public_function(
    study: ha.Study, found: ha.search.SearchResult
) -> None:
    where = (found.hang, found.tilt_deg, found.top_m, study.venue, study.air)
    assert found.unevenness_db == pytest.approx(ha.unevenness(*where).unevenness_db, abs=0.01)
    again_db = ha.evenness_db(*where, lines_per_band=study.lines_per_band)
    assert found.evenness_db == pytest.approx(again_db, abs=0.01)


def test_a_run_over_all_pins_of_four_cabinets_finds_nothing_better(study: ha.Study) -> None:
    """13³ pins at nine tilts of the demo hardware, every one looked at."""
    hang = dataclasses.replace(
        study.hang, cabinets=study.hang.cabinets[:4], splays_deg=study.hang.splays_deg[:3]
    )
    short = dataclasses.replace(
        study, hang=hang, top_range_m=(12.0, 12.0), tilt_step_deg=1.0, lines_per_band=3
    )
    proved = ha.optimise_splays(short, prove=True)
    assert proved.ended == "proved"
    assert proved.evaluations > 10_000
    assert ha.optimise_splays(short).objective_db <= proved.objective_db + 1e-9
