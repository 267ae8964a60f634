"""Hoists that only pull, against general optimisers, closed forms and drawn statistics."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Literal

import builders
import hangarc as ha
import numpy as np
import pytest
from outside import Kind, Outside, Source, ran
from scipy.optimize import linprog, minimize, nnls

SQUARE = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]])
WEIGHT = 12_000.0
SLSQP_FTOL = 1e-15


def test_three_hoists_are_the_solution_of_three_equations() -> None:
    points = np.array([[0.0, 0.0], [3.0, 0.2], [0.4, 2.5]])
    cg = np.array([1.0, 0.9])
    hang = ha.rigid_hang(points, cg, WEIGHT, stiffness_n_m=[1e5, 9e5, 3e5])
    balance = np.vstack([np.ones(3), points.T])
    np.testing.assert_allclose(hang.load_n, np.linalg.solve(balance, WEIGHT * np.r_[1, cg]))


def random_case(rng: np.random.Generator) -> dict[str, Any]:
    """Four to eight hoists, hooks off by centimetres: about half the cases have a slack hoist."""
    count = int(rng.integers(4, 9))
    points = rng.uniform(-4, 4, (count, 2))
    return {
        "points_m": points,
        "cg_m": rng.dirichlet(np.full(count, 0.7)) @ points,
        "weight_n": WEIGHT,
        "stiffness_n_m": rng.uniform(1e5, 1e6, count),
        "high_m": rng.normal(0, 0.01, count),
    }


def exactly(case: dict[str, Any], slack: np.ndarray) -> list[Fraction]:
    """Pulls in exact rational numbers, proved to be those of least energy.

    With the hoists of `slack` left out, balance and a plane frame are three linear equations. A
    solution that pulls with every hoist and leaves every slack hook below the frame satisfies the
    conditions of Karush, Kuhn and Tucker; the energy is strictly convex, so it is the one answer.
    """
    rows = [(Fraction(1), Fraction(x), Fraction(y)) for x, y in case["points_m"].tolist()]
    rates = [Fraction(k) for k in case["stiffness_n_m"].tolist()]
    high = [Fraction(h) for h in case["high_m"].tolist()]
    weight = Fraction(case["weight_n"])
    centre = (Fraction(1), *map(Fraction, case["cg_m"].tolist()))
    taut = np.flatnonzero(~slack).tolist()
    table = [
        [sum(rates[i] * rows[i][a] * rows[i][b] for i in taut) for b in range(3)]
        + [sum(rates[i] * high[i] * rows[i][a] for i in taut) - weight * centre[a]]
        for a in range(3)
    ]
    for pivot in range(3):  # Gauss and Jordan
        swap = next(r for r in range(pivot, 3) if table[r][pivot] != 0)
        table[pivot], table[swap] = table[swap], table[pivot]
        table[pivot] = [entry / table[pivot][pivot] for entry in table[pivot]]
        for r in {0, 1, 2} - {pivot}:
            share = table[r][pivot]
            table[r] = [x - share * y for x, y in zip(table[r], table[pivot], strict=True)]
    plane = [row[3] for row in table]
    rise = [sum(x * p for x, p in zip(row, plane, strict=True)) for row in rows]
    pulls = [rates[i] * (high[i] - rise[i]) if i in taut else Fraction(0) for i in range(len(rows))]
    assert all(pull >= 0 for pull in pulls)
    assert all(rise[i] >= high[i] for i in np.flatnonzero(slack))
    return pulls


def by_nnls(case: dict[str, Any]) -> np.ndarray:
    """Least energy as a least distance, which non-negative least squares solves without a weight.

    Lawson & Hanson, *Solving Least Squares Problems*, ch. 23: with x = √s r − h/√s in units of the
    weight, x = x₀ + Z y satisfies the balance, and the least |y| with r ≥ 0 follows from NNLS.
    """
    points, rates = case["points_m"], case["stiffness_n_m"]
    root = np.sqrt(rates.mean() / rates)
    high = case["high_m"] * rates.mean() / case["weight_n"] / root
    balance = np.vstack([np.ones(len(points)), points.T / 4]) / root
    wanted = np.r_[1.0, case["cg_m"] / 4] - balance @ high
    start = np.linalg.lstsq(balance, wanted, rcond=None)[0]
    free = np.linalg.svd(balance)[2][3:].T
    rows = np.vstack([free.T, -high - start])
    side = np.r_[np.zeros(free.shape[1]), 1.0]
    residual = rows @ nnls(rows, side, maxiter=1000)[0] - side
    nearest = start - free @ residual[:-1] / residual[-1]
    return (nearest + high) / root * case["weight_n"]


def by_quadratic_programme(case: dict[str, Any]) -> np.ndarray:
    points, rates = case["points_m"], case["stiffness_n_m"]
    balance = np.vstack([np.ones(len(points)), points.T / 4])
    wanted = np.r_[1.0, case["cg_m"] / 4]
    soft = rates.mean() / rates
    high = case["high_m"] * rates.mean() / case["weight_n"]
    found = minimize(
        lambda r: 0.5 * r @ (soft * r) - high @ r,
        np.full(len(points), 1 / len(points)),
        jac=lambda r: soft * r - high,
        bounds=[(0, None)] * len(points),
        constraints={"type": "eq", "fun": lambda r: balance @ r - wanted, "jac": lambda r: balance},
        method="SLSQP",
        options={"ftol": SLSQP_FTOL, "maxiter": 500},
    )
    return found.x * case["weight_n"]


def test_two_hundred_random_cases_agree_with_exact_numbers_and_general_optimisers(
    outside: Outside,
) -> None:
    rng = np.random.default_rng(42)
    misses: dict[str, list[float]] = {"ours": [], "nnls": [], "qp": []}
    slack, least_curvature = 0, np.inf
    pulls: dict[str, list[float]] = {"ours": [], "exact": [], "nnls": []}
    for _ in range(200):
        case = random_case(rng)
        hang = ha.rigid_hang(**case)
        rates = case["stiffness_n_m"]
        least_curvature = min(least_curvature, rates.mean() / rates.max())
        slack += int(hang.slack.any())
        exact = np.array([float(pull) for pull in exactly(case, hang.slack)])
        for name, loads in (
            ("ours", hang.load_n),
            ("nnls", by_nnls(case)),
            ("qp", by_quadratic_programme(case)),
        ):
            misses[name].append(np.abs(loads - exact).max() / WEIGHT)
            if name in pulls:
                pulls[name].extend(loads / WEIGHT)
        pulls["exact"].extend(exact / WEIGHT)
        residual = hang.load_n @ np.column_stack([np.ones(len(hang.load_n)), case["points_m"]])
        assert np.abs(residual - WEIGHT * np.r_[1, case["cg_m"]]).max() < 1e-10 * WEIGHT
    assert slack > 60
    # A few times the spacing of floats, more where three hoists that pull stand almost on a line.
    assert np.median(misses["ours"]) < 1e-15
    what, unit = "pulls of 200 frames on four to eight unlike hoists, some slack", "of the weight"
    outside.check(
        "many hoists", what,
        Source("Karush, Kuhn and Tucker's conditions, solved in fractions", Kind.DERIVED,
               "fractions of Python"),
        theirs=pulls["exact"], ours=pulls["ours"], unit=unit, within=1e-13,
        why="a few roundings, more where three that pull stand almost on a line",
    )  # fmt: skip
    outside.check(
        "many hoists", what, ran("scipy", "least distance by non-negative least squares of SciPy"),
        theirs=pulls["nnls"], ours=pulls["ours"], unit=unit, within=1e-12,
        why="the rounding of both",
    )  # fmt: skip
    assert np.median(misses["nnls"]) < 1e-14
    assert max(misses["nnls"]) < 1e-12
    # SLSQP stops at a change of its objective f: loads are good to √(2 ftol/f″).
    assert np.median(misses["qp"]) < 1e-14
    assert max(misses["qp"]) < np.sqrt(2 * SLSQP_FTOL / least_curvature)


def test_the_answer_satisfies_the_complementarity_exactly() -> None:
    """The frame is a plane: its rise at every hook that pulls is h − r/k, at slack ones above."""
    rng = np.random.default_rng(8)
    for _ in range(200):
        case = random_case(rng)
        hang = ha.rigid_hang(**case)
        pulls = ~hang.slack
        rise = case["high_m"] - hang.load_n / case["stiffness_n_m"]
        rows = np.column_stack([np.ones(len(rise)), case["points_m"]])
        if np.linalg.matrix_rank(rows[pulls], tol=1e-6) < 3:
            continue
        plane, *_ = np.linalg.lstsq(rows[pulls], rise[pulls], rcond=None)
        np.testing.assert_allclose(rows[pulls] @ plane, rise[pulls], atol=1e-10)
        assert (rows[~pulls] @ plane >= case["high_m"][~pulls] - 1e-10).all()


def is_held(points: np.ndarray, cg: np.ndarray) -> bool:
    try:
        ha.rigid_hang(points, cg, 1.0)
    except ha.InputError as error:
        return "tips" not in str(error)
    return True


def test_a_frame_tips_exactly_where_no_share_balances(outside: Outside) -> None:
    rng = np.random.default_rng(12)
    tipped = 0
    held = []
    for _ in range(100):
        points, cg = rng.uniform(-1, 1, (5, 2)), rng.uniform(-1, 1, 2)
        balance = np.vstack([np.ones(5), points.T])
        possible = linprog(np.zeros(5), A_eq=balance, b_eq=np.r_[1, cg]).status == 0
        held.append((possible, is_held(points, cg)))
        tipped += not possible
    assert 20 < tipped < 90
    theirs, ours = np.transpose(held)
    outside.check(
        "many hoists", "100 frames on five hoists: does any share of pulls hold them?",
        ran("scipy", "a linear programme by SciPy"), theirs=theirs, ours=ours, unit="yes or no",
        within=0.5, why="none: half of yes or no",
    )  # fmt: skip


def test_equal_hoists_take_the_load_of_least_squares(outside: Outside) -> None:
    hang = ha.rigid_hang(SQUARE, (0.7, 1.2), WEIGHT)
    rows = np.column_stack([np.ones(4), SQUARE])
    least = np.linalg.pinv(rows.T) @ (WEIGHT * np.array([1, 0.7, 1.2]))
    outside.check(
        "many hoists", "four equal hoists at a square's corners",
        ran("numpy", "least squares by the pseudoinverse of NumPy"), theirs=least,
        ours=hang.load_n, unit="N", relative=1e-12, why="rounding",
    )  # fmt: skip


def test_a_panned_hang_off_its_middle_shares_by_its_turned_centre() -> None:
    hang = builders.hang([1.0] * 7)
    placed = ha.pose(hang, -2.0)
    pan = np.radians(25.0)
    centre = np.array([0.1, -0.3]) + placed.cg_m[0] * np.array([np.cos(pan), np.sin(pan)])
    centre += 0.05 * np.array([-np.sin(pan), np.cos(pan)])
    points = np.array([(1, -1, 1.0), (1, 1, 1.0), (-1.5, 1, 1.0), (-1.5, -1, 1.0)])
    held = ha.suspension.hang_on_hoists(
        hang, -2.0, points, position_m=(0.1, -0.3), pan_deg=25.0, lateral_cg_m=0.05
    )
    np.testing.assert_allclose(held.cg_m[:2], centre)
    assert held.weight_n == pytest.approx(placed.mass_kg * 9.80665)
    same = ha.rigid_hang(points, held.cg_m, held.weight_n)
    np.testing.assert_allclose(held.load_n, same.load_n)
    assert held.lean_deg == 0.0


def test_a_hang_on_two_points_leans_until_its_centre_is_plumb() -> None:
    hang = builders.hang([1.0] * 3)
    placed = ha.pose(hang, 0.0)
    x = placed.cg_m[0]
    points = [(x - 0.4, 0.0, 0.5), (x + 0.6, 0.0, 0.5)]
    held = ha.suspension.hang_on_hoists(hang, 0.0, points, lateral_cg_m=0.03)
    assert abs(held.lean_deg) == pytest.approx(np.degrees(np.arctan2(0.03, 0.5 - placed.cg_m[1])))
    np.testing.assert_allclose(held.load_n, held.weight_n * np.array([0.6, 0.4]))
    # Swung plumb below the line, the centre is as far from it as it was.
    far_m = np.hypot(0.03, 0.5 - placed.cg_m[1])
    np.testing.assert_allclose(held.cg_m, [x, 0.0, 0.5 - far_m], atol=1e-12)


def test_a_pan_of_ninety_degrees_on_a_bifilar_hang() -> None:
    held = ha.suspension.pan_hold(2.0, 2.0, 5.0, weight_n=1000.0, pan_deg=90.0)
    height = np.sqrt(25 - 2)
    assert held.torque_nm == pytest.approx(1000.0 / height)
    assert held.line_force_n == pytest.approx(1000.0 * 5 / (2 * height))
    assert held.lift_m == pytest.approx(5 - height)


def scatter(**changes: Any) -> ha.suspension.HoistScatter:
    given: dict[str, Any] = {
        "points_m": SQUARE,
        "mass_kg": np.full(24, 60.0),
        "cg_m": np.column_stack([np.linspace(0.8, 1.2, 24), np.full(24, 1.0)]),
        "stiffness_n_m": 4e5,
        "mass_spread": 0.03,
        "cg_spread_m": 0.02,
        "high_spread_m": 0.004,
        "stiffness_spread": 0.15,
        "cases": 20_000,
        "seed": 3,
    }
    return ha.suspension.hoist_scatter(**{**given, **changes})


def test_the_envelope_is_that_of_the_cases() -> None:
    found = scatter(quantiles=[0.05, 0.5, 0.99])
    assert found.load_n.shape == (20_000, 4)
    held = found.load_n[~found.tips]
    np.testing.assert_allclose(found.least_n, held.min(axis=0))
    np.testing.assert_allclose(found.greatest_n, held.max(axis=0))
    np.testing.assert_allclose(found.mean_n, held.mean(axis=0))
    np.testing.assert_allclose(found.quantile_n, np.quantile(held, [0.05, 0.5, 0.99], axis=0))
    np.testing.assert_allclose(found.slack_share, (held == 0).mean(axis=0))


def test_the_spread_of_linear_cases_is_that_of_error_propagation() -> None:
    """No slack, equal springs: loads are linear in the draws; compare with the exact sigma."""
    high = scatter(mass_spread=0.0, cg_spread_m=0.0, stiffness_spread=0.0, high_spread_m=1e-4)
    # A square's hooks act on the one mode that a rigid frame cannot follow: ±h k / 4.
    sigma = 4e5 * 1e-4 * 0.5
    # 20 000 draws know a standard deviation to 0.5 % (one sigma).
    np.testing.assert_allclose(high.load_n.std(axis=0), sigma, rtol=0.025)
    mass = scatter(cg_spread_m=0.0, stiffness_spread=0.0, high_spread_m=0.0)
    total = mass.load_n.sum(axis=1) / 9.80665
    assert total.mean() == pytest.approx(24 * 60, rel=5e-4)
    assert total.std() == pytest.approx(60 * 0.03 * np.sqrt(24), rel=0.025)


def test_the_same_seed_gives_the_same_cases_and_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    first = scatter(progress=lambda done, total: told.append((done, total)))
    np.testing.assert_array_equal(first.load_n, scatter().load_n)
    assert told[-1] == (20_000, 20_000)
    assert not np.array_equal(first.load_n, scatter(seed=4).load_n)


def test_a_run_stops_when_its_progress_raises() -> None:
    def stop(done: int, total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        scatter(progress=stop)


@pytest.mark.parametrize(
    ("hoisting_class", "least", "rise_s_m"),
    [("HC1", 1.05, 0.17), ("HC2", 1.10, 0.34), ("HC3", 1.15, 0.51), ("HC4", 1.20, 0.68)],
)
def test_every_hoisting_class_has_the_standards_numbers(
    hoisting_class: Literal["HC1", "HC2", "HC3", "HC4"], least: float, rise_s_m: float
) -> None:
    """EN 13001-2, φ₂ = φ₂,min + β₂ v, from memory."""
    for speed_m_s in (0.05, 0.3):
        factor = ha.suspension.start_stop_factor(speed_m_s, hoisting_class=hoisting_class)
        assert factor == pytest.approx(least + rise_s_m * speed_m_s)


def test_start_stop_and_emergency_stop() -> None:
    assert ha.suspension.start_stop_factor(0.1) == pytest.approx(
        1.10 + 0.034
    )  # EN 13001-2, from memory
    # Energy: at the lowest point ½ m v² is in the spring beyond its static stretch.
    mass, speed, rate = 900.0, 0.2, 3e5
    extra = ha.suspension.emergency_stop_force_n(mass * 9.80665, speed, rate) - mass * 9.80665
    assert 0.5 * extra**2 / rate == pytest.approx(0.5 * mass * speed**2)


def test_combinations_are_those_given_and_no_other() -> None:
    combined = ha.suspension.combine_loads(
        {"weight": [1000.0, 800.0], "wind": [100.0, -300.0]},
        {"a": {"weight": 1.35, "wind": 0.0}, "b": {"weight": 1.0, "wind": 1.5}},
    )
    np.testing.assert_allclose(combined.force_n, [[1350, 1080], [1150, 350]])
    assert combined.governing == ["a", "a"]
    with pytest.raises(ha.InputError, match="wind"):
        ha.suspension.combine_loads({"weight": [1.0], "wind": [1.0]}, {"a": {"weight": 1.0}})


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("points_m", {"points_m": []}),
        ("points_m", {"points_m": [(0.0, float("nan")), (1.0, 1.0)]}),
        ("cg_m", {"cg_m": (5.0, 5.0)}),
        ("cg_m", {"cg_m": 1.0}),
        ("weight_n", {"weight_n": 0.0}),
        ("stiffness_n_m", {"stiffness_n_m": [1.0, 1.0]}),
        ("stiffness_n_m[2]", {"stiffness_n_m": [1.0, 1.0, -1.0, 1.0]}),
        ("high_m", {"stiffness_n_m": 1e5, "high_m": [0.0]}),
        ("stiffness_n_m", {"high_m": [0.0, 0.0, 0.0, 0.01]}),
    ],
)
def test_a_bad_frame_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {"points_m": SQUARE, "cg_m": (1.0, 1.0), "weight_n": 10.0}
    with pytest.raises(ha.InputError) as refused:
        ha.rigid_hang(**{**good, **changes})
    assert refused.value.field == field


def test_a_case_that_tips_has_no_loads() -> None:
    found = scatter(cg_spread_m=3.0, cases=500)
    assert 0 < found.tips.sum() < 500
    assert np.isnan(found.load_n[found.tips]).all()
    assert np.isfinite(found.load_n[~found.tips]).all()
    for summary in (found.least_n, found.mean_n, found.greatest_n, found.slack_share):
        assert np.isfinite(summary).all()
