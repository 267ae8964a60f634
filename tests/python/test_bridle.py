"""Bridles against textbooks, a general minimiser and the catenary of a mooring library."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import hangarc as ha
import numpy as np
import pytest
from moorpy.Catenary import catenary
from outside import Kind, Outside, Source
from scipy.optimize import minimize

HANDBOOK = json.loads(
    (Path(__file__).parent / "validation" / "handbook_bridles.json").read_text(encoding="utf-8")
)


def test_equal_legs_follow_the_table_of_included_angles() -> None:
    table = HANDBOOK["equal_legs"]
    for angle, ratio in zip(table["included_angle_deg"], table["force_over_load"], strict=True):
        half = np.radians(angle / 2)
        anchors = [(-np.sin(half), 0.0), (np.sin(half), 0.0)]
        bridle = ha.bridle(anchors, lengths_m=[1.0, 1.0], load_n=1.0)
        # The table is printed to five digits.
        np.testing.assert_allclose(bridle.force_n, ratio, atol=5e-6)
        np.testing.assert_allclose(bridle.included_angle_deg, [angle])


def test_a_crate_on_two_ropes(outside: Outside) -> None:
    case = HANDBOOK["crate_on_two_ropes"]
    left, right = np.radians(case["above_horizontal_deg"])
    anchors = [(-np.cos(left), np.sin(left)), (np.cos(right), np.sin(right))]
    bridle = ha.bridle(anchors, apex_m=(0.0, 0.0), load_n=case["load_n"])
    outside.check(
        "cables and bridles",
        "a 75 kg crate on two ropes, 50° and 30° above the horizontal",
        Source(case["source"], Kind.MEMORY),
        theirs=case["force_n"],
        ours=bridle.force_n,
        unit="N",
        within=0.6,
        why="printed to whole newtons, from a weight that is rounded too",
    )


def test_a_cylinder_on_two_cables(outside: Outside) -> None:
    case = HANDBOOK["cylinder_on_two_cables"]
    bridle = ha.bridle(case["leg_direction"], apex_m=(0.0, 0.0), load_n=case["load_n"])
    outside.check(
        "cables and bridles",
        "a 60 kg cylinder on a cable at 45° and one on a 3-4-5 slope",
        Source(case["source"], Kind.MEMORY),
        theirs=case["force_n"],
        ours=bridle.force_n,
        unit="N",
        within=0.6,
        why="printed to whole newtons",
    )
    np.testing.assert_allclose(bridle.horizontal_n, 0.8 * bridle.force_n[0])


def test_a_crate_on_three_cables_in_space(outside: Outside) -> None:
    case = HANDBOOK["crate_on_three_cables"]
    bridle = ha.bridle(case["anchors"], apex_m=(0.0, 0.0, 0.0), load_n=case["load"])
    outside.check(
        "cables and bridles",
        "a 40 lb crate on three cables in space",
        Source(case["source"], Kind.MEMORY),
        theirs=case["force"],
        ours=bridle.force_n,
        unit="lb",
        within=0.051,
        why="half a unit of the printed digit",
    )


def random_bridles(count: int) -> list[tuple[np.ndarray, np.ndarray]]:
    """Anchors and lengths that reach the point 0.3 m below the anchors' middle."""
    rng = np.random.default_rng(11)
    cases = []
    for _ in range(count):
        legs = int(rng.integers(2, 4))
        anchors = rng.uniform((-4, -4, 9), (4, 4, 11), (legs, 3))
        way = np.linalg.norm(anchors - (anchors.mean(axis=0) - [0, 0, 0.3]), axis=1)
        cases.append((anchors, way * rng.uniform(1.02, 1.8, legs)))
    return cases


def test_the_apex_is_the_lowest_point_a_general_minimiser_finds(outside: Outside) -> None:
    misses, lowest, apexes = [], [], []
    for anchors, lengths in random_bridles(80):
        bridle = ha.bridle(anchors, lengths_m=lengths, load_n=1.0)
        found = minimize(
            lambda p: p[2],
            anchors.mean(axis=0) - [0, 0, 0.3],
            jac=lambda p: np.array([0.0, 0.0, 1.0]),
            constraints={
                "type": "ineq",
                "fun": lambda p, a=anchors, r=lengths: r**2 - ((p - a) ** 2).sum(axis=1),
                "jac": lambda p, a=anchors: -2 * (p - a),
            },
            method="SLSQP",
            options={"ftol": 1e-12, "maxiter": 500},
        )
        # 8: the line search finds no further descent at this precision.
        assert found.status in (0, 8)
        misses.append(abs(found.fun - bridle.apex_m[2]))
        lowest.append(found.fun)
        apexes.append(bridle.apex_m[2])
    assert np.median(misses) < 1e-9
    outside.check(
        "cables and bridles",
        "height of the apex of 80 random bridles of two and three legs",
        Source("least height within the legs' lengths, SLSQP of SciPy", Kind.LIBRARY, "SciPy"),
        theirs=lowest,
        ours=apexes,
        unit="m",
        within=1e-6,
        why="where the minimiser stops",
    )


