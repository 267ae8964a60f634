"""Exercises know right from wrong, drawings balance, sliders carry their states with them."""

from __future__ import annotations

import math
import subprocess
import sys

import hangarc as ha
import numpy as np
import pytest
from hangarc.lesson.drawings import _row_pose, taut
from hangarc.lesson.exercises import figure
from hangarc.lesson.questions import QUESTIONS

G = 9.80665

# Each exercise solved from the figures in its question alone, with pencil and paper.
BY_HAND = {
    "units 1": 3.0 - 2.0 - 4.0,
    "units 2": -0.40,
    "units 3": 250.0 * G,
    "cg 1": (70.0 * 0.35 + 180.0 * 0.30) / 250.0,
    "cg 2": 2452.0 * (0.1 + 0.314) / 0.8,
    "cg 3": math.degrees(math.atan((0.314 - 0.20) / (0.404 + 0.20))),
    "joint 1": 2 * 60.0 * G * 0.30,
    "joint 2": 2 * 60.0 * G * 0.30 / 0.50,
    "joint 3": 2 * 60.0 * G * (1.0 - 0.30 / 0.50),
    "closing 1": G * (60.0 * 0.30 + 20.0 * 0.40),
    "closing 2": G * (60.0 * 0.30 + 20.0 * 0.40) / 0.80,
    "closing 3": G * (120.0 * 0.30 + 20.0 * 0.40) / 0.80,
    "closing 4": G * ((120.0 * 0.30 + 20.0 * 0.40) - (60.0 * 0.30 + 20.0 * 0.40)) / 0.50,
    "closing 5": G * (120.0 * 0.30 + 20.0 * 0.40) / 1.00,
    "by hand 1": 400.0 * math.sin(math.radians(2.0)),
    "by hand 2": abs(-0.0566 * -0.4 - -1.1637 * 0.8) / math.hypot(0.0566, 1.1637),
    "by hand 3": 467.6 / 0.8185,
    "bridle 1": 9000.0 / 2 / math.cos(math.radians(45.0)),
    "bridle 2": 1.25 * 800.0 * 6.0,
    "bridle 3": 6 * 5e6 * 0.020 / 6.0**3,
    "line 1": 4.0**2 / (2 * 0.343),
    "line 2": -20 * math.log10(2.0),
    "line 3": math.degrees(math.asin(0.1144 / 0.25)),
    "air 1": 0.159 * 48.0,
    "air 2": 331.3 * math.sqrt(1 + 28.0 / 273.15),
    "air 3": 1e3 * 40.0 * (1 / 336.3 - 1 / 349.5),
    "splays 1": math.sqrt((2.0**2 + 0.0 + 2.0**2) / 3),
    "splays 2": -(1.0 + 2.0 + 3.0 + 4.0),
    "splays 3": 8 - 3,
    "wind 1": 0.5 * 1.25 * 15.0**2,
    "wind 2": 1.3 * 0.5 * 1.25 * 15.0**2 * 1.00 * 0.40,
    "wind 3": math.degrees(math.atan(400.0 / 2500.0)),
    "wind 4": 2452.0 * (0.40 - 0.314) / 1.40,
    "sweep 1": 6 * 2 * 2,
    "sweep 2": 100.0 * 3 / 6,
}
# Answered by reading the demo study's sheet, which the question does not repeat.
READ_OFF = ["sheet 1", "sheet 2", "sheet 3"]


def test_every_exercise_is_solved_here_or_read_off_the_sheet() -> None:
    assert [*BY_HAND, *READ_OFF] == sorted(ha.lesson.exercises(), key=[*BY_HAND, *READ_OFF].index)
    assert sum(name.startswith("closing") for name in ha.lesson.exercises()) == 5


