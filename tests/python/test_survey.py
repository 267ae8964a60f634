"""Built against planned: SciPy's χ² and least squares, and verdicts on drawn readings."""

from __future__ import annotations

import itertools
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from closing_reference import GRAVITY
from outside import Outside, ran
from scipy.optimize import least_squares, minimize_scalar
from scipy.stats import binom, chi2, kstest, ncx2

SPLAYS = [1.0, 2.0, 3.0, 5.0]
PICKS = [0.0, -0.6]


def readings(
    built: ha.Hang,
    tilt: float,
    cabinets: list[int | None],
    sd: float,
    rng: np.random.Generator,
    load_sd: float | None = None,
) -> list[ha.survey.AngleReading | ha.survey.LoadReading]:
    placed = ha.pose(built, tilt)
    true = {None: tilt, **dict(enumerate(placed.axis_deg))}
    found: list[ha.survey.AngleReading | ha.survey.LoadReading] = [
        ha.survey.AngleReading(c, float(true[c] + rng.normal(0, sd)), sd) for c in cabinets
    ]
    if load_sd is not None:
        loads = ha.hoist_loads(built, tilt, PICKS).load_n
        found += [
            ha.survey.LoadReading(k, float(load + rng.normal(0, load_sd)), load_sd)
            for k, load in enumerate(loads)
        ]
    return found


ALL: list[int | None] = [None, 0, 1, 2, 3, 4]


def test_chi_square_and_its_quantile_are_scipys(outside: Outside) -> None:
    hang = builders.hang(SPLAYS)
    rng = np.random.default_rng(1)
    given = readings(hang, -1.0, ALL, 0.1, rng)
    found = ha.survey.compare_with_plan(hang, -1.0, given, significance=0.01)
    angles = np.array([r.axis_deg for r in given])
    predicted = np.concatenate([[0.0], ha.pose(hang, 0.0).axis_deg])
    off = angles - predicted
    assert found.tilt_deg == pytest.approx(off.mean())
    assert found.chi_square == pytest.approx(((off - off.mean()) ** 2).sum() / 0.1**2)
    assert found.freedom == 5
    outside.check(
        "survey", "limit of χ² at 1 in 100, and how likely the χ² found is",
        ran("scipy", "the χ² distribution of SciPy"),
        theirs=[chi2.ppf(0.99, 5), chi2.sf(found.chi_square, 5)],
        ours=[found.chi_square_limit, found.p_value], unit="1", relative=1e-9, why="rounding",
    )  # fmt: skip


@pytest.mark.parametrize("freedom", [1, 2, 4, 9])
@pytest.mark.parametrize("significance", [1e-4, 0.05, 0.5])
def test_quantiles_over_many_freedoms_are_scipys(
    freedom: int, significance: float, outside: Outside
) -> None:
    hang = builders.hang(SPLAYS)
    given = [ha.survey.AngleReading(0, 0.0, 0.1)] * (freedom + 1)
    found = ha.survey.compare_with_plan(hang, 0.0, given, significance=significance)
    outside.check(
        "survey", "limits of χ² for 1 to 9 degrees of freedom, 1 in 10 000 to 1 in 2",
        ran("scipy", "the χ² distribution of SciPy"), theirs=chi2.ppf(1 - significance, freedom),
        ours=found.chi_square_limit, unit="1", relative=1e-8, why="where the root finder stops",
    )  # fmt: skip


def test_a_hang_as_planned_is_refused_as_often_as_stated() -> None:
    hang = builders.hang(SPLAYS)
    rng = np.random.default_rng(2)
    refused = sum(
        not ha.survey.compare_with_plan(
            hang, 0.0, readings(hang, 0.4, ALL, 0.1, rng, load_sd=100.0), PICKS
        ).ok
        for _ in range(600)
    )
    # Binomial with p = 0.05: 30 ± 5.3; four standard deviations.
    assert 9 <= refused <= 51


def drawn(
    built: ha.Hang,
    tilt_deg: float,
    pick_x_m: list[float],
    what: tuple[list[int | None], list[int]],
    rng: np.random.Generator,
) -> list[ha.survey.AngleReading | ha.survey.LoadReading]:
    """Readings of these cabinets' angles and these hoists' loads, as the built hang shows them."""
    axis_deg = {None: tilt_deg, **dict(enumerate(ha.pose(built, tilt_deg).axis_deg))}
    loads_n = ha.hoist_loads(built, tilt_deg, pick_x_m or PICKS).load_n
    angle_sd, load_sd = 0.1, 60.0
    return [
        *(ha.survey.AngleReading(c, rng.normal(axis_deg[c], angle_sd), angle_sd) for c in what[0]),
        *(ha.survey.LoadReading(k, rng.normal(loads_n[k], load_sd), load_sd) for k in what[1]),
    ]


