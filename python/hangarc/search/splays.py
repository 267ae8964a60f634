"""Which pins, which tilt, which height serve the seats best and can be hung."""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Callable, Iterator
from typing import Any, Literal

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import besides, instance, real, switch, whole
from hangarc._tables import Rows
from hangarc.model import Hang, Study
from hangarc.search.result import HoleRow, SearchResult, missed_of, result_of, results_of
from hangarc.search.system import check_found, check_start


@by_name
def optimise_splays(
    study: Study,
    seed: int = 0,
    prove: bool = False,
    *,
    budget_evaluations: int | None = None,
    budget_s: float | None = None,
    progress: Callable[[int], object] | None = None,
) -> SearchResult:
    """Find the pins, tilt and height of the least objective among those that can be hung.

    Minimises J − λ M + ρ R + ω O: J the spread over seats and bands, M the mean level of the
    seats, R the roughness of the pins, O the level off the seats, each at its price in
    `study.goals`. Several runs, each on its own, walk and cool (Kirkpatrick, Gelatt and Vecchi,
    Science 220, 1983) among sketches, with fewer seats and frequencies, then with all seats,
    and end in a descent that goes on until no single, pair, bend or block move betters; from
    the best end two such moves are tried together. They start from curves of the
    stationary-phase law (Gölles and Zotter, Acta Acustica 7:52, 2023), a straight hang and the
    study's own pins. Of hangs within 0.01 dB of the best, the louder and then the smoother is
    the answer. Stated limits, the slip clutch's band, the reachable tilts and the trim height
    are hard constraints. The same seed gives the same answer for any number of threads.

    Parameters
    ----------
    study : Study
        The question.
    seed : int
        Chooses the random starts.
    prove : bool
        Look at every candidate instead, at most 2·10⁷ of them. A core beside a busy one took
        14 s for 2·10⁶ (8 cabinets of 6 positions, 7 tilts); benches/search_quality.py measures it.
    budget_evaluations : int, optional
        Make no more evaluations than this, or five for each number of cabinets; the answer
        is the same on every machine.
    budget_s : float, optional
        End after about so many seconds; what is found by then depends on the machine.
    progress : callable, optional
        Called about 20 times a second with the number of evaluations so far.

    Returns
    -------
    SearchResult

    Raises
    ------
    KeyboardInterrupt
        Ctrl-C ends the search within half a second; the attribute `best` of the exception is the
        `SearchResult` of the best hang found by then.
    InputError
        A cabinet has no source, the hang is in a surface or in another hang wherever it may hang or
        where it was found, a seat lies too near the hang, a proof is asked of too many candidates,
        or an argument is of the wrong type.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study(cabinets=3)
    >>> found = ha.optimise_splays(study, seed=0, budget_evaluations=400)
    >>> found.objective_db <= found.straight_objective_db
    True
    >>> proved = ha.optimise_splays(ha.demo.study(cabinets=2), prove=True)
    >>> proved.proved, proved.splays_deg.tolist(), proved.tilt_deg, proved.top_m
    (True, [9.5], -2.5, 10.0)
    """
    if budget_evaluations is not None:
        budget_evaluations = whole("budget_evaluations", budget_evaluations)
    if budget_s is not None:
        budget_s = real("budget_s", budget_s)
    check_start([instance("study", study, Study)])
    with _best_on_interrupt(result_of):
        fields = _core.optimise_splays(
            instance("study", study, Study).handle,
            whole("seed", seed),
            switch("prove", prove),
            budget_evaluations,
            budget_s,
            _callable_or_none("progress", progress),
        )
    found = result_of(fields)
    check_found(study, found.hang, found.tilt_deg, found.top_m)
    return found


def evaluate_pins(study: Study) -> SearchResult:
    """The least objective of the study's hang with its pins as they are, over tilts and heights."""
    with _best_on_interrupt(result_of):
        fields = _core.evaluate(instance("study", study, Study).handle)
    found = result_of(fields)
    check_found(study, found.hang, found.tilt_deg, found.top_m)
    return found


@by_name
def one_hole_table(study: Study, hang: Hang, tilt_deg: float, top_m: float) -> Rows[HoleRow]:
    """What one hole up or down costs at each joint: for the day a pin will not go in.

    Parameters
    ----------
    study : Study
        The question, with its venue, goals and limits.
    hang : Hang
        The hang to look at, as a search found it.
    tilt_deg, top_m : float
        Its tilt and height, of those the study lists.

    Returns
    -------
    list of HoleRow
        Both neighbours of every pin, top to bottom.

    Raises
    ------
    InputError
        A tilt or height that the study does not list, or an argument of the wrong type.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study(cabinets=4)
    >>> for row in ha.search.one_hole_table(study, study.hang, 2.0, 11.0):
    ...     print(row.joint, row.from_deg, row.to_deg, round(row.spread_change_db, 2))
    ...
    1 0.0 0.4 0.11
    2 0.0 0.4 0.05
    3 0.0 0.4 -0.0
    """
    asked = dataclasses.replace(
        instance("study", study, Study),
        hang=instance("hang", hang, Hang),
        goals=dataclasses.replace(study.goals, cabinet_range=None),
    )
    rows = _core.one_hole_table(asked.handle, real("tilt_deg", tilt_deg), real("top_m", top_m))
    return Rows(HoleRow(**besides(row, "missed"), missed=missed_of(row["missed"])) for row in rows)


@by_name
def trade_off(
    study: Study,
    *,
    against: Literal["mean level", "closing force"] = "mean level",
    points: int = 7,
    seed: int = 0,
    budget_evaluations: int | None = None,
    progress: Callable[[int], object] | None = None,
) -> Rows[SearchResult]:
    """Pareto front of the objective against mean level or closing force.

    A search without a bound, then searches with the other quantity bounded tighter step by step
    (0.5 dB, or 5 % of the first closing force), until no hang meets the bound. Hangs that another
    one betters in both quantities are left out.

    Parameters
    ----------
    study : Study
        The question.
    against : {"mean level", "closing force"}
        What the objective is traded against.
    points : int
        Searches at the most.
    seed, budget_evaluations, progress
        As for `optimise_splays`, for each search.

    Returns
    -------
    list of SearchResult
        From the hang of the least objective on, each worse in it and better in the other quantity.

    Raises
    ------
    KeyboardInterrupt
        Ctrl-C; the attribute `best` of the exception is the front found by then.
    InputError
        Another quantity, no points, a closing force asked of a hang that no chain closes, or as
        `optimise_splays`.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = dataclasses.replace(ha.demo.study(cabinets=3), lines_per_band=1)
    >>> front = ha.search.trade_off(study, points=2, budget_evaluations=100)
    >>> len(front)
    1
    """
    if budget_evaluations is not None:
        budget_evaluations = whole("budget_evaluations", budget_evaluations)
    with _best_on_interrupt(results_of):
        front = _core.trade_off(
            instance("study", study, Study).handle,
            instance("against", against, str),
            whole("points", points),
            whole("seed", seed),
            budget_evaluations,
            _callable_or_none("progress", progress),
        )
    return results_of(front)


@contextlib.contextmanager
def _best_on_interrupt(read: Callable[[Any], object]) -> Iterator[None]:
    """Turn what the core found before Ctrl-C, where it hands it over, into the public classes."""
    try:
        yield
    except KeyboardInterrupt as interrupt:
        found = vars(interrupt)
        if "best" in found:
            found["best"] = read(found["best"])
        raise


def _callable_or_none(field: str, value: Any) -> Any:
    if value is not None and not callable(value):
        raise InputError(field, value, "a function, or None")
    return value