@pytest.mark.parametrize("name", BY_HAND)
def test_pencil_and_paper_answer_it(name: str) -> None:
    asked = ha.lesson.check(name)
    assert asked.right is None
    assert asked.question in asked._repr_html_() or "&" in asked._repr_html_()
    answered = ha.lesson.check(name, BY_HAND[name])
    assert answered.right, (BY_HAND[name], QUESTIONS[name].right())
    assert answered.said == QUESTIONS[name].because
    assert "Right." in answered._repr_html_()


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_wrong_answer_gets_a_hint(name: str) -> None:
    exercise = QUESTIONS[name]
    right = exercise.right()
    assert ha.lesson.check(name, right).right
    far_off = ha.lesson.check(name, right * 7.3 + 11.0)
    assert far_off.right is False
    assert far_off.said == exercise.hint
    for mistake, hint in exercise.mistakes:
        answered = ha.lesson.check(name, figure(mistake))
        assert answered.right is False, hint
        assert answered.said == hint
        assert "Not yet." in str(answered)
    turned = ha.lesson.check(name, -right)
    assert turned.right is False
    assert "sign" in turned.said or turned.said in {hint for _, hint in exercise.mistakes}


def test_slips_of_unit_are_named() -> None:
    assert "kilograms" in ha.lesson.check("units 3", 250.0).said
    assert "thousand" in ha.lesson.check("closing 2", 0.3187).said
    assert "radians" in ha.lesson.check("cg 3", math.radians(10.688)).said
    assert "twice" in ha.lesson.check("joint 2", 706.08 * G).said


def test_a_hang_of_no_rigging_is_refused() -> None:
    with pytest.raises(ha.InputError, match="rigging"):
        ha.lesson.small_hang(3, rigging=np.zeros(0))  # type: ignore[arg-type]


def test_what_is_no_exercise_or_no_number_is_refused() -> None:
    with pytest.raises(ha.InputError, match="exercise = "):
        ha.lesson.check("closing 9")
    with pytest.raises(ha.InputError, match="answer = "):
        ha.lesson.check("closing 1", "255")  # type: ignore[arg-type]
    with pytest.raises(ha.InputError, match="answer = "):
        ha.lesson.check("closing 1", float("nan"))


@pytest.mark.parametrize("rigging", ["tension", "compression"])
@pytest.mark.parametrize("tilt_deg", [-4.0, 0.0, 3.0])
def test_the_forces_on_what_is_cut_free_add_up_to_nothing(rigging: str, tilt_deg: float) -> None:
    hang = ha.lesson.small_hang(5, rigging=rigging, splays_deg=[0.0, 1.0, 3.0, 5.0])  # type: ignore[arg-type]
    for joint in range(1, 5):
        forces = ha.lesson.forces_below(hang, tilt_deg, joint)
        weight_n = forces[0].size_n
        assert np.abs(sum(force.force_n for force in forces)).max() < 1e-9 * weight_n
        moment_nm = sum(
            force.at_m[0] * force.force_n[1] - force.at_m[1] * force.force_n[0] for force in forces
        )
        assert abs(moment_nm) < 1e-9 * weight_n
        drawn = ha.lesson.free_body(hang, tilt_deg, joint).svg()
        assert all(f"{force.name} {force.size_n:.0f} N" in drawn for force in forces)


def test_the_chain_is_drawn_as_long_as_it_is_calculated() -> None:
    # With the chain near the cabinets it lies on rear edges while the hang is open.
    plain = ha.lesson.small_hang(5, splays_deg=[2.0, 3.0, 4.0, 5.0])
    near = ha.Hang.from_dict(
        {
            **plain.to_dict(),
            "frame": {**plain.frame.to_dict(), "chain_anchor_m": [-0.61, 0.0]},
            "bottom": {**plain.bottom.to_dict(), "chain_anchor_m": [-0.61, -0.05]},  # type: ignore[union-attr]
        }
    )
    corners = 0
    for hang in (plain, near):
        closing = ha.close(hang, 0.0)
        for row in range(0, len(closing.path["chain_m"]), 7):
            placed = _row_pose(hang, closing, row)
            string = taut(placed.chain_m, placed.corners_m[:, 2:].reshape(-1, 2))
            length_m = np.hypot(*np.diff(string, axis=0).T).sum()
            assert abs(length_m - closing.path["chain_m"][row]) < 1e-9
            corners = max(corners, len(string))
    assert corners > 2


