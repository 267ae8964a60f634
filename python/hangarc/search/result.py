"""What a search found."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc._ending import Ended, Ending
from hangarc._pose import pose
from hangarc._record import Result, besides, degrees, kilonewtons
from hangarc._tables import Rows, columns_of
from hangarc._words import ConstraintKind, Part, constraint_words
from hangarc.acoustics.spread import Sound
from hangarc.model import Hang, Study
from hangarc.statics.limits import LimitRow, limit_rows

if TYPE_CHECKING:
    from hangarc._fields import AnswerFields, ConstraintFields, MarginFields

SearchEnd = Literal[
    "settled",
    "unsettled",
    "given",
    "by the law",
    "proved",
    "budget spent",
    "interrupted",
    "infeasible",
]

SEARCH_ENDINGS: Mapping[str, Ending] = {
    "settled": Ending(True, "Runs of their own ended alike, and no move betters their end."),
    "proved": Ending(True, "Every candidate was looked at."),
    "given": Ending(True, "The pins were given, and meet every constraint."),
    "by the law": Ending(True, "The best closed-form curve meets every constraint."),
    "unsettled": Ending(
        False,
        "Only one run ended at the best objective, so there may be a better hang.",
        "Another seed, or a larger budget.",
    ),
    "budget spent": Ending(
        False,
        "The budget was spent before the runs had ended; this is the best hang until then.",
        "A larger budget.",
    ),
    "interrupted": Ending(
        False, "It was stopped; this is the best hang until then.", "Let it run to its end."
    ),
    "infeasible": Ending(
        False,
        "No candidate met every constraint; this is the nearest one.",
        "Constraints as `nearest_study` moves them: `missed` names them.",
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class Constraint(Result):
    """One hard constraint of a search; as text its name with its unit.

    Attributes
    ----------
    kind, part, number
        As in `Margin`.

    Examples
    --------
    >>> import hangarc as ha
    >>> str(ha.search.Constraint(kind="trim_height", part=None, number=None))
    'trim height, m'
    """

    kind: ConstraintKind
    part: Part | None
    number: int | None

    def __str__(self) -> str:
        """Name it with its unit."""
        return constraint_words(self.kind, self.part, self.number)


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

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.evaluate(ha.demo.study(cabinets=4)).search
    >>> tightest = min(found.margins, key=lambda margin: margin.margin)
    >>> tightest.constraint, round(tightest.value, 2), tightest.bound
    ('the chain closes every joint', 1.0, 1.0)
    """

    constraint: str
    value: float
    bound: float
    margin: float
    kind: ConstraintKind
    part: Part | None
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
        Whether every constraint is met; of the row's hang, not of how a search for it ended.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = ha.demo.study(cabinets=4)
    >>> asked = dataclasses.replace(study, goals=ha.Goals(cabinet_range=(3, 4)))
    >>> for row in ha.optimise_splays(asked, budget_evaluations=200).counts:
    ...     print(row.cabinets, row.feasible)
    ...
    3 True
    4 True
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
    missed : Constraint or None
        The constraint missed there by most, if any.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.optimise_splays(ha.demo.study(cabinets=3), budget_evaluations=200)
    >>> for beyond in found.beyond:
    ...     print(beyond.variable, beyond.end, beyond.next)
    ...
    top_m 10.0 9.75
    """

    variable: Literal["tilt_deg", "top_m"]
    end: float
    next: float
    objective_change_db: float
    missed: Constraint | None


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
    missed : Constraint or None
        The constraint missed by most, if any.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study(cabinets=4)
    >>> row = ha.search.one_hole_table(study, study.hang, 2.0, 11.0)[0]
    >>> row.joint, row.from_deg, row.to_deg, round(row.objective_change_db, 2)
    (1, 0.0, 0.4, 0.08)
    """

    joint: int
    from_deg: float
    to_deg: float
    objective_change_db: float
    spread_change_db: float
    mean_change_db: float
    closing_force_change_n: float | None
    joint_force_change_n: float
    missed: Constraint | None


@dataclasses.dataclass(frozen=True, eq=False)
class SearchResult(Ended):
    """What the splay search found.

    Attributes
    ----------
    ended : str
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
        The objective at which each run of the search ended, each on its own. A run that ended where
        two moves together led to a better hang counts as ended there.
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

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.evaluate(ha.demo.study(cabinets=4)).search
    >>> round(found.unevenness_db, 1), found.tilt_deg, found.top_m
    (4.7, -4.0, 10.0)
    >>> found.missed  # no constraint
    ()
    """

    _endings = SEARCH_ENDINGS

    ended: SearchEnd
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
    counts: tuple[CountRow, ...]
    limits: tuple[LimitRow, ...]
    margins: tuple[Margin, ...]
    nearest_study: Study | None

    @property
    def proved(self) -> bool:
        """Whether every candidate was looked at, `ended` in a word of its own; others call it."""
        return self.ended == "proved"

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

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.column(pose(self.hang, self.tilt_deg))

    def _columns(self) -> dict[str, Any]:
        return columns_of(self.limits)

    def _summary(self) -> list[tuple[str, Any]]:
        picks = ", ".join(f"{x:g} m" for x in self.pick_x_m)
        straight = self.straight_sound
        return [
            ("ended", self.ended),
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
            ("margins", self.margins),
            ("limits", self.limits),
        ]

    @property
    def missed(self) -> tuple[str, ...]:
        """The constraints not met, in the order of `margins`; none of a feasible answer."""
        return tuple(row.constraint for row in self.margins if row.margin < 0.0)


def results_of(front: Sequence[AnswerFields]) -> Rows[SearchResult]:
    """The results with the core's fields."""
    return Rows(result_of(fields) for fields in front)


def _margin(row: MarginFields) -> Margin:
    words = constraint_words(row["kind"], row["part"], row["number"])
    return Margin(constraint=words, **row)


def missed_of(row: ConstraintFields | None) -> Constraint | None:
    """Give the constraint that the core gives."""
    return None if row is None else Constraint(**row)


def result_of(fields: AnswerFields) -> SearchResult:
    """Give what the core found as a `SearchResult`."""
    made = ("limits", "margins", "beyond", "counts", "hang", "nearest_study")
    sounds = ("sound", "straight_sound")
    beyond = (
        Beyond(**besides(row, "missed"), missed=missed_of(row["missed"]))
        for row in fields["beyond"]
    )
    nearest = fields["nearest_study"]
    return SearchResult(
        **besides(fields, *made, *sounds),
        hang=Hang.from_dict(fields["hang"]),
        sound=Sound._of_fields(fields["sound"]),
        straight_sound=Sound._of_fields(fields["straight_sound"]),
        beyond=tuple(beyond),
        counts=tuple(CountRow(**row) for row in fields["counts"]),
        limits=limit_rows(fields["limits"]),
        margins=tuple(_margin(row) for row in fields["margins"]),
        nearest_study=None if nearest is None else Study.from_dict(nearest),
    )
