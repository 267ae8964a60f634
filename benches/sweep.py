"""What a sweep costs: studies per second, threads, memory, overhead, and the obvious ways to do it.

    python benches/sweep.py                          # 300 studies, some minutes
    python benches/sweep.py --studies 10000          # half an hour on two quiet cores
    python benches/sweep.py --studies 40 --sizes 4 8 --whole 2

Each study asks one question, the demo study's with eight cabinets, of one arena of a family drawn
from seed 0, with one line a third octave and a search of 200 evaluations: a stated small budget,
with which the work beside the search weighs most. Every measurement is a process of its own, so
that its memory and its processor time are its own; what is compared runs in turns within this run.

*Overhead* compares processor time, which other programs on the machine disturb less than the
clock: of `sweep` on one thread, from objects to Parquet, against a loop over `optimise_splays` on
one thread, the bare search. A row of a sweep also holds loads, closing force and utilisations,
which the loop does not work out.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

BUDGET = 200
CABINETS = 8


def studies(count: int, cabinets: int = CABINETS, lines: int = 1) -> Iterator[dict[str, Any]]:
    """Ask the demo study's question about `count` arenas, with a hang of `cabinets`."""
    import hangarc as ha

    base = dataclasses.replace(ha.demo.study(), lines_per_band=lines)
    top, *others = base.hang.cabinets
    hang = dataclasses.replace(
        base.hang,
        cabinets=[top, *([others[0]] * (cabinets - 1))],
        splays_deg=[0.0] * (cabinets - 1),
    )
    return ha.sweeps.ask(dataclasses.replace(base, hang=hang), ha.sweeps.venues("arena", count))


def swept(count: int, **asked: Any) -> dict[str, Any]:
    """Sweep `count` studies made as they are needed."""
    import hangarc as ha

    with tempfile.TemporaryDirectory() as folder:
        summary = ha.sweep(studies(count), folder, quiet=True, **asked)
        peak_mib = peak()
        table = summary.table()
        parts = sum(entry.stat().st_size for entry in os.scandir(folder))
    assert (summary.rows, summary.errors) == (count, 0)
    objective_db = table.sort_by("place")["objective_db"].to_pylist()
    return {"sum_db": sum(objective_db), "bytes": parts, "peak_mib": peak_mib}


def peak() -> float:
    """The most memory this process has held so far; reading all rows back is not the sweep's."""
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def sweep(count: int) -> dict[str, Any]:
    """The sweep that everything is compared with."""
    return swept(count, budget_evaluations=BUDGET)


def made(count: int) -> dict[str, Any]:
    """The studies alone, made and thrown away."""
    for _ in studies(count):
        pass
    return {"sum_db": 0.0}


def objective_db(study: Any) -> float:
    """One bare search."""
    import hangarc as ha

    return float(ha.optimise_splays(study, budget_evaluations=BUDGET).objective_db)


def loop(count: int) -> dict[str, Any]:
    """A loop over `optimise_splays`, each search on all the process's threads."""
    return {"sum_db": sum(objective_db(item["study"]) for item in studies(count))}


def alone(study: Any) -> float:
    """One bare search on one thread, as a worker of joblib would do it."""
    import hangarc as ha

    ha.set_thread_count(1)
    return objective_db(study)


def with_joblib(count: int) -> dict[str, Any]:
    """joblib's processes over bare searches, one thread each."""
    from joblib import Parallel, delayed

    jobs = int(os.environ["HANGARC_NUM_THREADS"])
    work = (delayed(alone)(item["study"]) for item in studies(count))
    return {"sum_db": sum(Parallel(n_jobs=jobs)(work))}


def sized(cabinets: int, lines: int, budget: int | None, count: int) -> dict[str, Any]:
    """Core-seconds of a study of one size, on one thread."""
    import hangarc as ha

    asked = list(studies(count, cabinets, lines))
    began = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        summary = ha.sweep(asked, folder, quiet=True, budget_evaluations=budget)
        evaluations = summary.table()["evaluations"].to_pylist()
    assert summary.errors == 0
    core_s = (time.process_time() - began) / count
    return {"sum_db": 0.0, "core_s": core_s, "evaluations": sum(evaluations) / count}


WORK: dict[str, Callable[..., dict[str, Any]]] = {
    work.__name__: work for work in (sweep, made, loop, with_joblib, sized)
}


def child(work: str, arguments: list[Any]) -> None:
    """Do one measurement and print it; the process's own start is not counted."""
    import hangarc as ha

    if work != "sized":
        WORK[work](4)
    else:
        _ = ha.sweep
    began, began_cpu_s = time.perf_counter(), time.process_time()
    told = WORK[work](*arguments)
    told |= {"wall_s": time.perf_counter() - began, "cpu_s": time.process_time() - began_cpu_s}
    print(json.dumps(told))


