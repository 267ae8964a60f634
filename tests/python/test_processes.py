"""Calculations work in any process: forked, spawned, with warm threads or cold ones."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap

import pytest


def run(script: str, seconds: float = 90.0, **environment: str) -> str:
    """What a script prints that is run in a process of its own; a hang fails the test."""
    outcome = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(script)],
        env={**os.environ, **environment},
        cwd=os.path.dirname(__file__),
        capture_output=True,
        text=True,
        timeout=seconds,
    )
    assert outcome.returncode == 0, outcome.stderr
    return outcome.stdout.strip()


@pytest.mark.parametrize("threads", ["warm", "cold"])
@pytest.mark.parametrize("method", ["fork", "spawn", "forkserver"])
def test_a_pool_of_processes_gives_the_parents_answers(method: str, threads: str) -> None:
    told = run(
        f"""
        import warnings
        import multiprocessing
        from concurrent.futures import ProcessPoolExecutor
        import processes_work as work

        if __name__ == "__main__":
            warnings.simplefilter("ignore", DeprecationWarning)  # Python 3.12 warns of fork
            if {threads == "warm"}:
                before = [work.everything(seed) for seed in (0, 1)]
            context = multiprocessing.get_context("{method}")
            with ProcessPoolExecutor(2, mp_context=context) as pool:
                children = list(pool.map(work.everything, (0, 1)))
            assert children == [work.everything(seed) for seed in (0, 1)]
            print(len(children))
        """,
        HANGARC_NUM_THREADS="2",
    )
    assert told == "2"


def test_a_fork_of_a_fork_and_its_parent_work_on() -> None:
    told = run(
        """
        import os
        import processes_work as work

        def forked(then):
            child = os.fork()
            if child == 0:
                os._exit(then())
            return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])

        first = work.everything(0)
        grandchild = lambda: int(work.everything(0) != first)
        child = lambda: int(work.everything(0) != first) + 2 * forked(grandchild)
        print(forked(child), work.everything(0) == first)
        """,
        HANGARC_NUM_THREADS="2",
    )
    assert told == "0 True"


def test_forks_at_any_moment_of_a_running_field_work() -> None:
    told = run(
        """
        import os, threading
        import processes_work as work

        first = work.field_bits()
        stop = threading.Event()
        def busy():
            while not stop.is_set():
                work.field_bits()
        beside = threading.Thread(target=busy)
        beside.start()
        codes = []
        for _ in range(20):
            child = os.fork()
            if child == 0:
                os._exit(int(work.field_bits() != first))
            codes.append(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
        stop.set()
        beside.join()
        print(sum(codes), len(codes))
        """,
        HANGARC_NUM_THREADS="2",
    )
    assert told == "0 20"


def test_the_environment_sets_the_number_of_threads_and_a_call_goes_before_it() -> None:
    count = "import hangarc as ha; print(ha.thread_count()); ha.set_thread_count(4); "
    count += "print(ha.thread_count()); ha.set_thread_count(None); print(ha.thread_count())"
    assert run(count, RAYON_NUM_THREADS="3").split() == ["3", "4", "3"]
    assert run(count, HANGARC_NUM_THREADS="5", RAYON_NUM_THREADS="3").split() == ["5", "4", "5"]


def test_the_number_of_threads_is_that_of_the_system() -> None:
    told = run(
        """
        import os, time, hangarc as ha
        import processes_work as work
        def there():
            tasks = os.listdir("/proc/self/task")
            names = [open(f"/proc/self/task/{task}/comm").read() for task in tasks]
            return sum(name.startswith("hangarc-") for name in names)
        before = there()
        work.field_bits()
        # Each thread names itself once it runs, which on a busy machine may be after the field.
        deadline = time.monotonic() + 5.0
        while there() < 3 and time.monotonic() < deadline:
            time.sleep(0.01)
        print(before, there(), ha.thread_count())
        """,
        HANGARC_NUM_THREADS="3",
    )
    assert told == "0 3 3"


@pytest.mark.parametrize("threads", [0, -1, 4097, 1.5, True, "two"])
def test_a_number_of_threads_out_of_range_is_refused(threads: object) -> None:
    import hangarc as ha

    with pytest.raises(ha.InputError, match="threads"):
        ha.set_thread_count(threads)  # type: ignore[arg-type]


@pytest.mark.parametrize("backend", ["loky", "threading", "multiprocessing"])
def test_joblib_gives_the_same_answers(backend: str) -> None:
    told = run(
        f"""
        import warnings
        from joblib import Parallel, delayed
        import processes_work as work

        if __name__ == "__main__":
            warnings.simplefilter("ignore", DeprecationWarning)
            expected = [work.everything(seed) for seed in (0, 1)]
            found = Parallel(n_jobs=2, backend="{backend}")(
                delayed(work.everything)(seed) for seed in (0, 1)
            )
            print(found == expected)
        """,
        HANGARC_NUM_THREADS="2",
    )
    assert told == "True"


@pytest.mark.parametrize("processes", [True, False])
def test_dask_workers_give_the_same_answers(processes: bool) -> None:
    told = run(
        f"""
        from distributed import Client, LocalCluster
        import processes_work as work

        if __name__ == "__main__":
            expected = [work.everything(seed) for seed in (0, 1)]
            with LocalCluster(
                n_workers=2, threads_per_worker=1, processes={processes}, dashboard_address=None
            ) as cluster, Client(cluster) as client:
                print(client.gather(client.map(work.everything, (0, 1))) == expected)
        """,
        HANGARC_NUM_THREADS="2",
    )
    assert told == "True"
