"""Which pins, which tilt, which height serve the seats best and can be hung."""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Callable, Iterator
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._record import Result, degrees, instance, kilonewtons, real, switch, whole
from hangarc.errors import InputError
from hangarc.model import Hang, Study
from hangarc.sound import Sound
from hangarc.statics import LimitRow, limit_row
from hangarc.words import constraint_words


@dataclasses.dataclass(frozen=True, eq=False)
class Margin(Result):
    """One hard constraint and how far the answer is from its bound.

    Attributes
    ----------
    constraint : str
        What is constrained, with its unit.
    value, bound : float
        The answer's value and the bound.
    margin : float
        Distance from the bound, in the same unit; negative when the constraint is not met.
    kind : str
        The constraint as data, as ``trim_height`` or ``closing_force``; ``limit`` for a stated
        limit.
    part : str or None
        The part of a stated limit, as in `LimitRow`.
    number : int or None
        Which one of its kind, from 0; for hinge, rear link and stop the joint.
    """

    constraint: str
    value: float
    bound: float
    margin: float
    kind: str
    part: str | None
    number: int | None


@dataclasses.dataclass(frozen=True, eq=False)
class CountRow(Result):
    """The best that was found with one number of cabinets.

    Attributes
    ----------
    cabinets : int
        The number.
    objective_db : float
        Its best objective.
    feasible : bool
        Whether every constraint is met.
    """

    cabinets: int
    objective_db: float
    feasible: bool


@dataclasses.dataclass(frozen=True, eq=False)
class Beyond(Result):
    """An end of a range at which the answer stands, and what one step beyond would give.

    Attributes
    ----------
    variable : {"tilt_deg", "top_m"}
        Whose range ends.
    end, next : float
        The end, and one step beyond.
    objective_change_db : float
        Change of the objective there, with one of the upper three joints turned where that helps;
        below 0 is better.
    missed : str or None
        The constraint missed there by most, if any.
    """

    variable: Literal["tilt_deg", "top_m"]
    end: float
    next: float
    objective_change_db: float
    missed: str | None


@dataclasses.dataclass(frozen=True, eq=False)
class HoleRow(Result):
    """One joint moved by one position, all others kept.

    Attributes
    ----------
    joint : int
        Joint number; joint 1 lies below the first cabinet.
    from_deg, to_deg : float
        The joint's position in the hang and the neighbouring one.
    objective_change_db : float
        Change of the objective; above 0 is worse.
    spread_change_db : float
        Change of the spread over the seats, as the goals measure it; above 0 is worse.
    mean_change_db : float
        Change of the mean level of the seats.
    closing_force_change_n : float or None
        Change of the closing force of a compression hang that a chain closes.
    joint_force_change_n : float
        Change of the greatest force on any hinge, link or stop.
    missed : str or None
        The constraint missed by most, if any.
    """

    joint: int
    from_deg: float
    to_deg: float
    objective_change_db: float
    spread_change_db: float
    mean_change_db: float
    closing_force_change_n: float | None
    joint_force_change_n: float
    missed: str | None


