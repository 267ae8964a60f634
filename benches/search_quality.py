"""How good the splay search is: against every candidate, random pins and differential evolution.

    python benches/search_quality.py    # all of it, some twenty minutes
    python benches/search_quality.py --venues 0 --cabinets 12

Every line compares within this one run. Baselines: enumeration (our own, exhaustive), 20,000 random
pin vectors, the plain start curve (the search with a budget of one evaluation), and
scipy.optimize.differential_evolution over the same variables, the same evenness function and the
same bounds on the tilt (two hoists cannot push), with 100 times the search's wall time, counted in
its own processor time.
"""

from __future__ import annotations

import argparse
import dataclasses
import functools
import os
import statistics
import time

import hangarc as ha
import numpy as np
from hangarc.demo.venues import studies
from scipy.optimize import NonlinearConstraint, differential_evolution

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


def proofs() -> None:
    """How long it takes to look at every candidate: six positions, seven tilts, demo venue."""
    base = generated(np.random.default_rng(20))
    for cabinets in (5, 6, 7, 8):
        hang = dataclasses.replace(
            base.hang,
            cabinets=[base.hang.cabinets[0]] * cabinets,
            splays_deg=[0.0] * (cabinets - 1),
        )
        start = time.perf_counter()
        proved = ha.optimise_splays(dataclasses.replace(base, hang=hang), prove=True)
        candidates = len(POSITIONS_DEG) ** (cabinets - 1) * 7
        print(
            f"  proof for {cabinets} cabinets: {candidates} candidates"
            f" in {time.perf_counter() - start:.2f} s ({proved.status})"
        )


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


def with_constraints() -> None:
    """The demo study, limits, clutch and all, with 16 cabinets."""
    base = ha.demo.study()
    hang = dataclasses.replace(
        base.hang, cabinets=[base.hang.cabinets[0]] * 16, splays_deg=[0.0] * 15
    )
    study = dataclasses.replace(base, hang=hang)
    seconds = []
    for _ in range(5):
        start = time.perf_counter()
        found = ha.optimise_splays(study)
        seconds.append(time.perf_counter() - start)
    print(
        f"16 cabinets with constraints: {found.status}, {found.evaluations} evaluations,"
        f" {len(found.margins)} margins; {statistics.median(seconds):.2f} s median of 5"
        f" (load {os.getloadavg()[0]:.1f}, {os.cpu_count()} cores)"
    )


def against_global_search(name: str, study: ha.Study) -> bool:
    start = time.perf_counter()
    found = ha.optimise_splays(study)
    seconds = time.perf_counter() - start
    positions = np.array(study.hang.cabinets[0].splay_positions_deg["compression"])
    joints = len(study.hang.splays_deg)
    low, high = study.tilt_range_deg
    tops_m = np.arange(study.top_range_m[0], study.top_range_m[1] + 1e-9, study.top_step_m)
    tilts_deg = np.arange(low, high + 1e-9, study.tilt_step_deg)

    @functools.lru_cache(maxsize=1)
    def hang_of(splays_deg: tuple[float, ...]) -> ha.Hang:
        return dataclasses.replace(study.hang, splays_deg=splays_deg)

    def hung(x: np.ndarray) -> tuple[ha.Hang, float]:
        pins = np.minimum(x[:joints].astype(int), len(positions) - 1)
        tilt_deg = float(tilts_deg[min(int(x[joints]), len(tilts_deg) - 1)])
        return hang_of(tuple(positions[pins].tolist())), tilt_deg

    def evenness_db(x: np.ndarray) -> float:
        top_m = float(tops_m[min(int(x[joints + 1]), len(tops_m) - 1)])
        venue, air = study.venue, study.air
        return ha.evenness_db(*hung(x), top_m, venue, air, lines_per_band=study.lines_per_band)

    def tilt_margins_deg(x: np.ndarray) -> list[float]:
        """What the two hoists leave of the tilt, up and down; negative where one had to push."""
        hang, tilt_deg = hung(x)
        lowest_deg, highest_deg = ha.hoist_loads(hang, tilt_deg, study.pick_x_m).tilt_range_deg
        return [tilt_deg - lowest_deg, highest_deg - tilt_deg]

    def judged_db(result: ha.SearchResult) -> float:
        """By the same function as the others."""
        return ha.evenness_db(
            result.hang,
            result.tilt_deg,
            result.top_m,
            study.venue,
            study.air,
            lines_per_band=study.lines_per_band,
        )

    found_db = judged_db(found)
    bounds = [(0, len(positions))] * joints + [(0, len(tilts_deg)), (0, len(tops_m))]
    deadline = time.process_time() + TIMES * seconds

    def out_of_time(*_: object, **__: object) -> bool:
        return time.process_time() > deadline

    evolved = differential_evolution(
        evenness_db,
        bounds,
        rng=1,
        maxiter=1_000_000,
        callback=out_of_time,
        polish=False,
        tol=0,
        constraints=NonlinearConstraint(tilt_margins_deg, 0.0, np.inf),
    )
    rng = np.random.default_rng(2)
    lower, upper = np.array(bounds, dtype=float).T
    vectors = (rng.uniform(lower, upper) for _ in range(RANDOM_VECTORS))
    hangable = (x for x in vectors if min(tilt_margins_deg(x)) >= 0.0)
    random_db = min(map(evenness_db, hangable), default=np.inf)
    start_db = judged_db(ha.optimise_splays(study, budget_evaluations=1))
    # Where two hangs are the same, the last digits of the sums may differ.
    not_worse = found_db <= min(evolved.fun, random_db, start_db) + 1e-9
    print(
        f"  {name:28s} {joints + 1:2d} cabinets: search {found_db:.4f} dB in {seconds:.2f} s;"
        f" DE {evolved.fun:.4f} ({evolved.nfev} hangs); random {random_db:.4f};"
        f" start curve {start_db:.4f}; ratios to the search's {evolved.fun / found_db:.3f},"
        f" {random_db / found_db:.1f}, {start_db / found_db:.1f};"
        f" {'not worse' if not_worse else 'WORSE'}",
        flush=True,
    )
    return not_worse


RANDOM_VECTORS = 20_000
TIMES = 100.0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--venues", type=int, default=40, help="how many to prove")
    parser.add_argument("--cabinets", type=int, nargs="*", default=[12, 24], help="against others")
    arguments = parser.parse_args()
    if arguments.venues:
        against_every_candidate(arguments.venues)
        proofs()
    with_constraints()
    print(f"against others, DE with {TIMES:.0f} times the search's time:")
    held = [
        against_global_search(name, lengthened(study, cabinets))
        for cabinets in arguments.cabinets
        for name, study in studies().items()
    ]
    print(f"  not worse in {sum(held)} of {len(held)}")


if __name__ == "__main__":
    main()
