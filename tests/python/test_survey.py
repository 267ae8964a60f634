"""Built against planned: SciPy's χ² and least squares, and verdicts on drawn readings."""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import chi2

SPLAYS = [1.0, 2.0, 3.0, 5.0]
PICKS = [0.0, -0.6]


def readings(
    built: ha.Hang,
    tilt: float,
    cabinets: list[int | None],
    sd: float,
    rng: np.random.Generator,
    load_sd: float | None = None,
) -> list[ha.AngleReading | ha.LoadReading]:
    placed = ha.pose(built, tilt)
    true = {None: tilt, **dict(enumerate(placed.axis_deg))}
    found: list[ha.AngleReading | ha.LoadReading] = [
        ha.AngleReading(c, float(true[c] + rng.normal(0, sd)), sd) for c in cabinets
    ]
    if load_sd is not None:
        loads = ha.hoist_loads(built, tilt, PICKS).load_n
        found += [
            ha.LoadReading(k, float(load + rng.normal(0, load_sd)), load_sd)
            for k, load in enumerate(loads)
        ]
    return found


ALL: list[int | None] = [None, 0, 1, 2, 3, 4]


def test_chi_square_and_its_quantile_are_scipys() -> None:
    hang = builders.hang(SPLAYS)
    rng = np.random.default_rng(1)
    given = readings(hang, -1.0, ALL, 0.1, rng)
    found = ha.compare_with_plan(hang, -1.0, given, significance=0.01)
    angles = np.array([r.axis_deg for r in given])
    predicted = np.concatenate([[0.0], ha.pose(hang, 0.0).axis_deg])
    off = angles - predicted
    assert found.tilt_deg == pytest.approx(off.mean())
    assert found.chi_square == pytest.approx(((off - off.mean()) ** 2).sum() / 0.1**2)
    assert found.freedom == 5
    assert found.chi_square_limit == pytest.approx(chi2.ppf(0.99, 5), rel=1e-9)
    assert found.p_value == pytest.approx(chi2.sf(found.chi_square, 5), rel=1e-9)


@pytest.mark.parametrize("freedom", [1, 2, 4, 9])
@pytest.mark.parametrize("significance", [1e-4, 0.05, 0.5])
def test_quantiles_over_many_freedoms_are_scipys(freedom: int, significance: float) -> None:
    hang = builders.hang(SPLAYS)
    given = [ha.AngleReading(0, 0.0, 0.1)] * (freedom + 1)
    found = ha.compare_with_plan(hang, 0.0, given, significance=significance)
    assert found.chi_square_limit == pytest.approx(chi2.ppf(1 - significance, freedom), rel=1e-8)


def test_a_hang_as_planned_is_refused_as_often_as_stated() -> None:
    hang = builders.hang(SPLAYS)
    rng = np.random.default_rng(2)
    refused = sum(
        not ha.compare_with_plan(
            hang, 0.0, readings(hang, 0.4, ALL, 0.1, rng, load_sd=100.0), PICKS
        ).plan_accepted
        for _ in range(600)
    )
    # Binomial with p = 0.05: 30 ± 5.3; four standard deviations.
    assert 9 <= refused <= 51


def test_a_wrong_pin_is_named_when_every_cabinet_is_measured() -> None:
    rng = np.random.default_rng(3)
    named = 0
    for trial in range(60):
        joint = trial % 4
        built = list(SPLAYS)
        built[joint] = 4.0
        given = readings(builders.hang(built), 0.3, ALL, 0.1, rng)
        found = ha.compare_with_plan(builders.hang(SPLAYS), 0.0, given)
        expected = ["consistent"] * 4
        expected[joint] = "inconsistent"
        if found.verdict == expected:
            named += 1
            assert found.other_pins[0][:2] == (joint, 4.0)
        else:
            assert found.verdict[joint] == "cannot tell" or not found.other_pins
    # Each true hang is itself refused with probability 0.05.
    assert named >= 50


