"""Near a singularity a named refusal, never a huge number; no figures of what was not solved."""

from __future__ import annotations

import dataclasses
from fractions import Fraction

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc._ending import Ended
from hangarc.closing import RestAtForce
from hangarc.suspension import OnLines
from hangarc.wind import WindLoads

G_M_S2 = Fraction("9.80665")


@pytest.mark.parametrize("below_m", [1e-5, 1e-7, 1e-9, 1e-12])
def test_a_bridle_pulled_straight_is_refused(below_m: float) -> None:
    """F = W/(2 sin): at 0.01 mm below the anchors' line 50,000 times the load."""
    anchors_m = [(0.0, 0.0, 10.0), (2.0, 0.0, 10.0)]
    with pytest.raises(ha.InputError, match="apex"):
        ha.bridle(anchors_m, apex_m=(1.0, 0.0, 10.0 - below_m), load_n=1000.0)
    with pytest.raises(ha.InputError, match="lengths_m"):
        ha.bridle(anchors_m, [float(np.hypot(1.0, below_m))] * 2, load_n=1000.0)


def test_a_flat_bridle_is_still_answered() -> None:
    anchors_m = [(0.0, 0.0, 10.0), (2.0, 0.0, 10.0)]
    found = ha.bridle(anchors_m, apex_m=(1.0, 0.0, 9.999), load_n=1000.0)
    np.testing.assert_allclose(found.force_n, 1000.0 * np.hypot(1.0, 1e-3) / 2e-3, rtol=1e-9)


@pytest.mark.parametrize("apart_m", [1e-3, 1e-6, 1e-9])
def test_two_supports_in_one_place_are_refused(apart_m: float) -> None:
    with pytest.raises(ha.InputError, match=r"a place apart from supports_m\[0\]"):
        ha.beam(20.0, [0.0, apart_m], [(15.0, 1000.0)], 1e6)


NO_REST = {
    OnLines: {"ended": "no rest found", "limits": (1, 2)},
    WindLoads: {"ended": "budget spent"},
    RestAtForce: {"ended": "no step lowers the energy"},
}


@pytest.mark.parametrize("kind", NO_REST)
def test_figures_of_no_rest_are_not_given(kind: type[Ended]) -> None:
    """The same fields as of a rest, all of them NaN but the residual, which says how far off."""
    fields = {field.name: 3.0 for field in dataclasses.fields(kind)}
    fields |= {
        field.name: np.ones(2) for field in dataclasses.fields(kind) if "Array" in str(field.type)
    }
    fields |= {"residual": 0.25, **NO_REST[kind]}
    found = kind(**fields)
    assert not found.ok
    assert "not given" in found.why + found.what_would_help
    assert found.residual == 0.25
    for field in dataclasses.fields(kind):
        value = getattr(found, field.name)
        if field.name not in ("ended", "residual"):
            assert np.isnan(np.asarray(value, dtype=float)).all(), field.name


def exact(points_m: np.ndarray, load_n: np.ndarray) -> list[Fraction]:
    """Force and moments about both axes, without rounding."""
    loads = [Fraction(float(load)) for load in load_n]
    moments = [
        sum(
            load * Fraction(float(place))
            for load, place in zip(loads, points_m[:, axis], strict=True)
        )
        for axis in (0, 1)
    ]
    return [sum(loads, Fraction()), *moments]


@pytest.mark.parametrize("count", [4, 50, 200])
def test_loads_of_many_unlike_hoists_balance_in_exact_arithmetic(count: int) -> None:
    """Rates eight powers of ten apart; the sums are checked as fractions."""
    draw = np.random.default_rng(count)
    for _ in range(10):
        points_m = draw.uniform(-10.0, 10.0, (count, 2))
        cg_m = draw.dirichlet(np.ones(count)) @ points_m
        rates = (10.0 ** draw.uniform(3.0, 11.0, count)).tolist()
        found = ha.rigid_hang(points_m, cg_m, 5e4, rates)
        assert found.residual <= 1e-9
        force, *moments = exact(points_m, found.load_n)
        assert abs(force / 50_000 - 1) < 1e-14 * count
        for moment, place in zip(moments, cg_m, strict=True):
            assert abs(moment - 50_000 * Fraction(float(place))) < 5e4 * 10.0 * 1e-14 * count


def test_sums_over_the_longest_hang_are_those_of_exact_arithmetic() -> None:
    """Weight and moment at each joint of 1000 cabinets, added up as fractions.

    A plain sum of so many terms is good to 1e-13 of the sum of their sizes: no balance here is
    helped by a compensated one.
    """
    count = 1000
    hang = builders.hang([0.0] * (count - 1))
    loads = ha.joint_loads(hang, 0.0)
    mass, place_m = Fraction(hang.cabinets[0].mass_kg), Fraction(hang.cabinets[0].cg_m[0])
    hinge_m = Fraction(hang.cabinets[0].hinge_x_m)
    for joint in (0, 1, 500, 999):
        weight_n = (count - joint) * mass * G_M_S2
        assert abs(Fraction(loads.weight_n[joint]) / weight_n - 1) < 1e-12
        moment_nm = weight_n * (hinge_m - place_m)
        assert abs(Fraction(loads.moment_nm[joint]) / moment_nm - 1) < 1e-12
