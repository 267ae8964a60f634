"""How good the splay search is: against every candidate, random pins and differential evolution.

    python benches/search_quality.py            # 40 venues proved; 5 demo venues, DE at 10 x time
    python benches/search_quality.py --full     # DE at 100 x the search's wall time, 12 and 24

Every line compares within this one run. Baselines: enumeration (our own, exhaustive), 20,000 random
pin vectors, the plain start curve (the search with a budget of one evaluation a descent), and
scipy.optimize.differential_evolution over the same variables and the same evenness function.
"""

from __future__ import annotations

import argparse
import dataclasses
import time

import hangarc as ha
import numpy as np
from hangarc.demo.venues import studies
from scipy.optimize import differential_evolution

POSITIONS_DEG = [0.0, 1.4, 2.7, 4.2, 6.1, 8.3]


def generated(rng: np.random.Generator) -> ha.Study:
    """A six-cabinet hang in an invented venue of one to three blocks."""
    base = ha.demo.study()
    cabinet = dataclasses.replace(base.hang.cabinets[0], splay_positions_deg=POSITIONS_DEG)
    areas = []
    x, z = rng.uniform(6.0, 10.0), 0.0
    for number in range(rng.integers(1, 4)):
        length, rise = rng.uniform(6.0, 18.0), rng.uniform(0.0, 4.0)
        areas.append(
            ha.SeatArea(
                name=f"block {number + 1}",
                profile_m=[(x, z), (x + length, z + rise)],
                width_m=rng.uniform(12.0, 30.0),
            )
        )
        x, z = x + length + rng.uniform(-3.0, 2.0), z + rise + rng.uniform(0.0, 3.0)
    top_m = float(rng.uniform(6.0, 10.0))
    return dataclasses.replace(
        base,
        hang=dataclasses.replace(base.hang, cabinets=[cabinet] * 6, splays_deg=[0.0] * 5),
        venue=ha.Venue(name="generated (demo data)", areas=areas),
        top_range_m=(top_m, top_m),
        tilt_range_deg=(-6.0, 6.0),
        tilt_step_deg=2.0,
        min_trim_m=1.0,
        lines_per_band=3,
    )


def against_every_candidate(venues: int) -> None:
    rng = np.random.default_rng(20)
    misses = []
    for number in range(venues):
        study = generated(rng)
        proved, found = ha.optimise_splays(study, prove=True), ha.optimise_splays(study)
        gap_db = found.evenness_db - proved.evenness_db
        if gap_db > 1e-9:
            misses.append((number, gap_db))
    print(f"six cabinets, {venues} generated venues, {proved.evaluations} candidates each:")
    print(f"  optimum reached on {venues - len(misses)}; misses (venue, dB): {misses}")


def lengthened(study: ha.Study, cabinets: int) -> ha.Study:
    """The study with so many cabinets, and no limits that only a shorter hang keeps."""
    hang = study.hang
    return dataclasses.replace(
        study,
        hang=dataclasses.replace(
            hang,
            frame=dataclasses.replace(hang.frame, limits={}),
            bottom=dataclasses.replace(hang.bottom, limits={}),
            gear=None,
            cabinets=[dataclasses.replace(hang.cabinets[0], limits={})] * cabinets,
            splays_deg=[0.0] * (cabinets - 1),
        ),
        hoist_limit_n=None,
        roof_point_limit_n=None,
        min_trim_m=0.0,
        lines_per_band=3,
    )


def against_global_search(name: str, study: ha.Study, times: float) -> None:
    start = time.perf_counter()
    found = ha.optimise_splays(study)
    seconds = time.perf_counter() - start
    positions = np.array(study.hang.cabinets[0].splay_positions_deg["compression"])
    joints = len(study.hang.splays_deg)
    low, high = study.tilt_range_deg
    tops_m = np.arange(study.top_range_m[0], study.top_range_m[1] + 1e-9, study.top_step_m)

    def evenness_db(x: np.ndarray) -> float:
        pins = np.clip(x[:joints].astype(int), 0, len(positions) - 1)
        tilt_deg = low + study.tilt_step_deg * round((x[joints] - low) / study.tilt_step_deg)
        top_m = tops_m[min(int(x[joints + 1]), len(tops_m) - 1)]
        hang = dataclasses.replace(study.hang, splays_deg=positions[pins].tolist())
        return ha.evenness_db(
            hang, tilt_deg, float(top_m), study.venue, study.air, lines_per_band=3
        )

    bounds = [(0, len(positions))] * joints + [(low, high), (0, len(tops_m))]
    deadline = time.perf_counter() + times * seconds

    def out_of_time(*_: object, **__: object) -> bool:
        return time.perf_counter() > deadline

    evolved = differential_evolution(
        evenness_db, bounds, rng=1, maxiter=100_000, callback=out_of_time, polish=False
    )
    rng = np.random.default_rng(2)
    lower, upper = np.array(bounds, dtype=float).T
    random_db = min(evenness_db(rng.uniform(lower, upper)) for _ in range(RANDOM_VECTORS))
    start_db = ha.optimise_splays(study, budget_evaluations=1).evenness_db
    print(
        f"  {name:28s} {joints + 1:2d} cabinets: search {found.evenness_db:.3f} dB in"
        f" {seconds:.2f} s; DE ({times:.0f} x time) {evolved.fun:.3f}; random {random_db:.3f};"
        f" start curve {start_db:.3f}"
    )


RANDOM_VECTORS = 20_000


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--full", action="store_true")
    parser.add_argument("--venues", type=int, default=40)
    full = parser.parse_args().full
    against_every_candidate(parser.parse_args().venues)
    for cabinets in (12, 24) if full else (12,):
        for name, study in studies().items():
            against_global_search(name, lengthened(study, cabinets), 100.0 if full else 10.0)


if __name__ == "__main__":
    main()
