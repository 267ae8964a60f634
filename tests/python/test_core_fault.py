"""A panic in the core is one clear exception, and everything goes on working after it."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc import _core

STUDY = builders.study(hang=builders.hang([0.0] * 3), lines_per_band=1, pick_x_m=(0.2, -0.8))
POINTS_M = np.column_stack([np.linspace(8.0, 40.0, 300), np.zeros(300), np.full(300, 1.2)])


@pytest.mark.parametrize("on_pool", [False, True])
def test_a_panic_is_a_core_fault_that_any_handler_of_exceptions_catches(on_pool: bool) -> None:
    with pytest.raises(Exception, match=r"report it .*: index 7 of 3") as caught:
        _core.fault("index 7 of 3", on_pool)
    assert isinstance(caught.value, ha.CoreError)
    assert not isinstance(caught.value, ha.InputError)


def test_it_crosses_to_another_process() -> None:
    with pytest.raises(ha.CoreError) as caught:
        _core.fault("broken", False)
    copy = pickle.loads(pickle.dumps(caught.value))
    assert type(copy) is ha.CoreError
    assert str(copy) == str(caught.value)


def test_everything_works_after_faults_on_many_threads() -> None:
    def levels() -> bytes:
        hang = STUDY.hang
        return ha.pressure(hang, 0.0, 8.0, POINTS_M, [500.0, 4000.0]).tobytes()

    def found() -> object:
        return ha.optimise_splays(STUDY, budget_evaluations=100).to_dict()["splays_deg"]

    before = levels(), found()

    def broken(number: int) -> str:
        try:
            _core.fault(f"fault {number}", number % 2 == 0)
        except ha.CoreError as fault:
            return fault.args[0]  # type: ignore[no-any-return]
        return "no fault"

    with ThreadPoolExecutor(8) as threads:
        said = list(threads.map(broken, range(64)))
    assert said == [f"fault {number}" for number in range(64)]
    assert ha.thread_count() >= 1
    after = levels(), found()
    assert after[0] == before[0]
    np.testing.assert_array_equal(after[1], before[1])
