"""Friction in the hinges: the band on the closing force, against roots found by SciPy."""

from __future__ import annotations

import builders
import hangarc as ha
import numpy as np
import pytest
from closing_reference import GRAVITY, Reference, random_hang
from outside import Outside, ran
from scipy.optimize import brentq


def moment_missing(
    force_n: float, lever: float, gravity: float, circle_m: float, weight: float, down: np.ndarray
) -> float:
    hinge_n = np.linalg.norm(np.array([0.0, weight]) + force_n * down)
    return float(force_n * lever - gravity - circle_m * hinge_n)


def band_by_root_finding(hang: ha.Hang, tilt_deg: float, circle_m: float) -> tuple[float, float]:
    """Greatest roots of T E = M ± a |(0, W) + T d|, moments by moving every point by itself."""
    reference = Reference(hang, tilt_deg)
    theta = reference.upper
    masses, chain, _ = reference.points(theta)
    gravity = reference.value(theta, 0.0)[1]
    lever = gravity - reference.value(theta, 1.0)[1]
    way = chain[reference.string(chain)]
    found = {-1.0: [0.0], 1.0: [0.0]}
    for joint in range(1, reference.count):
        below = next(row for row, point in enumerate(way) if point[2] >= joint)
        down = way[below, :2] - way[below - 1, :2]
        down /= np.linalg.norm(down)
        weight = GRAVITY * sum(mass for mass, _, cabinet in masses if cabinet >= joint)
        if lever[joint - 1] <= 0.0:
            continue
        for side, forces in found.items():
            problem = (lever[joint - 1], gravity[joint - 1], side * circle_m, weight, down)
            forces.append(brentq(moment_missing, -1e6, 1e6, problem, xtol=1e-9, rtol=1e-14))
    return max(found[-1.0]), max(found[1.0])


def test_the_band_is_where_roots_are_found(outside: Outside) -> None:
    rng = np.random.default_rng(20)
    compared = 0
    for _ in range(60):
        hang, tilt = random_hang(rng)
        radius, friction = float(rng.uniform(0.004, 0.02)), float(rng.uniform(0.05, 0.4))
        closing = ha.close(hang, tilt, steps=5, friction=friction, pin_radius_m=radius)
        if closing.closing_force_n is None:
            assert closing.holding_force_n is None
            assert closing.pulling_force_n is None
            continue
        low, high = band_by_root_finding(hang, tilt, friction * radius)
        outside.check(
            "closing a hang", "least and greatest closing force with friction in the hinges",
            ran("scipy", "roots of the moments by Brent's method of SciPy"), theirs=[low, high],
            ours=[closing.holding_force_n, closing.pulling_force_n], unit="N", within=1e-6,
            relative=1e-9, why="where the root finder stops",
        )  # fmt: skip
        assert low <= closing.closing_force_n <= high
        compared += 1
    assert compared > 40


def test_two_cabinets_by_hand():
    # One joint closes. Straight column, frame level, chain plumb at x = -0.7, pin at the front:
    # M = g (64 · 0.27 + 22 · 0.35), E = 0.7, H = W - T, so T = (M ± a W) / (E ± a).
    hang = builders.hang([0.0], "compression", frame=builders.frame(chain_anchor_m=(-0.7, 0.05)))
    moment, weight, circle = GRAVITY * (64 * 0.27 + 22 * 0.35), GRAVITY * (64 + 22), 0.2 * 0.01
    closing = ha.close(hang, 0.0, pin_radius_m=0.01)
    assert closing.pulling_force_n == pytest.approx(
        (moment + circle * weight) / (0.7 + circle), rel=1e-12
    )
    assert closing.holding_force_n == pytest.approx(
        (moment - circle * weight) / (0.7 - circle), rel=1e-12
    )


@pytest.mark.parametrize("none", [{"friction": 0.0, "pin_radius_m": 0.01}, {"pin_radius_m": 0.0}])
def test_without_friction_nothing_changes(none):
    hang = builders.hang([1.0, 2.0, 3.0], "compression")
    plain, same = ha.close(hang, -3.0), ha.close(hang, -3.0, **none)
    assert same.holding_force_n == same.pulling_force_n == same.closing_force_n
    assert same.pulling_joint == same.governing_joint
    assert repr(same.limits) == repr(plain.limits)
    assert (same.closing_force_n, same.clutch) == (plain.closing_force_n, plain.clutch)


def test_friction_is_in_the_chains_row_and_before_the_clutch():
    limits = {"chain_n": 20_000.0}
    gear = builders.gear(limits=limits)
    hang = builders.hang([1.0] * 7, "compression", gear=gear)
    free = ha.close(hang, 0.0)
    rubbing = ha.close(hang, 0.0, friction=0.4, pin_radius_m=0.05)
    chain = next(
        row for row in rubbing.limits if row.part == "closing_chain" and row.limit_n is not None
    )
    assert rubbing.pulling_force_n > free.closing_force_n
    # The clutch's upper edge stays the greatest the chain can come to.
    assert chain.force_n == pytest.approx(16_000.0)
    weak = builders.gear(clutch_n=(free.closing_force_n * 1.001, 16_000.0))
    slips = builders.hang([1.0] * 7, "compression", gear=weak)
    assert ha.close(slips, 0.0).clutch == "closes"
    assert ha.close(slips, 0.0, friction=0.4, pin_radius_m=0.05).clutch == (
        "may slip before it closes"
    )
    bare = builders.hang([1.0] * 7, "compression", gear=builders.gear(clutch_n=None))
    rows = ha.close(bare, 0.0, friction=0.4, pin_radius_m=0.05).limits
    pulled = next(row for row in rows if row.part == "closing_chain")
    assert pulled.force_n == pytest.approx(rubbing.pulling_force_n)
    assert pulled.state == "closing"


@pytest.mark.parametrize(
    ("field", "value"), [("friction", -0.1), ("friction", 1.5), ("pin_radius_m", 1.0)]
)
def test_friction_out_of_range_is_refused(field, value):
    with pytest.raises(ha.InputError) as caught:
        ha.close(builders.hang([1.0], "compression"), 0.0, **{field: value})
    assert caught.value.field == field