def test_moving_the_apex_along_a_beam_matches_single_bridles() -> None:
    anchors = [(0.0, 6.0), (4.0, 7.0)]
    x = np.linspace(-0.5, 4.5, 11)
    forces = ha.suspension.bridle_forces_along(
        anchors, np.column_stack([x, np.full(11, 4.0)]), load_n=3000.0
    )
    assert (forces[x < 0, 1] < 0).all()
    assert (forces[x > 4, 0] < 0).all()
    for place, force in zip(x[1:-1], forces[1:-1], strict=True):
        single = ha.bridle(anchors, apex_m=(place, 4.0), load_n=3000.0)
        np.testing.assert_allclose(force, single.force_n)


def test_an_apex_that_legs_cannot_hold_is_named_by_its_place_in_the_path() -> None:
    anchors = [(0.0, 6.0), (4.0, 7.0)]
    for second in (anchors[0], (2.0, 6.5)):
        with pytest.raises(ha.InputError) as caught:
            ha.suspension.bridle_forces_along(anchors, [(1.0, 4.0), second], load_n=3000.0)
        assert caught.value.field == "apexes_m[1]"


def test_stock_comes_as_near_as_trying_every_pair() -> None:
    anchors, wanted = [(0.0, 10.0), (3.0, 10.4)], np.array([1.3, 8.1])
    steels, pitch, fittings = [0.5, 1.0, 1.5], 0.09, 0.1
    made = ha.suspension.bridle_from_stock(
        anchors,
        wanted,
        load_n=5000.0,
        steels_m=steels,
        pitch_m=pitch,
        most_links=9,
        most_steels=2,
        fittings_m=fittings,
    )
    sums = {0.0, *steels, *(a + b for a in steels for b in steels)}
    lengths = sorted({round(fittings + s + n * pitch, 9) for s in sums for n in range(10)})
    best = np.inf
    for first in lengths:
        for second in lengths:
            try:
                trial = ha.bridle(anchors, lengths_m=[first, second], load_n=1.0)
            except ha.InputError:
                continue
            if not trial.slack.any():
                best = min(best, float(np.hypot(*(trial.apex_m - wanted))))
    assert made.miss_m == pytest.approx(best, rel=1e-9)
    for leg, length in enumerate(made.bridle.length_m):
        assert length == pytest.approx(fittings + sum(made.steels_m[leg]) + made.links[leg] * pitch)


def test_a_heavy_leg_hangs_like_the_mooring_library_says(outside: Outside) -> None:
    rng = np.random.default_rng(3)
    theirs, ours = [], []
    for _ in range(40):
        span, rise = rng.uniform(1.0, 12.0), rng.uniform(0.0, 8.0)
        length, weight = np.hypot(span, rise) * rng.uniform(1.005, 1.5), rng.uniform(10.0, 40.0)
        leg = ha.suspension.heavy_leg(span, rise, length_m=length, weight_n_m=weight)
        # Stiff enough that stretch is below the tolerance; the seabed lies far below.
        low_x, low_z, high_x, high_z, _ = catenary(
            span, rise, length, 1e14, weight, CB=-1e3, HF0=leg.horizontal_n, Tol=1e-11
        )
        scale = leg.force_n.max()
        theirs.append(np.array([low_x, -high_x, -low_z, -high_z]) / scale)
        ours.append(np.array([leg.horizontal_n, leg.horizontal_n, *leg.vertical_n]) / scale)
    outside.check(
        "cables and bridles",
        "pulls at both ends of 40 random heavy legs",
        Source("catenary by MoorPy", Kind.LIBRARY, "MoorPy 1.3"),
        theirs=theirs,
        ours=ours,
        unit="of the greatest pull of the leg",
        within=1e-6,
        why="stretch and the library's own stop",
    )


