"""Hostile values over the whole public face: a documented error or an answer without NaN.

`HANGARC_FUZZ_S` gives the seconds to spend (`make fuzz`); a run of `make test` takes a few examples
of each function.
"""

from __future__ import annotations

import contextlib
import faulthandler
import inspect
import os
import time
import warnings
from typing import Any

import fuzzing
import hangarc as ha
import pytest
from fuzzing import CALLS
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

LONG = float(os.environ.get("HANGARC_FUZZ_S", "0"))

#: Results that may hold NaN, and where their docstrings say so.
MAY_HOLD_NAN = {
    "closing_spread": "closing_force_n",
    "hoist_scatter": "load_n",
    "lines_of_sight": "met_m",
    "uncertainty_of": "closing_force_n",
}


def ask(name: str, arguments: dict[str, Any]) -> None:
    """Call, and let nothing through but an answer without NaN or a documented error."""
    function, _ = CALLS[name]
    begun = time.process_time()
    # Ends the process where a call does not come back at all; by the wall's clock.
    faulthandler.dump_traceback_later(120, exit=True)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", RuntimeWarning)
            answer = function(**arguments)
    except (ha.InputError, MemoryError):
        answer = None
    finally:
        faulthandler.cancel_dump_traceback_later()
    assert name in MAY_HOLD_NAN or not fuzzing.not_a_number_in(answer)
    took_s = time.process_time() - begun
    # 5 s by the clock of a quiet machine with one core. A busy machine charges a call now and then
    # with seconds that it never used: what is slow is slow again.
    if took_s >= 5.0:
        took_s = min(took_s, again_s(name, arguments))
    assert took_s < 5.0, f"{name} took {took_s:.1f} s"


def again_s(name: str, arguments: dict[str, Any]) -> float:
    """Processor time of the same call once more, whatever comes of it."""
    begun = time.process_time()
    with contextlib.suppress(ha.InputError, MemoryError):
        CALLS[name][0](**arguments)
    return time.process_time() - begun


@st.composite
def arguments_of(draw: st.DrawFn, name: str) -> dict[str, Any]:
    """Good arguments with one to all of them hostile or nearly good."""
    _, good = CALLS[name]
    given = dict(good)
    some = draw(st.sets(st.sampled_from(sorted(good)), min_size=1, max_size=3))
    for argument in some:
        nearly = fuzzing.varied(good[argument])
        given[argument] = draw(st.one_of(nearly, fuzzing.hostile))
    return given


@pytest.mark.parametrize("name", CALLS)
def test_good_arguments_are_answered(name: str) -> None:
    function, good = CALLS[name]
    answer = function(**good)
    assert name in MAY_HOLD_NAN or not fuzzing.not_a_number_in(answer)


def test_more_lines_in_a_band_than_a_number_holds_are_refused() -> None:
    """2³² of them were an OverflowError of `balanced`."""
    function, good = CALLS["balanced"]
    with pytest.raises(
        ha.InputError, match=r"lines_per_band = 4294967296: allowed is .* at most 24"
    ):
        function(**{**good, "lines_per_band": 2**32})


def test_a_balloon_measured_far_beyond_sound_is_refused() -> None:
    """Lines that stood 10¹⁰ Hz apart asked for 250 GB of delays to try, which ended the process."""
    function, good = CALLS["brought_to_one_metre"]
    for highest_hz in (1.1e6, 1e10, 1e15):
        with pytest.raises(ha.InputError, match=r"frequency_hz\[1\] = \S+: allowed is at most 1e6"):
            function(**{**good, "frequency_hz": [500.0, highest_hz]})
    function(**{**good, "frequency_hz": [500.0, 1e6]})


@pytest.mark.parametrize("name", CALLS)
def test_hostile_arguments_are_refused_or_answered(name: str) -> None:
    @settings(
        max_examples=25,
        deadline=None,
        derandomize=not LONG,
        suppress_health_check=list(HealthCheck),
        database=None,
    )
    @given(arguments_of(name))
    def fuzz(arguments: dict[str, Any]) -> None:
        ask(name, arguments)

    ends = time.monotonic() + LONG / len(CALLS)
    fuzz()
    while time.monotonic() < ends:
        fuzz()


# They run as long as they are asked to, take nothing, or draw.
WITHOUT_FIGURES = {
    ha.search.optimise_system,
    ha.uncertainty.sample_of,
    ha.lesson.exercises,
    ha.lesson.curves,
}


def test_every_public_function_that_computes_is_fuzzed() -> None:
    # These take answers only, draw and write, or run as long as they are asked to; each has tests
    # of its own with bad input.
    elsewhere = {ha.plot, ha.report, ha.sweeps, ha.demo, ha.io, ha.work}
    fuzzed = {function for function, _ in CALLS.values()}
    rooms = [getattr(ha, name) for name in ha.__all__ if inspect.ismodule(getattr(ha, name))]
    missing = [
        f"{room.__name__}.{name}"
        for room in rooms
        if room not in elsewhere
        for name in room.__all__
        if inspect.isfunction(getattr(room, name))
        and getattr(room, name) not in fuzzed | WITHOUT_FIGURES
    ]
    assert not missing