def measure(work: str, *arguments: Any, threads: int) -> dict[str, float]:
    """Measure in a process of its own."""
    command = [sys.executable, __file__, "--child", work, json.dumps(arguments)]
    environment = {**os.environ, "HANGARC_NUM_THREADS": str(threads)}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"{work} {arguments} failed:\n{done.stderr}")
    told: dict[str, float] = json.loads(done.stdout)
    return told


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--studies", type=int, default=300)
    parser.add_argument("--sizes", type=int, nargs="*", default=[4, 8, 12, 16, 20, 24])
    parser.add_argument("--whole", type=int, default=3, help="studies of each size, whole searches")
    parser.add_argument("--child", nargs=2, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.child:
        return child(given.child[0], json.loads(given.child[1]))
    count = given.studies
    load = os.getloadavg()[0]
    print(f"{os.cpu_count()} cores, load average {load:.1f} before the start")
    print(f"{count} studies of {CABINETS} cabinets, {BUDGET} evaluations, 1 line a third octave\n")
    few = max(10, min(300, count // 5))
    throughput(max(1, count // 10))
    throughput(count)
    print()
    ratios(few)
    print()
    sizes(given.sizes, given.whole)


def throughput(count: int) -> None:
    """So many studies on two threads: a tenth of them and all show whether memory grows."""
    found = measure("sweep", count, threads=2)
    print(
        f"{count} studies on 2 threads: {count / found['wall_s']:.1f} studies/s, "
        f"{found['wall_s']:.1f} s by the clock, {found['cpu_s'] / count:.3f} core-s a study, "
        f"{found['cpu_s'] / found['wall_s']:.2f} cores had, "
        f"{found['peak_mib']:.0f} MiB peak, {found['bytes'] / count:.0f} bytes of Parquet a row"
    )


def side_by_side(few: int) -> float:
    """Seconds of two sweeps on one thread each that share nothing but the machine."""
    with ThreadPoolExecutor(2) as pool:
        both = [pool.submit(measure, "sweep", few, threads=1) for _ in range(2)]
    return max(one.result()["wall_s"] for one in both)


def ratios(few: int) -> None:
    """One thread, two threads, the bare search, the loop and joblib, in turns."""
    ways = [("sweep", 1), ("sweep", 2), ("loop", 1), ("loop", 2), ("with_joblib", 2), ("made", 1)]
    turns, apart_s = [], []
    for _ in range(3):
        turns.append({way: measure(way[0], few, threads=way[1]) for way in ways})
        apart_s.append(side_by_side(few))
    best = {
        way: {of: min(turn[way][of] for turn in turns) for of in ("wall_s", "cpu_s")}
        for way in ways
    }
    sums = {round(turn[way]["sum_db"], 9) for turn in turns for way in ways if way[0] != "made"}
    assert len(sums) == 1, f"every way finds the same answers: {sums}"
    print(f"the least of 3 turns of {few} studies, clock and core-seconds:")
    for (work, threads), took in best.items():
        core_s = "" if work == "with_joblib" else f", {took['cpu_s'] / few:.3f} core-s a study"
        print(
            f"  {work:11} {threads} threads: {took['wall_s']:7.2f} s, "
            f"{few / took['wall_s']:6.1f} studies/s{core_s}"
        )
    one, two = best["sweep", 1], best["sweep", 2]
    bare = best["loop", 1]
    print(f"  2 threads over 1, by the clock: {one['wall_s'] / two['wall_s']:.2f}")
    print(
        "  the same of two processes side by side that share nothing, the most this machine gives: "
        f"{2 * one['wall_s'] / min(apart_s):.2f}"
    )
    more = one["cpu_s"] / bare["cpu_s"] - 1
    print(f"  overhead over the bare search, processor time: {100 * more:+.1f} %")
    for work, words in (("loop", "a loop over optimise_splays"), ("with_joblib", "joblib over it")):
        print(f"  against {words}, by the clock: {best[work, 2]['wall_s'] / two['wall_s']:.2f}")


def sizes(cabinets: list[int], whole: int) -> None:
    """Core-seconds by size."""
    print(f"core-seconds per study by size, on 1 thread, mean of {whole} arenas:")
    print("cabinets | 1 line, 200 evaluations | 1 line, whole search | 6 lines, whole search")
    for size in cabinets:
        cells = []
        for lines, budget in ((1, BUDGET), (1, None), (6, None)):
            found = measure("sized", size, lines, budget, whole, threads=1)
            cells.append(f"{found['core_s']:.2f} ({found['evaluations']:.0f} evaluations)")
        print(f"{size:8} | " + " | ".join(cells), flush=True)


if __name__ == "__main__":
    main()