def test_the_sag_of_a_level_leg_is_the_closed_form() -> None:
    leg = ha.suspension.heavy_leg(8.0, 0.0, horizontal_n=900.0, weight_n_m=30.0)
    a = 900.0 / 30.0
    assert leg.sag_m == pytest.approx(a * (np.cosh(4.0 / a) - 1), rel=1e-12)
    assert leg.length_m == pytest.approx(2 * a * np.sinh(4.0 / a), rel=1e-12)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("load_n", {"load_n": 0.0}),
        ("load_n", {"load_n": None}),
        ("load_n", {"load_n": float("nan")}),
        ("anchors_m", {"anchors_m": [(0.0, 0.0)]}),
        ("anchors_m[1]", {"anchors_m": [(0.0, 0.0), (0.0, 0.0)]}),
        ("anchors_m", {"anchors_m": [(0.0, float("inf")), (1.0, 0.0)]}),
        ("lengths_m", {"lengths_m": None}),
        ("lengths_m", {"lengths_m": [1.0]}),
        ("lengths_m[0]", {"lengths_m": [-1.0, 1.0]}),
        ("lengths_m", {"lengths_m": [0.4, 0.4]}),
        ("lengths_m", {"apex_m": (0.5, -1.0)}),
        ("apex_m", {"lengths_m": None, "apex_m": (0.5, 0.0, -1.0)}),
        ("apex_m", {"lengths_m": None, "apex_m": (2.0, -1.0)}),
        ("apex_m", {"lengths_m": None, "apex_m": (0.0, 0.0)}),
        ("apex_m", {"lengths_m": None, "apex_m": (0.5, 0.0)}),
    ],
)
def test_a_bad_bridle_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "anchors_m": [(0.0, 0.0), (1.0, 0.0)],
        "lengths_m": [1.0, 1.0],
        "load_n": 10.0,
    }
    with pytest.raises(ha.InputError) as refused:
        ha.bridle(**{**good, **changes})
    assert refused.value.field == field


def test_three_legs_in_one_upright_plane_leave_their_shares_open() -> None:
    anchors = [(0.0, 5.0), (1.0, 5.0), (2.0, 5.0)]
    with pytest.raises(ha.InputError, match="leave one answer"):
        ha.bridle(anchors, apex_m=(0.8, 3.0), load_n=1.0)
    hung = ha.bridle(anchors, lengths_m=[2.0, 3.0, 2.0], load_n=1.0)
    assert hung.slack.tolist() == [False, True, False]


def test_a_load_that_hangs_at_an_anchor_is_refused_by_name() -> None:
    """One anchor plumb under the other at the end of its leg: the slack leg has no direction."""
    with pytest.raises(ha.InputError, match="anchors_m\\[1\\]") as refused:
        ha.bridle([(0.0, 10.0), (0.0, 8.0)], [2.0, 5.0], 1000.0)
    assert refused.value.field == "lengths_m"
    near = ha.bridle([(0.0, 10.0), (0.0, 8.0)], [2.001, 5.0], 1000.0)
    assert np.isfinite(near.from_plumb_deg).all()
    assert near.slack.tolist() == [False, True]


def test_a_heavy_leg_says_that_its_length_is_reached() -> None:
    for length_m in (5.0 + 1e-9, 5.1, 50.0, 1e4):
        leg = ha.suspension.heavy_leg(3.0, 4.0, weight_n_m=20.0, length_m=length_m)
        assert leg.ok
        assert leg.residual < 1e-9
        assert leg.length_m == pytest.approx(length_m, rel=1e-9)
    assert ha.suspension.heavy_leg(3.0, 4.0, weight_n_m=20.0, horizontal_n=100.0).ok


@pytest.mark.parametrize("rise_m", [-3.0, 0.0, 3.0, 12.0])
def test_a_sloping_leg_sags_by_its_farthest_point_below_the_chord(rise_m: float) -> None:
    """Points of y = a cosh(x/a), a = H/w, from the end where its slope is V/H."""
    span_m, weight_n_m = 4.0, 20.0
    length_m = 1.1 * float(np.hypot(span_m, rise_m))
    found = ha.suspension.heavy_leg(span_m, rise_m, weight_n_m=weight_n_m, length_m=length_m)
    a_m = found.horizontal_n / weight_n_m
    start = np.arcsinh(-found.vertical_n[0] / found.horizontal_n)
    x_m = np.linspace(0.0, span_m, 20_001)
    curve_m = a_m * (np.cosh(start + x_m / a_m) - np.cosh(start))
    assert curve_m[-1] == pytest.approx(rise_m, abs=1e-9)
    below_m = (rise_m / span_m * x_m - curve_m).max()
    # A point every 0.2 mm is off the farthest by less than its square over the curve's radius.
    assert found.sag_m == pytest.approx(below_m, rel=1e-6)
