"""Monte Carlo of hoist loads: 100 000 cases of 24 cabinets on four hoists.

Run: .venv/bin/python benches/suspension.py

Baselines in the same run: `rigid_hang` called case by case from Python, and a NumPy
least-squares solution of all cases at once that knows no slack hoist and so solves an easier
problem. Both draw masses and centres of gravity with NumPy before the clock starts.
"""

from __future__ import annotations

import os
import time

import hangarc as ha
import numpy as np

CASES = 100_000
ONE_BY_ONE = 5_000
RUNS = 5

POINTS = np.array([[0.2, -0.5], [0.2, 0.5], [-0.9, 0.5], [-0.9, -0.5]])
MASS = np.full(24, 64.0)
CG = np.column_stack([np.linspace(-0.25, -0.6, 24), np.zeros(24)])
RATE = 4e5
SPREAD = {"mass_spread": 0.02, "cg_spread_m": 0.015}
HIGH = 0.012


def best(function: object, *arguments: object) -> float:
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        function(*arguments)  # type: ignore[operator]
        times.append(time.perf_counter() - start)
    return min(times)


def ours() -> None:
    ha.suspension.hoist_scatter(
        POINTS,
        MASS,
        CG,
        stiffness_n_m=RATE,
        high_spread_m=HIGH,
        stiffness_spread=0.1,
        cases=CASES,
        **SPREAD,
    )


def drawn() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(1)
    mass = MASS * (1 + 0.02 * rng.standard_normal((CASES, 24)))
    place = CG + 0.015 * rng.standard_normal((CASES, 24, 2))
    weight = mass.sum(axis=1) * 9.80665
    cg = (mass[:, :, None] * place).sum(axis=1) / mass.sum(axis=1, keepdims=True)
    return weight, cg, HIGH * rng.standard_normal((CASES, 4))


def one_by_one(weight: np.ndarray, cg: np.ndarray, high: np.ndarray) -> None:
    for case in range(ONE_BY_ONE):
        ha.rigid_hang(POINTS, cg[case], float(weight[case]), RATE, high_m=high[case])


def without_slack(weight: np.ndarray, cg: np.ndarray, high: np.ndarray) -> np.ndarray:
    rows = np.column_stack([np.ones(4), POINTS])
    balance = weight[:, None] * np.column_stack([np.ones(CASES), cg])
    plane = (RATE * high @ rows - balance) @ np.linalg.inv(RATE * rows.T @ rows)
    return RATE * (high - plane @ rows.T)


def main() -> None:
    cases = drawn()
    seconds = best(ours)
    single = best(one_by_one, *cases) * CASES / ONE_BY_ONE
    linear = best(without_slack, *cases)
    slack = ha.suspension.hoist_scatter(
        POINTS,
        MASS,
        CG,
        stiffness_n_m=RATE,
        high_spread_m=HIGH,
        stiffness_spread=0.1,
        cases=CASES,
        **SPREAD,
    ).slack_share
    print(f"cores {os.cpu_count()}, best of {RUNS} runs, {CASES} cases, slack {slack.round(3)}")
    print(f"hoist_scatter, drawing included          {seconds:8.3f} s")
    print(
        f"rigid_hang one by one (from {ONE_BY_ONE})     {single:8.3f} s  {single / seconds:6.2f} x"
    )
    print(f"NumPy, all at once, slack not solved     {linear:8.3f} s  {linear / seconds:6.2f} x")


if __name__ == "__main__":
    main()
