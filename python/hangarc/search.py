"""Which pins, which tilt, which height serve the seats most evenly and can be hung."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._record import Result, instance, whole
from hangarc.errors import InputError
from hangarc.model import Hang, Study
from hangarc.statics import LimitRow


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
    """

    constraint: str
    value: float
    bound: float
    margin: float


@dataclasses.dataclass(frozen=True, eq=False)
class SearchResult(Result):
    """What the splay search found.

    Attributes
    ----------
    status : str
        How it ended: "settled" (no single, pair or block move betters the answer), "proved"
        (every candidate was looked at), "budget spent", "interrupted" (the best so far), or
        "infeasible" (no candidate met every constraint; the answer is the nearest found).
    hang : Hang
        The hang with the found pins.
    splays_deg : ndarray, shape (n-1,)
        The found pins.
    tilt_deg, top_m : float
        Tilt of the fly frame, height of cabinet 0's upper front hinge.
    pick_x_m : ndarray, shape (1,) or (2,)
        The frame's holes in use.
    evenness_db : float
        Evenness of the answer.
    straight_evenness_db, straight_tilt_deg, straight_top_m : float
        The straight hang that serves best, constraints left aside.
    evaluations : int
        Fields computed by the search.
    proved : bool
        Whether every candidate was looked at.
    limits : tuple of LimitRow
        Every part with its force and its stated limit.
    margins : tuple of Margin
        Every hard constraint with its margin.
    """

    status: str
    hang: Hang
    splays_deg: NDArray[np.float64]
    tilt_deg: float
    top_m: float
    pick_x_m: NDArray[np.float64]
    evenness_db: float
    straight_evenness_db: float
    straight_tilt_deg: float
    straight_top_m: float
    evaluations: int
    proved: bool
    limits: tuple[LimitRow, ...]
    margins: tuple[Margin, ...]


def optimise_splays(
    study: Study,
    seed: int = 0,
    prove: bool = False,
    budget_evaluations: int | None = None,
    progress: Callable[[int], object] | None = None,
) -> SearchResult:
    """Find the pins, tilt and height that serve the seats most evenly among those that can be hung.

    Minimises √(Σ w (L_r − L̄)² / Σ w) over the seats. Descents start from curves of the
    stationary-phase law (Gölles and Zotter, Acta Acustica 7:52, 2023), from a straight hang, from
    the study's own pins and from random pins; each is exact over single, pair and block moves.
    Stated limits, the slip clutch's band, the reachable tilts and the trim height are hard
    constraints. The same seed gives the same answer for any number of threads.

    Parameters
    ----------
    study : Study
        The question.
    seed : int
        Chooses the random starts.
    prove : bool
        Look at every candidate instead, at most 2·10⁷ of them.
    budget_evaluations : int, optional
        End after about so many evaluations.
    progress : callable, optional
        Called about 20 times a second with the number of evaluations so far.

    Returns
    -------
    SearchResult
        Ctrl-C ends the search early with the best so far.

    Raises
    ------
    InputError
        A cabinet has no source, a seat lies too near the hang, a proof is asked of too many
        candidates, or an argument is of the wrong type.
    """
    if not isinstance(prove, bool):
        raise InputError("prove", prove, "True or False")
    if budget_evaluations is not None:
        budget_evaluations = whole("budget_evaluations", budget_evaluations)
    fields: dict[str, Any] = _core.optimise_splays(
        instance("study", study, Study).handle,
        whole("seed", seed),
        prove,
        budget_evaluations,
        progress,
    )
    fields["limits"] = tuple(LimitRow(**row) for row in fields["limits"])
    fields["margins"] = tuple(Margin(**row) for row in fields["margins"])
    hang = dataclasses.replace(study.hang, splays_deg=fields["splays_deg"].tolist())
    return SearchResult(hang=hang, proved=fields["status"] == "proved", **fields)
