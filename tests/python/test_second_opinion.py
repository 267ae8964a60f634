"""A second opinion agrees with right answers, and finds faults planted in them."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc.second_opinion import sound
from hangarc.second_opinion.bodies import joint_angles_deg, place


def searched(**changes: Any) -> ha.Answer:
    return ha.answer(builders.study(**changes), budget_evaluations=200)


@pytest.fixture(scope="module")
def tension() -> ha.Answer:
    limited = builders.cabinet(limits={"hinge_n": 20_000.0, "rear_link_n": 15_000.0})
    hang = builders.hang([1.0] * 5, cabinets=[limited] * 6)
    return searched(hang=hang, lines_per_band=2, hoist_limit_n=9000.0)


@pytest.fixture(scope="module")
def compression() -> ha.Answer:
    hang = builders.hang([1.0] * 7, "compression", gear=builders.gear())
    return searched(hang=hang, pick_x_m=(0.2, -0.8), lines_per_band=1)


def changed(answer: ha.Answer, part: str, **fields: Any) -> ha.Answer:
    one = dataclasses.replace(getattr(answer, part), **fields)
    return dataclasses.replace(answer, **{part: one})


def off(array: Any, index: Any, by: float) -> np.ndarray:
    copy = np.array(array, dtype=float)
    copy[index] += by
    return copy


def differing(answer: ha.Answer) -> list[str]:
    return [row.quantity for row in ha.verify(answer).differing]


def test_the_demo_answer_is_confirmed(demo_answer: ha.Answer) -> None:
    found = ha.verify(demo_answer)
    assert found.differing == (), str(found)
    assert len(found) > 100
    assert {row.quantity.split(" (")[0] for row in found} >= {
        *("hoist load, N", "closing force, N", "stop force when closed, N", "link taken"),
        *("band level at a seat, dB", "chain free, m", "roof above hoist 1: force, N"),
    }
    assert "calculated again by other routes: all agree" in found.line


def test_answers_of_both_kinds_and_one_pick_are_confirmed(
    tension: ha.Answer, compression: ha.Answer
) -> None:
    assert differing(tension) == []
    assert differing(compression) == []
    assert "rear link force" in str(ha.verify(tension))


def test_an_answer_with_unlike_gains_factor_and_arcs_is_confirmed() -> None:
    arcs = ha.Source(
        elements=[
            ha.LineElement(height_m=0.3, curvature_deg=6.0, high_hz=1500.0, gain_db=-2.0),
            ha.LineElement(height_m=0.2, x_m=-0.05, inverted=True, delay_s=1e-4, low_hz=1500.0),
        ],
        coverage_deg=70.0,
    )
    answer = searched(
        hang=builders.hang([1.0] * 3, cabinets=[builders.cabinet(source=arcs)] * 4),
        goals=ha.Goals(gains_db=[-3.0, 0.0]),
        dynamic_factor=1.3,
        hoist_mass_kg=60.0,
        lines_per_band=1,
    )
    assert differing(answer) == []


def test_the_far_field_tolerance_is_what_levels_differ_by(compression: ha.Answer) -> None:
    search, study = compression.search, compression.study
    angles = joint_angles_deg(search.hang, search.splays_deg.tolist())
    placed = place(search.hang, angles, search.tilt_deg, search.top_m)
    lines, seats = np.array([250.0, 1000.0, 7000.0]), compression.seats.position_m
    own = sound.pressure(search.hang, placed, seats, lines, study.air)
    fine = ha.pressure(
        search.hang, search.tilt_deg, search.top_m, seats, lines, study.air,
        far_field_tolerance=1e-6,
    )  # fmt: skip
    assert np.abs(fine - own).max() < 1e-6 * np.abs(own).max()


@pytest.mark.parametrize("cabinets", [3, 4, 6, 12])
def test_seats_in_the_holes_of_a_straight_hang_raise_no_false_alarm(cabinets: int) -> None:
    study = ha.demo.study(cabinets=cabinets)
    straight = dataclasses.replace(study.hang, splays_deg=[0.0] * (cabinets - 1))
    assert differing(ha.evaluate(dataclasses.replace(study, hang=straight))) == []


def test_an_answer_read_back_from_its_json_is_confirmed(compression: ha.Answer) -> None:
    assert differing(ha.Answer.from_json(compression.to_json())) == []


def heavier(answer: ha.Answer) -> ha.Answer:
    hang = answer.search.hang
    first, *others = hang.cabinets
    cabinets = [dataclasses.replace(first, mass_kg=first.mass_kg + 1.0), *others]
    return changed(answer, "search", hang=dataclasses.replace(hang, cabinets=cabinets))


def limit_row(answer: ha.Answer, item: str, **fields: Any) -> ha.Answer:
    rows = [
        dataclasses.replace(row, **fields) if row.item == item else row for row in answer.limits
    ]
    return dataclasses.replace(answer, limits=rows)


TENSION_FAULTS: dict[str, tuple[Callable[[ha.Answer], ha.Answer], str]] = {
    "a cabinet's mass": (heavier, "hardware unlike the study's"),
    "a wrong total mass": (
        lambda a: changed(a, "pose", mass_kg=a.pose.mass_kg * 1.001),
        "mass hung, kg",
    ),
    "a centre of gravity 1 mm off": (
        lambda a: changed(a, "pose", cg_m=off(a.pose.cg_m, 0, 1e-3)),
        "centre of gravity, m",
    ),
    "a hoist load off by a newton": (
        lambda a: changed(a, "hoists", load_n=off(a.hoists.load_n, 0, 1.0)),
        "hoist load, N",
    ),
    "a link's sign": (
        lambda a: changed(a, "joints", rear_link_n=-a.joints.rear_link_n),
        "rear link force, N",
    ),
    "a tilt 0.01° off": (
        lambda a: changed(a, "search", tilt_deg=a.search.tilt_deg + 0.01),
        "tilt on one pick, deg",
    ),
    "a level off by 0.2 dB at one seat": (
        lambda a: changed(a, "seats", level_db=off(a.seats.level_db, 3, 0.2)),
        "level at a seat, dB",
    ),
    "a band level off by 0.2 dB at one seat": (
        lambda a: changed(a, "seats", band_level_db=off(a.seats.band_level_db, (2, 4), -0.2)),
        "band level at a seat, dB",
    ),
    "a limit left out": (
        lambda a: limit_row(a, "hoist 1", limit_n=None, utilisation=None),
        "hoist 1: limit, N",
    ),
    "a utilisation of another force": (
        lambda a: limit_row(a, "hoist 1", utilisation=0.1),
        "hoist 1: utilisation",
    ),
    "a force too low in the table": (
        lambda a: limit_row(a, "joint 0, hinge", force_n=1.0, utilisation=1.0 / 20_000.0),
        "joint 0, hinge: force, N",
    ),
    "a loaded part left out of the table": (
        lambda a: dataclasses.replace(a, limits=[row for row in a.limits if row.item != "hoist 1"]),
        "loaded parts not in the table of limits (hoist 1)",
    ),
    "a number that is none": (
        lambda a: changed(a, "hoists", load_n=off(a.hoists.load_n, 0, np.nan)),
        "hoist load, N",
    ),
    "a trim height too high": (
        lambda a: changed(a, "pose", trim_m=a.pose.trim_m + 0.01),
        "trim height, m",
    ),
}

COMPRESSION_FAULTS: dict[str, tuple[Callable[[ha.Answer], ha.Answer], str]] = {
    "swapped anchors": (
        lambda a: changed(a, "pose", chain_m=a.pose.chain_m[::-1]),
        "chain anchor, m",
    ),
    "a hoist taken as pulling when slack": (
        lambda a: changed(a, "hoists", slack=~a.hoists.slack),
        "hoist slack, 0 or 1",
    ),
    "hoists the other way round": (
        lambda a: changed(a, "hoists", load_n=a.hoists.load_n[::-1]),
        "hoist load, N",
    ),
    "a closing force 0.1 % too low": (
        lambda a: changed(a, "closing", closing_force_n=a.closing.closing_force_n * 0.999),
        "closing force, N",
    ),
    "a stop force off": (
        lambda a: changed(a, "closing", stop_force_n=off(a.closing.stop_force_n, 2, 5.0)),
        "stop force when closed, N",
    ),
    "a chain a millimetre short": (
        lambda a: changed(a, "closing", chain_closed_m=a.closing.chain_closed_m - 1e-3),
        "chain closed, m",
    ),
    "a free hang that is not at rest": (
        lambda a: changed(a, "closing", chain_free_m=a.closing.chain_free_m - 1e-3),
        "chain free, m",
    ),
    "the next link": (
        lambda a: changed(a, "shortening", link=a.shortening.link + 1),
        "link taken",
    ),
    "a pin in another hole": (
        lambda a: changed(
            a, "search", splays_deg=off(a.search.splays_deg, 1, -a.search.splays_deg[1])
        ),
        "pins unlike the hang's, deg",
    ),
}


@pytest.mark.parametrize("fault", TENSION_FAULTS)
def test_a_fault_planted_in_a_tension_hang_is_found(tension: ha.Answer, fault: str) -> None:
    plant, quantity = TENSION_FAULTS[fault]
    assert any(row.startswith(quantity) for row in differing(plant(tension)))


@pytest.mark.parametrize("fault", COMPRESSION_FAULTS)
def test_a_fault_planted_in_a_compression_hang_is_found(compression: ha.Answer, fault: str) -> None:
    plant, quantity = COMPRESSION_FAULTS[fault]
    assert any(row.startswith(quantity) for row in differing(plant(compression)))


def test_what_is_no_answer_is_refused() -> None:
    with pytest.raises(ha.InputError, match="allowed is an Answer"):
        ha.verify(builders.study())


def test_of_a_hang_with_others_beside_all_but_its_levels_is_confirmed() -> None:
    other = ha.model.Neighbour(
        name="other",
        hang=builders.hang([1.0] * 2),
        tilt_deg=0.0,
        top_m=8.0,
        site=ha.model.Site(position_m=(0.0, 6.0)),
    )
    found = ha.verify(searched(hang=builders.hang([1.0] * 3), beside=[other]))
    assert found.differing == ()
    assert len(found) > 15
    assert not any("level" in row.quantity for row in found)
