"""The demo study's answer agrees with itself."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from objective import spread_and_mean_db

# Standard acceleration of free fall, ISO 80000-3:2019.
G_M_S2 = 9.80665


def test_hoist_loads_add_up_to_the_weight(demo_answer: ha.Answer) -> None:
    parts = demo_answer.study.hang
    assert parts.bottom is not None
    mass_kg = parts.frame.mass_kg + parts.bottom.mass_kg + sum(c.mass_kg for c in parts.cabinets)
    assert demo_answer.hoists.load_n.sum() == pytest.approx(mass_kg * G_M_S2, rel=1e-9)
    assert not demo_answer.hoists.slack.any()


def test_the_lowest_joint_carries_the_bottom_frame_alone(demo_answer: ha.Answer) -> None:
    loads = ha.joint_loads(demo_answer.hang, demo_answer.search.tilt_deg)
    bottom = demo_answer.hang.bottom
    assert bottom is not None
    assert loads.weight_n[-1] == pytest.approx(bottom.mass_kg * G_M_S2, rel=1e-12)
    # The moment about its hinge: weight times the lever of its centre of gravity, turned with it.
    axis = np.radians(demo_answer.pose.axis_deg[-1] - bottom.fixed_splay_deg)
    x, z = bottom.cg_m
    lever_m = -(x * np.cos(axis) - z * np.sin(axis))
    assert loads.moment_nm[-1] == pytest.approx(bottom.mass_kg * G_M_S2 * lever_m, rel=1e-9)


def test_the_search_betters_the_best_straight_hang(demo_answer: ha.Answer) -> None:
    search = demo_answer.search
    assert search.ended == "settled"
    assert search.straight_sound.unevenness_db - search.unevenness_db >= 1.5
    for seats, sound in (
        (demo_answer.seats, search.sound),
        (demo_answer.straight_seats, search.straight_sound),
    ):
        spread_db, mean_db = spread_and_mean_db(seats)
        assert spread_db == pytest.approx(sound.unevenness_db, abs=0.01)
        assert mean_db == pytest.approx(sound.mean_db, abs=0.01)


def test_the_demo_closes_below_its_clutch_with_stroke_to_spare(demo_answer: ha.Answer) -> None:
    closing, link = demo_answer.closing, demo_answer.shortening
    assert closing is not None
    assert link is not None
    assert closing.ended == "closed"
    assert closing.clutch == "closes"
    assert link.ended == "fits"
    assert min(link.spare_open_m or 0.0, link.spare_closed_m or 0.0) > 0.1


def test_the_demo_keeps_every_stated_limit_and_leaves_some_unstated(
    demo_answer: ha.Answer,
) -> None:
    used = [row.utilisation for row in demo_answer.limits if row.utilisation is not None]
    assert max(used) < 1.0
    assert any(row.limit_n is None for row in demo_answer.limits)
    items = [row.item for row in demo_answer.limits]
    assert len(items) == len(set(items))
    assert {"hoist 1", "closing chain", "lever hoist", "joint 0, hinge"} <= set(items)


def test_the_trim_keeps_the_minimum(demo_answer: ha.Answer) -> None:
    assert demo_answer.pose.trim_m >= demo_answer.study.min_trim_m


def test_the_answer_is_written_with_its_study(demo_answer: ha.Answer) -> None:
    document = json.loads(demo_answer.to_json())
    assert (document["kind"], document["version"]) == ("answer", 4)
    assert document["hangarc"] == ha.__version__
    value = document["value"]
    assert ha.Study.from_dict(value["study"]) == demo_answer.study
    assert value["search"]["splays_deg"] == demo_answer.search.splays_deg.tolist()
    assert value["search"]["objective_db"] == demo_answer.search.objective_db
    assert value["closing"]["closing_force_n"] > 0.0


def test_an_answer_comes_back_from_its_json_field_by_field(demo_answer: ha.Answer) -> None:
    text = demo_answer.to_json()
    back = ha.Answer.from_json(text)
    assert back.to_json() == text
    assert back.hang == demo_answer.hang
    assert isinstance(back.search.pick_x_m, np.ndarray)
    assert back.search.ended == demo_answer.search.ended
    assert isinstance(back.search.limits[0], ha.statics.LimitRow)
    want, got = demo_answer.to_dict(), back.to_dict()
    full, thin = want["closing"].pop("path"), got["closing"].pop("path")
    assert want == got
    # Every contact of the closing path is kept, and what is kept is as it was.
    assert demo_answer.closing is not None
    assert {event.chain_m for event in demo_answer.closing.events} <= set(thin["chain_m"])
    rows = iter(list(zip(*full.values(), strict=True)))
    assert all(row in rows for row in zip(*thin.values(), strict=True))
    assert len(thin["chain_m"]) < 0.4 * len(full["chain_m"])


def test_numbers_that_are_not_finite_come_back(demo_answer: ha.Answer) -> None:
    assert demo_answer.closing is not None
    straight = demo_answer.closing.straight_line_force_n.copy()
    straight[1:4] = np.inf, -np.inf, np.nan
    closing = dataclasses.replace(demo_answer.closing, straight_line_force_n=straight)
    back = ha.Answer.from_json(dataclasses.replace(demo_answer, closing=closing).to_json())
    assert back.closing is not None
    np.testing.assert_array_equal(back.closing.straight_line_force_n, straight)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"kind": "hang"}, "kind"),
        ({"version": 1}, "version"),
        ({"value": {}}, "value.study"),
        ({"value": None}, "value"),
    ],
)
def test_a_file_that_is_no_answer_is_refused_by_name(
    change: dict[str, Any], field: str, demo_answer: ha.Answer
) -> None:
    document = json.loads(demo_answer.to_json())
    with pytest.raises(ha.InputError) as caught:
        ha.Answer.from_json(json.dumps({**document, **change}))
    assert caught.value.field == field
    with pytest.raises(ha.InputError, match="json"):
        ha.Answer.from_json("{")


def test_a_budget_ends_the_answer(demo_answer: ha.Answer) -> None:
    found = ha.answer(demo_answer.study, budget_evaluations=2000)
    assert found.search.ended == "budget spent"


def test_the_same_seed_gives_the_same_answer() -> None:
    study = builders.study()
    assert ha.answer(study, seed=3).to_json() == ha.answer(study, seed=3).to_json()


def test_a_tension_hang_on_one_hoist_is_answered_too() -> None:
    found = ha.answer(builders.study(min_trim_m=2.0))
    assert found.closing is None
    assert found.shortening is None
    assert found.joints is not None
    assert found.hoists.load_n.shape == (1,)


def test_a_study_that_cannot_be_hung_is_said_to_be(demo_answer: ha.Answer) -> None:
    heavy = dataclasses.replace(demo_answer.study, hoist_limit_n=1_000.0)
    found = ha.answer(heavy, budget_evaluations=1000)
    assert found.search.ended == "infeasible"
    assert "DO NOT HANG" in ha.report.text(found)


@pytest.mark.parametrize("bad", [None, "study", 3])
def test_anything_but_a_study_is_refused(bad: Any) -> None:
    with pytest.raises(ha.InputError, match="study"):
        ha.answer(bad)