def test_top_and_bottom_alone_find_that_but_not_where_a_pin_is_wrong() -> None:
    rng = np.random.default_rng(4)
    built = builders.hang([1.0, 2.0, 4.0, 5.0])
    given = readings(built, 0.0, [None, 4], 0.05, rng)
    found = ha.compare_with_plan(builders.hang(SPLAYS), 0.0, given)
    assert not found.plan_accepted
    assert found.verdict == ["cannot tell"] * 4
    assert {pin[0] for pin in found.other_pins} == {0, 1, 2, 3}
    assert not found.determined.any()


def test_coarse_instruments_cannot_tell_and_fine_ones_can() -> None:
    hang = builders.hang(SPLAYS)
    rng = np.random.default_rng(5)
    coarse = ha.compare_with_plan(hang, 0.0, readings(hang, 0.0, ALL, 1.0, rng))
    assert coarse.verdict == ["cannot tell"] * 4
    fine = ha.compare_with_plan(hang, 0.0, readings(hang, 0.0, ALL, 0.05, rng))
    assert fine.verdict == ["consistent"] * 4


def test_one_reading_cannot_test_anything() -> None:
    found = ha.compare_with_plan(builders.hang(SPLAYS), 0.0, [ha.AngleReading(None, 0.3, 0.1)])
    assert found.freedom == 0
    assert found.verdict == ["cannot tell"] * 4


def test_deviations_and_covariance_are_scipys_least_squares() -> None:
    plan, built = builders.hang(SPLAYS), builders.hang([1.0, 2.0, 4.0, 5.0])
    given = readings(built, 0.2, ALL, 0.1, np.random.default_rng(6))
    found = ha.compare_with_plan(plan, 0.0, given)
    still = np.concatenate([[0.0], ha.pose(plan, 0.0).axis_deg])

    def residual(unknown: np.ndarray) -> np.ndarray:
        drop = np.concatenate([[0.0, 0.0], np.cumsum(unknown[1:])])
        angles = np.array([r.axis_deg for r in given])
        return (angles - (still + unknown[0] - drop)) / 0.1

    solved = least_squares(residual, np.zeros(5), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    np.testing.assert_allclose(found.deviation_deg, solved.x[1:], atol=1e-6)
    covariance = np.linalg.inv(solved.jac.T @ solved.jac)
    np.testing.assert_allclose(found.covariance_deg2, covariance, rtol=1e-5, atol=1e-9)
    assert found.determined.all()


def test_load_cells_see_a_wrong_pin_that_angles_at_the_top_do_not() -> None:
    rng = np.random.default_rng(7)
    plan, built = builders.hang(SPLAYS), builders.hang([10.0, 2.0, 3.0, 5.0])
    given = readings(built, 0.0, [None], 0.05, rng, load_sd=15.0)
    assert not ha.compare_with_plan(plan, 0.0, given, PICKS).plan_accepted


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("readings", {"readings": []}),
        ("readings[0]", {"readings": [3.0]}),
        ("readings[0]", {"readings": [ha.AngleReading(9, 0.0, 0.1)]}),
        ("readings[0].uncertainty", {"readings": [ha.AngleReading(0, 0.0, 0.0)]}),
        ("readings[0]", {"readings": [ha.LoadReading(0, 100.0, 1.0)]}),
        ("pick_x_m", {"pick_x_m": [0.0, 0.1, 0.2]}),
        ("significance", {"significance": 1.0}),
        ("hang", {"hang": None}),
    ],
)
def test_a_bad_survey_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "hang": builders.hang(SPLAYS),
        "tilt_deg": 0.0,
        "readings": [ha.AngleReading(0, 0.0, 0.1)],
    }
    with pytest.raises(ha.InputError) as refused:
        ha.compare_with_plan(**{**good, **changes})
    assert refused.value.field == field