def test_the_slider_shows_the_forces_of_the_path() -> None:
    hang = ha.lesson.small_hang(5, splays_deg=[2.0, 3.0, 4.0, 5.0])
    closing = ha.close(hang, 0.0)
    slider = ha.lesson.closing(hang, 0.0, states=11)
    assert len(slider.states) == 11
    first, last = slider.states[0], slider.states[-1]
    assert "pulling with 0 N; 0 of 4" in first[0]
    assert f"pulling with {closing.closing_force_n:.0f} N; 4 of 4" in last[0]
    assert f"chain {closing.closing_force_n:.0f} N" in last[1]
    assert first[1] != last[1]


def test_a_slider_carries_its_states_as_a_page_and_as_widgets() -> None:
    slider = ha.lesson.Slider("place", [("a < b", "<svg/>"), ("c", "<svg />")], start=1)
    bundle = slider._repr_mimebundle_()
    page = bundle["text/html"]
    assert page.count("data-state=") == 2
    assert "a < b" not in page
    assert "<script" not in page
    assert "http" not in page
    view = bundle["application/vnd.jupyter.widget-view+json"]
    assert view["model_id"]
    sliding, stack = slider.widget().children
    assert (sliding.value, sliding.max, stack.selected_index) == (1, 1, 1)
    with pytest.raises(ha.InputError, match="states = "):
        ha.lesson.Slider("place", [])
    with pytest.raises(ha.InputError, match="start = "):
        ha.lesson.Slider("place", [("a", "<svg/>")], start=1)


def test_a_slider_needs_no_ipywidgets() -> None:
    code = (
        "import sys\n"
        "sys.modules['ipywidgets'] = None\n"
        "import hangarc as ha\n"
        "bundle = ha.lesson.Slider('place', [('a', '<svg/>')])._repr_mimebundle_()\n"
        "assert set(bundle) == {'text/plain', 'text/html'}"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_drawings_say_the_figures_they_show() -> None:
    hang = ha.lesson.small_hang(3, rigging="tension", splays_deg=[2.0, 4.0])
    assert "cabinet 2: -3°" in ha.lesson.signs(hang, 3.0).svg()
    loads = ha.hoist_loads(hang, 0.0, [0.1, -0.7]).load_n
    drawn = ha.lesson.balance(hang, [0.1, -0.7]).svg()
    assert all(f"{load:.0f} N" in drawn for load in loads)
    tilt = ha.hanging_tilt(hang, -0.3).tilt_deg
    assert f"tilt {tilt:+.2f}°" in ha.lesson.balance(hang, -0.3).svg()
    closed = ha.lesson.small_hang(3)
    blown = ha.wind_loads(closed, 0.0, [0.1, -0.7], ha.Wind(speed_m_s=15.0), top_m=8.0, closed=True)
    drawn = ha.lesson.in_wind(closed, 0.0, [0.1, -0.7], 15.0).svg()
    assert f"lines lean {blown.line_deg:.1f}°" in drawn


def test_a_line_source_falls_as_a_point_from_far_away() -> None:
    far = ha.lesson.level_db(ha.lesson.line_source(2.0), [400.0, 800.0], [500.0])
    assert abs(far[1] - far[0] + 20 * math.log10(2.0)) < 0.01
    arc = ha.lesson.line_source(4.0, count=40, arc_deg=40.0)
    near = ha.lesson.level_db(arc, [5.0, 10.0], np.geomspace(4000.0, 8000.0, 40))
    radius_m = 4.0 / math.radians(40.0 * 40 / 39)
    law_db = -10 * math.log10(2.0 * (1 + 10.0 / radius_m) / (1 + 5.0 / radius_m))
    # High-frequency stationary phase, as in test_field_theory.py; the arc's ends ripple about it.
    assert abs(near[1] - near[0] - law_db) < 0.6


@pytest.mark.parametrize("tilt_deg", [5e-324, 2.3e-308, 1e-9])
def test_an_arc_too_small_to_see_is_not_drawn(tilt_deg: float) -> None:
    level, tilted = (
        ha.lesson.signs(ha.lesson.small_hang(3), tilt).svg() for tilt in (0.0, tilt_deg)
    )
    assert tilted.count("<polyline") == level.count("<polyline")