@dataclasses.dataclass(frozen=True, eq=False)
class SearchResult(Result):
    """What the splay search found.

    Attributes
    ----------
    status : str
        How it ended: "settled" (at least two runs, each on its own, ended within 0.01 dB of the
        best objective, which no single, pair, bend or block move betters), "unsettled" (only one
        did), "proved" (every candidate was looked at), "given" (the pins were given),
        "by the law" (the best closed-form curve, in a sweep), "budget spent", "interrupted" (by
        Ctrl-C), or "infeasible" (no candidate met every constraint; the answer is the nearest
        found).
    hang : Hang
        The hang with the found pins.
    splays_deg : ndarray, shape (n-1,)
        The found pins.
    tilt_deg, top_m : float
        Tilt of the fly frame, height of cabinet 0's upper front hinge.
    pick_x_m : ndarray, shape (1,) or (2,)
        The frame's holes in use.
    gains_db : ndarray, shape (n,)
        Gain of each cabinet, already in the hang's elements.
    objective_db : float
        What the search makes least; see `Goals`.
    least_objective_db : float
        The least objective met. Of hangs within 0.01 dB of it the louder, then the smoother is the
        answer.
    runs_db : ndarray, shape (runs,)
        The objective at which each run of the search ended, each on its own.
    beyond : tuple of Beyond
        Ends of ranges at which the answer stands.
    sound : Sound
        What the seats hear, and places where nobody sits.
    closing_force_n : float or None
        Closing force of a compression hang that a chain closes.
    straight_objective_db, straight_tilt_deg, straight_top_m : float
        The straight hang that serves best, constraints left aside.
    straight_sound : Sound
        What the seats hear of it.
    evaluations : int
        Fields computed by the search.
    proved : bool
        Whether every candidate was looked at.
    counts : tuple of CountRow
        The best of each number of cabinets searched.
    limits : tuple of LimitRow
        Every part with its force and its stated limit.
    margins : tuple of Margin
        Every hard constraint with its margin.
    nearest_study : Study or None
        Of an infeasible study, the nearest one that allows this hang: each bound it misses moved
        to what it needs. None where the miss is no bound of the study: the picks cannot hold the
        tilt, no chain force closes the hang, a line of sight is crossed.
    """

    status: str
    hang: Hang
    splays_deg: NDArray[np.float64]
    tilt_deg: float
    top_m: float
    pick_x_m: NDArray[np.float64]
    gains_db: NDArray[np.float64]
    objective_db: float
    least_objective_db: float
    runs_db: NDArray[np.float64]
    beyond: tuple[Beyond, ...]
    sound: Sound
    closing_force_n: float | None
    straight_objective_db: float
    straight_sound: Sound
    straight_tilt_deg: float
    straight_top_m: float
    evaluations: int
    proved: bool
    counts: tuple[CountRow, ...]
    limits: tuple[LimitRow, ...]
    margins: tuple[Margin, ...]
    nearest_study: Study | None

    @property
    def ended(self) -> str:
        """How it ended, `status`."""
        return self.status

    @property
    def runs_spread_db(self) -> float:
        """How far the runs of the search ended apart; 0 for fewer than two."""
        return float(np.ptp(self.runs_db)) if len(self.runs_db) else 0.0

    @property
    def unevenness_db(self) -> float:
        """Spread of the levels over seats and bands, `sound.unevenness_db`."""
        return self.sound.unevenness_db

    @property
    def evenness_db(self) -> float:
        """Spread over the seats of levels summed over 1 to 8 kHz, `sound.evenness_db`."""
        return self.sound.evenness_db

    @property
    def mean_db(self) -> float:
        """Mean level of the seats over the bands, `sound.mean_db`."""
        return self.sound.mean_db

    @property
    def band_hz(self) -> NDArray[np.float64]:
        """Mid-band frequencies, `sound.band_hz`."""
        return self.sound.band_hz

    @property
    def band_spread_db(self) -> NDArray[np.float64]:
        """Spread over the seats in each band, `sound.band_spread_db`."""
        return self.sound.band_spread_db

    @property
    def band_mean_db(self) -> NDArray[np.float64]:
        """Mean level of each band, `sound.band_mean_db`."""
        return self.sound.band_mean_db

    @property
    def spectral_spread_db(self) -> float:
        """How the seats differ in colour, `sound.spectral_spread_db`."""
        return self.sound.spectral_spread_db

    @property
    def roughness_deg(self) -> float:
        """Roughness of the pins, `sound.roughness_deg`."""
        return self.sound.roughness_deg

    @property
    def off_seats_db(self) -> float | None:
        """Level off the seats over that of the seats, `sound.off_seats_db`."""
        return self.sound.off_seats_db

    def _summary(self) -> list[tuple[str, str]]:
        picks = ", ".join(f"{x:g} m" for x in self.pick_x_m)
        straight = self.straight_sound
        return [
            ("status", self.status),
            ("missed", ", ".join(self.missed) or "nothing"),
            ("pins", degrees(self.splays_deg)),
            ("tilt, top hinge", f"{self.tilt_deg:g}°, {self.top_m:g} m"),
            ("picks", picks),
            (
                "unevenness",
                f"{self.unevenness_db:.2f} dB, straight {straight.unevenness_db:.2f} dB",
            ),
            ("mean level", f"{self.mean_db:.1f} dB, straight {straight.mean_db:.1f} dB"),
            ("closing force", kilonewtons(self.closing_force_n)),
            ("evaluations", f"{self.evaluations}"),
        ]

    @property
    def missed(self) -> tuple[str, ...]:
        """The constraints not met, in the order of `margins`; none of a feasible answer."""
        return tuple(row.constraint for row in self.margins if row.margin < 0.0)