# Picks, cabinets and hoists read, degrees of freedom.
KINDS: dict[str, tuple[list[float], tuple[list[int | None], list[int]], int]] = {
    "angles, picks not known": ([], (ALL, []), 5),
    "angles on two picks": (PICKS, ([None, 2, 4], []), 2),
    "loads on two picks": (PICKS, ([], [0, 1]), 1),
    "one load of two, twice": (PICKS, ([], [0, 0]), 1),
    "angles and loads on two picks": (PICKS, (ALL, [0, 1]), 7),
    "one load on one pick": ([-0.3], ([], [0]), 1),
    "two loads on one pick": ([-0.3], ([], [0, 0]), 2),
    "an angle on one pick": ([-0.3], ([None], []), 1),
    "angles on one pick": ([-0.3], (ALL, []), 6),
    "angles and a load on one pick": ([-0.3], ([None, 4], [0]), 3),
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_readings_refuses_a_right_hang_as_often_as_stated(kind: str) -> None:
    pick_x_m, what, freedom = KINDS[kind]
    hang = builders.hang(SPLAYS)
    tilt = ha.hanging_tilt(hang, pick_x_m[0]).tilt_deg if len(pick_x_m) == 1 else 0.4
    rng = np.random.default_rng([21, list(KINDS).index(kind)])
    refused, p_values = 0, []
    for _ in range(600):
        given = drawn(hang, tilt, pick_x_m, what, rng)
        found = ha.survey.compare_with_plan(hang, 0.0, given, pick_x_m, most_wrong_pins=1)
        assert found.freedom == freedom
        assert found.ended == ("accepted" if found.p_value >= 0.05 else "refused")
        refused += not found.ok
        p_values.append(found.p_value)
    # One kind in twenty falls outside its own 95 % band; all of them lie within this at 95 %.
    low, high = binom.interval(1.0 - 0.05 / len(KINDS), 600, 0.05)
    assert low <= refused <= high
    # The p-values of right hangs are spread evenly: Kolmogorov and Smirnov at 1 in 1000.
    assert kstest(p_values, "uniform").pvalue > 1e-3


def test_a_load_far_off_is_refused_with_a_p_value_that_says_so() -> None:
    hang = builders.hang(SPLAYS)
    weight_n = float(ha.hoist_loads(hang, 0.0, [-0.3]).load_n[0])
    far = [ha.survey.LoadReading(0, weight_n + 100 * 50.0, 50.0)]
    found = ha.survey.compare_with_plan(hang, 0.0, far, -0.3)
    assert (found.ok, found.freedom) == (False, 1)
    assert found.p_value < 1e-300 or found.p_value == 0.0
    assert found.chi_square == pytest.approx(1e4)


def test_on_one_pick_a_wrong_pin_shows_in_the_frame_s_tilt() -> None:
    """The tilt follows from the pins: a pin off by 9° turns the frame by 10 standard deviations."""
    plan, built = builders.hang(SPLAYS), builders.hang([10.0, 2.0, 3.0, 5.0])
    planned, hangs = (ha.hanging_tilt(hang, -0.3).tilt_deg for hang in (plan, built))
    sd = abs(hangs - planned) / 10.0
    given = [ha.survey.AngleReading(None, hangs, sd)]
    found = ha.survey.compare_with_plan(plan, planned, given, -0.3)
    assert found.tilt_deg == pytest.approx(planned)
    assert not found.ok
    assert found.chi_square == pytest.approx(100.0)


def test_deviations_on_one_pick_are_scipys_least_squares(outside: Outside) -> None:
    plan, built = builders.hang(SPLAYS), builders.hang([1.0, 2.0, 4.0, 5.0])
    tilt = ha.hanging_tilt(built, -0.3).tilt_deg
    given = drawn(built, tilt, [-0.3], ([None, 1, 2, 3, 4], []), np.random.default_rng(22))
    found = ha.survey.compare_with_plan(plan, 0.0, given, -0.3)

    def predicted(splays: np.ndarray) -> np.ndarray:
        # pose() takes angles that are no pins; the centre of gravity hangs plumb under the pick.
        placed = ha.pose(plan, 0.0, splays_deg=splays)
        pick = np.array([-0.3, plan.frame.pick_z_m])
        off = pick - placed.cg_m
        turn = np.degrees(np.arctan2(off[0], off[1]))
        return np.concatenate([[turn], placed.axis_deg[1:] + turn])

    step = 1e-4
    values = np.array([r.axis_deg for r in given if isinstance(r, ha.survey.AngleReading)])
    start = np.array(SPLAYS)
    slopes = np.column_stack(
        [(predicted(start + h) - predicted(start - h)) / (2 * step) for h in step * np.eye(4)]
    )
    deviation = np.linalg.lstsq(slopes, values - predicted(start), rcond=None)[0]
    outside.check(
        "survey", "each joint's deviation, of a hang on one pick, whose tilt follows from its pins",
        ran("numpy", "least squares by NumPy, slopes by differences"), theirs=deviation,
        ours=found.deviation_deg, unit="°", within=1e-6, why="the step of the differences",
    )  # fmt: skip
    covariance = np.linalg.inv(slopes.T @ slopes) * 0.1**2
    np.testing.assert_allclose(found.covariance_deg2[1:, 1:], covariance, rtol=1e-5)
    along = slopes[0] @ covariance
    np.testing.assert_allclose(found.covariance_deg2[0, 1:], along, rtol=1e-5, atol=1e-9)
    assert found.covariance_deg2[0, 0] == pytest.approx(along @ slopes[0], rel=1e-5)


def test_a_wrong_pin_is_named_when_every_cabinet_is_measured() -> None:
    rng = np.random.default_rng(3)
    named = 0
    for trial in range(60):
        joint = trial % 4
        built = list(SPLAYS)
        built[joint] = 4.0
        given = readings(builders.hang(built), 0.3, ALL, 0.1, rng)
        found = ha.survey.compare_with_plan(builders.hang(SPLAYS), 0.0, given)
        expected = ["consistent"] * 4
        expected[joint] = "inconsistent"
        if found.verdict == expected:
            named += 1
            assert found.other_pins[0][:2] == (joint, 4.0)
        else:
            assert found.verdict[joint] == "cannot tell" or not found.other_pins
    # Each true hang is itself refused with probability 0.05.
    assert named >= 50


def accepted_by_trial(
    given: list[ha.survey.AngleReading | ha.survey.LoadReading],
    most_pins: int,
    significance: float = 0.05,
) -> dict[tuple[tuple[int, float], ...], float]:
    """Accepted hangs by trying all: predictions by angles and `hoist_loads`, χ² by SciPy."""
    limit = chi2.ppf(1 - significance, len(given) - 1)
    values = np.array(
        [r.axis_deg if isinstance(r, ha.survey.AngleReading) else r.load_n for r in given]
    )
    sd = np.array(
        [
            r.uncertainty_deg if isinstance(r, ha.survey.AngleReading) else r.uncertainty_n
            for r in given
        ]
    )
    joints = range(len(SPLAYS))
    found = {}
    for count in range(most_pins + 1):
        for wrong in itertools.combinations(joints, count):
            others = [[p for p in builders.POSITIONS_DEG if p != SPLAYS[j]] for j in wrong]
            for positions in itertools.product(*others):
                splays = list(SPLAYS)
                for joint, position in zip(wrong, positions, strict=True):
                    splays[joint] = position
                drop = np.concatenate([[0.0], np.cumsum(splays)])
                hang = builders.hang(splays)

                def chi_square(tilt: float, hang: ha.Hang = hang, drop: np.ndarray = drop) -> float:
                    loads = iter(())
                    if any(isinstance(r, ha.survey.LoadReading) for r in given):
                        loads = iter(ha.hoist_loads(hang, tilt, PICKS).load_n)
                    predicted = [
                        (tilt if r.cabinet is None else tilt - drop[r.cabinet])
                        if isinstance(r, ha.survey.AngleReading)
                        else next(loads)
                        for r in given
                    ]
                    return float((((values - predicted) / sd) ** 2).sum())

                least = minimize_scalar(chi_square, bracket=(-0.5, 0.5), tol=1e-10).fun
                if least <= limit:
                    found[tuple(zip(wrong, positions, strict=True))] = least
    return found


def verdicts_of(accepted: set[tuple[tuple[int, float], ...]]) -> list[str]:
    found = []
    for joint in range(len(SPLAYS)):
        here = {any(pin[0] == joint for pin in pins) for pins in accepted}
        words = {(False,): "consistent", (True,): "inconsistent"}
        found.append(words.get(tuple(here), "cannot tell"))
    return found


@pytest.mark.parametrize("load_sd", [None, 60.0])
@pytest.mark.parametrize(
    ("built", "sd"),
    [([2.0, 1.0, 3.0, 5.0], 0.15), ([1.0, 2.0, 3.0, 4.0], 0.25), (SPLAYS, 0.2)],
)
def test_accepted_hangs_and_verdicts_are_those_of_trying_all(
    built: list[float], sd: float, load_sd: float | None, outside: Outside
) -> None:
    rng = np.random.default_rng(9)
    given = readings(builders.hang(built), 0.2, ALL, sd, rng, load_sd=load_sd)
    found = ha.survey.compare_with_plan(builders.hang(SPLAYS), 0.0, given, PICKS)
    expected = accepted_by_trial(given, 2)
    others = {tuple(pins): chi_square for pins, chi_square in found.other_hangs}
    assert found.ok == (() in expected)
    assert set(others) == set(expected) - {()}
    if others:
        outside.check(
            "survey", "χ² of every hang with up to two pins elsewhere that readings accept",
            ran("scipy", "all of them tried, the free tilt by Brent's minimum of SciPy"),
            theirs=[expected[pins] for pins in others], ours=list(others.values()), unit="1",
            within=1e-9, relative=1e-6, why="where the minimiser stops",
        )  # fmt: skip
    outside.check(
        "survey", "how many such hangs the readings accept",
        ran("scipy", "all of them tried, the limit by the χ² distribution of SciPy"),
        theirs=len(set(expected) - {()}), ours=len(others), unit="hangs", within=0.5,
        why="none: half a hang",
    )  # fmt: skip
    sizes = [(len(pins), chi_square) for pins, chi_square in found.other_hangs]
    assert sizes == sorted(sizes)
    assert found.verdict == verdicts_of(set(expected))


def test_two_wrong_pins_are_found_and_verdicts_are_wrong_as_seldom_as_stated() -> None:
    """Pairs, swapped ones among them: the true hang is accepted at 95 %, and with it no verdict."""
    rng = np.random.default_rng(10)
    swaps = [[2.0, 1.0, 3.0, 5.0], [1.0, 3.0, 2.0, 5.0], [3.0, 2.0, 1.0, 5.0]]
    pairs = [[2.0, 2.0, 4.0, 5.0], [1.0, 1.0, 3.0, 6.0], [1.0, 2.0, 2.0, 6.0]]
    plan = builders.hang(SPLAYS)
    trials, accepted, named, false = 600, 0, 0, 0
    for trial in range(trials):
        built = (swaps + pairs)[trial % 6]
        given = readings(builders.hang(built), 0.3, ALL, 0.1, rng)
        found = ha.survey.compare_with_plan(plan, 0.0, given)
        wrong = [(j, s) for j, (s, p) in enumerate(zip(built, SPLAYS, strict=True)) if s != p]
        accepted += any(pins == wrong for pins, _ in found.other_hangs)
        truth = ["consistent"] * 4
        for joint, _ in wrong:
            truth[joint] = "inconsistent"
        named += found.verdict == truth
        false += any(v not in (t, "cannot tell") for v, t in zip(found.verdict, truth, strict=True))
    # Binomial, four standard deviations: 570 ± 21 accepted, no more than 30 + 21 false.
    assert 549 <= accepted <= 591
    assert false <= 51
    assert named >= 0.8 * trials


def test_a_plan_with_two_wrong_pins_is_refused_as_often_as_the_noncentral_chi_square_says(
    outside: Outside,
) -> None:
    rng = np.random.default_rng(11)
    plan, built, sd = builders.hang(SPLAYS), builders.hang([2.0, 1.0, 3.0, 5.0]), 0.3
    off = np.array([0.0, 0.0, -1.0, 0.0, 0.0, 0.0])
    power = ncx2.sf(chi2.ppf(0.95, 5), 5, ((off - off.mean()) ** 2).sum() / sd**2)
    trials = 600
    refused = sum(
        not ha.survey.compare_with_plan(plan, 0.0, readings(built, 0.0, ALL, sd, rng)).ok
        for _ in range(trials)
    )
    assert 0.4 < power < 0.8
    outside.check(
        "survey", "share of 600 wrongly pinned hangs that drawn readings refuse",
        ran("scipy", "the noncentral χ² distribution of SciPy"), theirs=power,
        ours=refused / trials, unit="1", within=4 * np.sqrt(power * (1 - power) / trials),
        why="four standard deviations of that many draws",
    )  # fmt: skip


def test_wrong_pins_that_cancel_between_measured_cabinets_are_not_denied() -> None:
    """Top and bottom hang as planned; one wrong pin is excluded, a swapped pair is not."""
    rng = np.random.default_rng(12)
    plan, swapped = builders.hang(SPLAYS), builders.hang([1.0, 3.0, 2.0, 5.0])
    given = readings(swapped, 0.0, [None, 4], 0.05, rng)
    found = ha.survey.compare_with_plan(plan, 0.0, given)
    assert found.ok
    assert found.verdict == ["cannot tell"] * 4
    assert [(1, 3.0), (2, 2.0)] in [pins for pins, _ in found.other_hangs]
    alone = ha.survey.compare_with_plan(plan, 0.0, given, most_wrong_pins=1)
    assert alone.verdict == ["consistent"] * 4


def test_three_wrong_pins_are_told_when_looked_for() -> None:
    rng = np.random.default_rng(13)
    plan, built = builders.hang(SPLAYS), builders.hang([2.0, 3.0, 4.0, 5.0])
    named = 0
    for _ in range(60):
        given = readings(built, 0.0, ALL, 0.1, rng)
        assert ha.survey.compare_with_plan(plan, 0.0, given).verdict == ["cannot tell"] * 4
        found = ha.survey.compare_with_plan(plan, 0.0, given, most_wrong_pins=3)
        named += found.verdict == ["inconsistent"] * 3 + ["consistent"]
    # The true hang is itself refused with probability 0.05.
    assert named >= 50
    with pytest.raises(ha.InputError) as refused:
        ha.survey.compare_with_plan(
            builders.hang([1.0] * 20),
            0.0,
            [ha.survey.AngleReading(0, 0.0, 0.1)] * 2,
            most_wrong_pins=4,
        )
    assert refused.value.field == "most_wrong_pins"


def test_top_and_bottom_alone_find_that_but_not_where_a_pin_is_wrong() -> None:
    rng = np.random.default_rng(4)
    built = builders.hang([1.0, 2.0, 4.0, 5.0])
    given = readings(built, 0.0, [None, 4], 0.05, rng)
    found = ha.survey.compare_with_plan(builders.hang(SPLAYS), 0.0, given)
    assert not found.ok
    assert found.verdict == ["cannot tell"] * 4
    assert {pin[0] for pin in found.other_pins} == {0, 1, 2, 3}
    assert not found.determined.any()


def test_coarse_instruments_cannot_tell_and_fine_ones_can() -> None:
    hang = builders.hang(SPLAYS)
    rng = np.random.default_rng(5)
    coarse = ha.survey.compare_with_plan(hang, 0.0, readings(hang, 0.0, ALL, 1.0, rng))
    assert coarse.verdict == ["cannot tell"] * 4
    fine = ha.survey.compare_with_plan(hang, 0.0, readings(hang, 0.0, ALL, 0.05, rng))
    assert fine.verdict == ["consistent"] * 4


def test_one_reading_cannot_test_anything() -> None:
    found = ha.survey.compare_with_plan(
        builders.hang(SPLAYS), 0.0, [ha.survey.AngleReading(None, 0.3, 0.1)]
    )
    assert found.freedom == 0
    assert found.verdict == ["cannot tell"] * 4


def test_a_reading_that_says_nothing_leaves_the_tilt_unmeasured() -> None:
    """Within a thousand million degrees any tilt at all agrees with it."""
    for uncertainty_deg, ended, tilt_deg in ((1.0, "nothing tested", 1.0), (1e9, "accepted", 0.0)):
        reading = ha.survey.AngleReading(0, 1.0, uncertainty_deg)
        found = ha.survey.compare_with_plan(builders.hang(SPLAYS), 0.0, [reading])
        assert (found.ended, found.freedom) == (ended, int(ended == "accepted"))
        assert found.tilt_deg == pytest.approx(tilt_deg)  # the planned one where nothing is read


def test_readings_that_contradict_one_another_are_fitted_where_chi_square_is_least(
    outside: Outside,
) -> None:
    """An angle read with the wrong sign or origin pulls where a load, by the tangent, does not
    follow: whole steps of Gauss and Newton then go to and fro for ever. χ² may have two valleys
    then; the tilt is the floor of the one that the fit came into."""
    hang = builders.hang(SPLAYS)
    rng = np.random.default_rng(19)
    level = ha.pose(hang, 0.0)
    behind, below = level.cg_m[0] - PICKS[1], level.cg_m[1] - hang.frame.pick_z_m
    ours, theirs = [], []
    for _ in range(80):
        angle = ha.survey.AngleReading(None, rng.uniform(-130.0, 130.0), rng.uniform(0.5, 5.0))
        load = ha.survey.LoadReading(0, rng.uniform(-2e4, 2e4), rng.uniform(200.0, 6000.0))

        def chi_square(tilt_deg: Any, angle: Any = angle, load: Any = load) -> Any:
            share = (behind - below * np.tan(np.radians(tilt_deg))) / (PICKS[0] - PICKS[1])
            off_n = load.load_n - GRAVITY * level.mass_kg * share
            off_deg = angle.axis_deg - tilt_deg
            return (off_deg / angle.uncertainty_deg) ** 2 + (off_n / load.uncertainty_n) ** 2

        found = ha.survey.compare_with_plan(hang, 0.0, [angle, load], PICKS)
        if found.ended in ("at the greatest tilt", "budget spent"):
            continue
        assert found.chi_square == pytest.approx(chi_square(found.tilt_deg), rel=1e-9)
        near = found.tilt_deg
        least = minimize_scalar(
            chi_square, bounds=(near - 1.0, near + 0.7), method="bounded", options={"xatol": 1e-10}
        )
        ours.append(found.tilt_deg)
        theirs.append(least.x)
    assert len(ours) > 70
    outside.check(
        "survey", "tilt that an angle and a load that contradict one another fit best, 80 times",
        ran("scipy", "least χ² by the bounded search of SciPy"), theirs=theirs, ours=ours,
        unit="°", within=1e-5, why="where the minimiser stops: root of rounding",
    )  # fmt: skip


def test_deviations_and_covariance_are_scipys_least_squares(outside: Outside) -> None:
    plan, built = builders.hang(SPLAYS), builders.hang([1.0, 2.0, 4.0, 5.0])
    given = readings(built, 0.2, ALL, 0.1, np.random.default_rng(6))
    found = ha.survey.compare_with_plan(plan, 0.0, given)
    still = np.concatenate([[0.0], ha.pose(plan, 0.0).axis_deg])

    def residual(unknown: np.ndarray) -> np.ndarray:
        drop = np.concatenate([[0.0, 0.0], np.cumsum(unknown[1:])])
        angles = np.array([r.axis_deg for r in given])
        return (angles - (still + unknown[0] - drop)) / 0.1

    solved = least_squares(residual, np.zeros(5), xtol=1e-14, ftol=1e-14, gtol=1e-14)
    outside.check(
        "survey", "each joint's deviation from its pin, from six angles read",
        ran("scipy", "least squares by SciPy"), theirs=solved.x[1:], ours=found.deviation_deg,
        unit="°", within=1e-6, why="where the two searches stop",
    )  # fmt: skip
    covariance = np.linalg.inv(solved.jac.T @ solved.jac)
    np.testing.assert_allclose(found.covariance_deg2, covariance, rtol=1e-5, atol=1e-9)
    assert found.determined.all()


def test_load_cells_see_a_wrong_pin_that_angles_at_the_top_do_not() -> None:
    rng = np.random.default_rng(7)
    plan, built = builders.hang(SPLAYS), builders.hang([10.0, 2.0, 3.0, 5.0])
    given = readings(built, 0.0, [None], 0.05, rng, load_sd=15.0)
    assert not ha.survey.compare_with_plan(plan, 0.0, given, PICKS).ok


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("readings", {"readings": []}),
        ("readings[0]", {"readings": [3.0]}),
        ("readings[0]", {"readings": [ha.survey.AngleReading(9, 0.0, 0.1)]}),
        ("readings[0].uncertainty", {"readings": [ha.survey.AngleReading(0, 0.0, 0.0)]}),
        ("readings[0]", {"readings": [ha.survey.LoadReading(0, 100.0, 1.0)]}),
        ("pick_x_m", {"pick_x_m": [0.0, 0.1, 0.2]}),
        ("significance", {"significance": 1.0}),
        ("most_wrong_pins", {"most_wrong_pins": 0}),
        ("hang", {"hang": None}),
    ],
)
def test_a_bad_survey_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "hang": builders.hang(SPLAYS),
        "tilt_deg": 0.0,
        "readings": [ha.survey.AngleReading(0, 0.0, 0.1)],
    }
    with pytest.raises(ha.InputError) as refused:
        ha.survey.compare_with_plan(**{**good, **changes})
    assert refused.value.field == field
