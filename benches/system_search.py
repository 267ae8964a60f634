"""Four hangs and 3,000 seats: how long, and against what?

``python benches/system_search.py [--times 30]`` searches the system, and gives the same question to
differential evolution (SciPy) for so many times as long; 3 if left out, a sample. Both are judged
by the unevenness of all hangs together. Wall time on all cores, processor time on all threads.
"""

from __future__ import annotations

import argparse
import dataclasses
import time

import hangarc as ha
import numpy as np
from hangarc.demo import theatre
from hangarc.search import System, optimise_system, system_levels, system_unevenness
from hangarc.search.system import sited
from scipy.optimize import differential_evolution

PLACES_ACROSS = 97


def asked() -> System:
    """Mains and delays of the theatre, each twice, over some 3,000 seats; the measure alone."""
    whole = theatre.system()
    areas = [dataclasses.replace(area, places_across=PLACES_ACROSS) for area in whole.venue.areas]
    venue = dataclasses.replace(whole.venue, areas=areas)
    goals = ha.Goals(level_price=0.0, roughness_price=0.0)
    hangs = [
        dataclasses.replace(study, venue=venue, goals=goals)
        for study in whole.hangs
        if study.name != "outfill"
    ]
    return System(name="Four hangs (demo data)", hangs=hangs)


class Question:
    """The system as numbers from 0 to 1: each pin, then each hang's tilt."""

    def __init__(self, system: System, deadline_s: float) -> None:
        self.system, self.deadline_s = system, deadline_s
        self.positions = [
            [c.splay_positions_deg["tension"] for c in study.hang.cabinets[:-1]]
            for study in system.hangs
        ]
        self.size = sum(len(rows) for rows in self.positions) + len(system.hangs)
        self.evaluations, self.best_db = 0, np.inf

    def __call__(self, x: np.ndarray) -> float:
        """Unevenness of all hangs together."""
        share, hung = iter(x.tolist()), []
        for study, rows in zip(self.system.hangs, self.positions, strict=True):
            splays = [row[min(int(next(share) * len(row)), len(row) - 1)] for row in rows]
            low, high = study.tilt_range_deg
            tilt_deg = low + next(share) * (high - low)
            tilt_deg = low + round((tilt_deg - low) / study.tilt_step_deg) * study.tilt_step_deg
            pinned = dataclasses.replace(study.hang, splays_deg=splays)
            hung += sited(study, pinned, tilt_deg, study.top_range_m[0])
        self.evaluations += 1
        goals = self.system.hangs[0].goals
        found = system_unevenness(
            hung, self.system.venue, air=self.system.air,
            lowest_hz=goals.lowest_hz, highest_hz=goals.highest_hz,
            lines_per_band=self.system.hangs[0].lines_per_band,
        )  # fmt: skip
        self.best_db = min(self.best_db, found.unevenness_db)
        return found.unevenness_db

    def late(self, *_: object, **__: object) -> bool:
        """Whether time is up."""
        return time.perf_counter() > self.deadline_s


def main() -> None:
    """Print times and unevenness."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=float, default=3.0)
    times = parser.parse_args().times
    system = asked()
    start, start_cpu = time.perf_counter(), time.process_time()
    found = optimise_system(system)
    took_s, took_cpu_s = time.perf_counter() - start, time.process_time() - start_cpu
    levels = system_levels(found.hung, system.venue, air=system.air)
    seats = len(levels.weight)
    print(
        f"{len(found.hung)} hangs, {seats} seats; {len(found.turns)} turns in "
        f"{took_s:.1f} s, {took_cpu_s:.1f} s of processor"
    )
    print(f"unevenness {found.unevenness_db:.3f} dB; one by one {found.one_by_one_db:.3f} dB")
    question = Question(system, time.perf_counter() + times * took_s)
    differential_evolution(
        question, [(0.0, 1.0)] * question.size, seed=0, maxiter=10**6, tol=0.0, polish=False,
        callback=question.late,
    )  # fmt: skip
    print(
        f"differential evolution, {times:g} times as long, {question.evaluations} systems: "
        f"{question.best_db:.3f} dB"
    )


if __name__ == "__main__":
    main()