def optimise_splays(
    study: Study,
    seed: int = 0,
    prove: bool = False,
    budget_evaluations: int | None = None,
    budget_s: float | None = None,
    progress: Callable[[int], object] | None = None,
) -> SearchResult:
    """Find the pins, tilt and height of the least objective among those that can be hung.

    Minimises J − λ M + ρ R + ω O: J the spread over seats and bands, M the mean level of the seats,
    R the roughness of the pins, O the level off the seats, each at its price in `study.goals`.
    Several runs, each on its own, walk and cool (Kirkpatrick, Gelatt and Vecchi, Science 220,
    1983) among sketches, with fewer seats and frequencies, then with all seats, and end in a
    descent that goes on until no single, pair, bend or block move betters. They start from curves
    of the stationary-phase law (Gölles and Zotter, Acta Acustica 7:52, 2023), a straight hang and
    the study's own pins. Of hangs within 0.01 dB of the best, the louder and then the smoother is
    the answer. Stated limits, the slip clutch's band, the reachable tilts and the trim height are
    hard constraints. The same seed gives the same answer for any number of threads.

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
        A cabinet has no source, a seat lies too near the hang, a proof is asked of too many
        candidates, or an argument is of the wrong type.
    """
    if budget_evaluations is not None:
        budget_evaluations = whole("budget_evaluations", budget_evaluations)
    if budget_s is not None:
        budget_s = real("budget_s", budget_s)
    with _best_on_interrupt(result_of):
        fields: dict[str, Any] = _core.optimise_splays(
            instance("study", study, Study).handle,
            whole("seed", seed),
            switch("prove", prove),
            budget_evaluations,
            budget_s,
            _callable_or_none("progress", progress),
        )
    return result_of(fields)


def evaluate_pins(study: Study) -> SearchResult:
    """The least objective of the study's hang with its pins as they are, over tilts and heights."""
    with _best_on_interrupt(result_of):
        fields: dict[str, Any] = _core.evaluate(instance("study", study, Study).handle)
    return result_of(fields)


def one_hole_table(study: Study, hang: Hang, tilt_deg: float, top_m: float) -> list[HoleRow]:
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
    """
    asked = dataclasses.replace(
        instance("study", study, Study),
        hang=instance("hang", hang, Hang),
        goals=dataclasses.replace(study.goals, cabinet_range=None),
    )
    rows = _core.one_hole_table(asked.handle, real("tilt_deg", tilt_deg), real("top_m", top_m))
    for row in rows:
        row["missed"] = _missed(row["missed"])
    return [HoleRow(**row) for row in rows]


def trade_off(
    study: Study,
    against: str = "mean level",
    points: int = 7,
    seed: int = 0,
    budget_evaluations: int | None = None,
    progress: Callable[[int], object] | None = None,
) -> list[SearchResult]:
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
    """
    if budget_evaluations is not None:
        budget_evaluations = whole("budget_evaluations", budget_evaluations)
    with _best_on_interrupt(_results):
        front = _core.trade_off(
            instance("study", study, Study).handle,
            instance("against", against, str),
            whole("points", points),
            whole("seed", seed),
            budget_evaluations,
            _callable_or_none("progress", progress),
        )
    return _results(front)


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


def _results(front: list[dict[str, Any]]) -> list[SearchResult]:
    return [result_of(fields) for fields in front]


def _margin(row: dict[str, Any]) -> Margin:
    words = constraint_words(row["kind"], row["part"], row["number"])
    return Margin(constraint=words, **row)


def _missed(row: dict[str, Any] | None) -> str | None:
    return None if row is None else constraint_words(**row)


def result_of(fields: dict[str, Any]) -> SearchResult:
    """Give what the core found as a `SearchResult`."""
    fields["limits"] = tuple(limit_row(row) for row in fields["limits"])
    fields["margins"] = tuple(_margin(row) for row in fields["margins"])
    fields["beyond"] = tuple(
        Beyond(**{**row, "missed": _missed(row["missed"])}) for row in fields["beyond"]
    )
    fields["counts"] = tuple(CountRow(**row) for row in fields["counts"])
    fields["hang"] = Hang.from_dict(fields["hang"])
    fields["sound"] = Sound.of_fields(fields["sound"])
    fields["straight_sound"] = Sound.of_fields(fields["straight_sound"])
    if fields["nearest_study"] is not None:
        fields["nearest_study"] = Study.from_dict(fields["nearest_study"])
    return SearchResult(proved=fields["status"] == "proved", **fields)
