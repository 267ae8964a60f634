"""Closing a compression hang a few joints at a time, as cabinets are added."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance, listed, real, whole
from hangarc.closing.links import Shortening, shortening_of
from hangarc.model import Hang

if TYPE_CHECKING:
    from hangarc._fields import StageFields, StagesFields

Array = NDArray[np.float64]

StageEnd = Literal[
    "closes",
    "more force than available",
    "no force closes the new joints",
    "an earlier joint opens again",
]

STAGE_ENDINGS: Mapping[str, Ending] = {
    "closes": Ending(True, "The force available closes the new joints."),
    "more force than available": Ending(
        False,
        "The new joints ask for more than the force available.",
        "Fewer cabinets in the stage, another tilt, or more force.",
    ),
    "no force closes the new joints": Ending(
        False, "No chain force closes the new joints.", "Another tilt or other chain anchors."
    ),
    "an earlier joint opens again": Ending(
        False,
        "The chain left on does not keep an earlier joint on its stop on the way.",
        "Fewer cabinets in the stage, or another tilt.",
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingStage(Ended):
    """One stage of closing a few joints at a time.

    Attributes
    ----------
    cabinets : int
        Cabinets hung, the bottom frame under the last of them.
    joints : tuple of int
        Joints that this stage closes.
    ended : str
        ``closes``; ``more force than available``; ``no force closes the new joints``; ``an earlier
        joint opens again``: the chain left on does not keep it on its stop.
    open_angle_deg : ndarray, shape (j,)
        Joint angles with the new joints open and no force in this stage's chain.
    chain_open_m, chain_closed_m : float
        Length of this stage's chain then, and with every joint on its stop.
    shortening : Shortening or None
        Which link takes this stage's chain; ``None`` without closing gear.
    closing_force_n : float or None
        Least force in this stage's chain with the new joints on their stops.
    governing_joint : int or None
        The new joint that asks for it.
    peak_force_n : float or None
        Greatest force in this stage's chain on the way there.
    left_on_open_n, left_on_peak_n, left_on_closed_n : float or None
        Least force in the chain left on from the stage before: while the new joints hang open, at
        its greatest on the way, and once they are closed. ``None`` where it does not hold.
    open_again : tuple of int
        Earlier joints that would open again in the end without the chain left on.
    alone_force_n : float or None
        Force in this stage's chain that holds every joint without the chain left on.

    Examples
    --------
    >>> import hangarc as ha
    >>> staged = ha.closing.closing_stages(ha.demo.hang(), 2.0, available_n=8_000.0)
    >>> first = staged.stages[0]
    >>> first.cabinets, first.ended
    (6, 'closes')
    """

    _endings = STAGE_ENDINGS

    cabinets: int
    joints: tuple[int, ...]
    ended: StageEnd
    open_angle_deg: Array
    chain_open_m: float
    chain_closed_m: float
    shortening: Shortening | None
    closing_force_n: float | None
    governing_joint: int | None
    peak_force_n: float | None
    left_on_open_n: float | None
    left_on_peak_n: float | None
    left_on_closed_n: float | None
    open_again: tuple[int, ...]
    alone_force_n: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingStages(Result):
    """Closing in stages.

    Attributes
    ----------
    available_n : float
        Force available.
    stages : tuple of ClosingStage
        In order of building; the last one is the first that does not close, if any.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang()
    >>> staged = ha.closing.closing_stages(hang, 2.0, available_n=8_000.0, cabinets=[3, 6])
    >>> staged.ok, [stage.cabinets for stage in staged.stages]
    (True, [3, 6])
    """

    available_n: float
    stages: tuple[ClosingStage, ...]

    def _picture(self) -> str:
        from hangarc import _pictures

        forces = [stage.closing_force_n for stage in self.stages]
        names = [f"{stage.cabinets} cabinets" for stage in self.stages]
        kn = np.array([np.nan if force is None else force for force in forces]) / 1e3
        return _pictures.bars(kn, "closing force, kN", names, names_px=90.0)

    @property
    def ended(self) -> StageEnd:
        """How the last stage ended: the first that does not close, if any."""
        return self.stages[-1].ended

    @property
    def ok(self) -> bool:
        """Whether every stage closes."""
        return self.stages[-1].ok

    @property
    def why(self) -> str:
        """Why the last stage ended as it did."""
        return self.stages[-1].why

    @property
    def what_would_help(self) -> str:
        """What would let the last stage close; empty where it does."""
        return self.stages[-1].what_would_help


@by_name
def closing_stages(
    hang: Hang,
    tilt_deg: float,
    *,
    available_n: float | None = None,
    cabinets: Sequence[int] | None = None,
) -> ClosingStages:
    """Close a hang a few joints at a time, as cabinets are added.

    Each stage has the bottom frame under its last cabinet. The chain of the stage before stays on,
    with its hoist, at the length that closes that stage: it keeps the earlier joints on their stops
    while the next cabinets hang open below them and a second chain closes those. With G_j the
    gravity moment of all below joint j, E_j the lever of the stage's chain and H_j that of the
    chain left on: the stage's chain carries T = max G_j/E_j over the new joints, the chain left on
    at least max (G_j − T E_j)/H_j over the earlier ones. Joint 0 is locked.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the held frame's axis, −60 to 60°.
    available_n : float, optional
        Chain force; left out, the lower edge of the slip clutch's band.
    cabinets : sequence of int, optional
        Cabinets hung in each stage, growing, all of them in the last. Left out, each stage takes as
        many as the force closes.

    Returns
    -------
    ClosingStages

    Raises
    ------
    InputError
        Stages that do not grow to the whole hang, no force given and no clutch band stated, or as
        `close`.

    Examples
    --------
    >>> import hangarc as ha
    >>> staged = ha.closing.closing_stages(ha.demo.hang(), 2.0, available_n=8_000.0)
    >>> staged.ok, staged.why
    (True, 'The force available closes the new joints.')
    """
    fields = _core.closing_stages(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        None if available_n is None else real("available_n", available_n),
        None
        if cabinets is None
        else [whole("cabinets", count) for count in listed("cabinets", cabinets)],
    )
    return stages_of(fields)


def stages_of(fields: StagesFields) -> ClosingStages:
    """The result with the core's fields."""
    stages = tuple(_stage(stage) for stage in fields["stages"])
    return ClosingStages(**besides(fields, "stages"), stages=stages)


def _stage(fields: StageFields) -> ClosingStage:
    shortening = fields["shortening"]
    return ClosingStage(
        **besides(fields, "joints", "open_again", "shortening"),
        joints=tuple(fields["joints"]),
        open_again=tuple(fields["open_again"]),
        shortening=None if shortening is None else shortening_of(shortening),
    )
