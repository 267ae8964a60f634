"""Eight Python threads on the same objects get the answers that one gets."""

from __future__ import annotations

import pickle
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest

THREADS = 8

TENSION = builders.hang([1.0, 2.0, 3.0])
CLOSED = builders.hang([1.0, 2.0, 3.0], "compression", gear=builders.gear())
STUDY = builders.study(hang=builders.hang([0.0] * 3), lines_per_band=1, pick_x_m=(0.2, -0.8))
RIG = ha.Rig(hangs=[ha.Placed(hang=TENSION, tilt_deg=0.0, top_m=8.0)])
POINTS_M = np.column_stack([np.linspace(8.0, 40.0, 300), np.zeros(300), np.full(300, 1.2)])
ANSWER = ha.evaluate(STUDY)

CALLS: dict[str, Callable[[], Any]] = {
    "pose": lambda: ha.pose(TENSION, 1.0).corners_m,
    "hoist_loads": lambda: ha.hoist_loads(TENSION, 0.0, [0.2, -0.8]).load_n,
    "close": lambda: ha.close(CLOSED, 0.0).path["force_n"],
    "shortening": lambda: ha.shortening(CLOSED, 0.0).to_dict(),
    "spread": lambda: ha.closing.closing_spread(CLOSED, 0.0, mass_spread=0.02, cases=200).to_dict(),
    "wind": lambda: ha.wind_loads(
        TENSION, 0.0, [0.2, -0.8], ha.Wind(speed_m_s=12.0), top_m=8.0
    ).to_dict(),
    "rigid_hang": lambda: (
        ha.rigid_hang(
            [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)], (1.0, 0.7), 5000.0, 4e5
        ).load_n
    ),
    "pressure": lambda: ha.pressure(TENSION, 0.0, 8.0, POINTS_M, [500.0, 4000.0]),
    "point_levels": lambda: (
        ha.acoustics.point_levels(RIG, POINTS_M, lines_per_band=1).band_level_db
    ),
    "seats": lambda: ha.seat_levels(TENSION, 0.0, 8.0, STUDY.venue, lines_per_band=1).level_db,
    "search": lambda: ha.optimise_splays(STUDY, budget_evaluations=200).to_dict(),
    "pickle": lambda: pickle.loads(pickle.dumps(STUDY)).to_json(),
    "json": lambda: ha.Study.from_json(STUDY.to_json()).to_json(),
    "verify": lambda: [row.to_dict() for row in ha.verify(ANSWER).rows],
}


def same(one: Any, other: Any) -> bool:
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, np.ndarray):
        return one.tobytes() == other.tobytes()
    return bool(one == other) or (one != one and other != other)


def at_once(calls: list[Callable[[], Any]]) -> list[Any]:
    """Each call on a thread of its own, all begun at the same moment."""
    barrier = threading.Barrier(len(calls))

    def begun(call: Callable[[], Any]) -> Any:
        barrier.wait()
        return call()

    with ThreadPoolExecutor(len(calls)) as pool:
        return [future.result() for future in [pool.submit(begun, call) for call in calls]]


@pytest.mark.parametrize("name", CALLS)
def test_eight_threads_ask_the_same(name: str) -> None:
    alone = CALLS[name]()
    for found in at_once([CALLS[name]] * THREADS):
        assert same(found, alone)


def test_eight_threads_ask_everything_at_once() -> None:
    alone = {name: call() for name, call in CALLS.items()}
    names = list(CALLS)

    def all_from(start: int) -> list[tuple[str, Any]]:
        order = names[start:] + names[:start]
        return [(name, CALLS[name]()) for name in order]

    starts = [index * len(names) // THREADS for index in range(THREADS)]
    for answers in at_once([lambda start=start: all_from(start) for start in starts]):
        for name, found in answers:
            assert same(found, alone[name]), name


def test_the_thread_count_changes_while_others_work() -> None:
    alone = CALLS["pressure"]()
    stop = threading.Event()

    def changing() -> None:
        count = 0
        while not stop.is_set():
            count = count % 4 + 1
            ha.set_thread_count(count)

    changer = threading.Thread(target=changing)
    changer.start()
    try:
        found = at_once([CALLS["pressure"]] * THREADS)
    finally:
        stop.set()
        changer.join()
        ha.set_thread_count(None)
    assert all(same(one, alone) for one in found)


def test_an_error_on_one_thread_leaves_the_others_alone() -> None:
    def refused() -> str:
        with pytest.raises(ha.InputError) as caught:
            ha.pose(TENSION, float("nan"))
        return str(caught.value)

    found = at_once([refused, CALLS["close"]] * (THREADS // 2))
    alone = CALLS["close"]()
    assert all("tilt_deg" in message for message in found[::2])
    assert all(same(one, alone) for one in found[1::2])


def test_two_searches_are_stopped_apart() -> None:
    """A callback that raises ends its own search; the other's answer is whole."""

    class EnoughError(Exception):
        pass

    def stopped() -> str:
        def ask(_: int) -> None:
            raise EnoughError

        with pytest.raises(EnoughError):
            ha.answer(STUDY, progress=ask)
        return "stopped"

    found = at_once([stopped, CALLS["search"]] * 2)
    alone = CALLS["search"]()
    assert found[::2] == ["stopped"] * 2
    assert all(same(one, alone) for one in found[1::2])
