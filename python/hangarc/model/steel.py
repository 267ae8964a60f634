"""What else hangs: steel on one body, cables along the cabinets."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import ClassVar, Literal

from hangarc._record import Record


@dataclasses.dataclass(frozen=True, kw_only=True)
class Piece(Record):
    """Steel or anything else that hangs on one body and counts in every mass.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    mass_kg : float
        Mass, at least 0.
    at_m : (float, float)
        Its centre of gravity (x, z) in the axes of what carries it.
    on : {"frame", "cabinet", "bottom"}
        What carries it: the fly frame, a cabinet or the bottom frame.
    cabinet : int, optional
        Which cabinet, from 0, where one carries it.

    Examples
    --------
    >>> import hangarc as ha
    >>> plate = ha.model.Piece(name="adapter plate (demo data)", mass_kg=8.0, at_m=(-0.3, 0.2))
    >>> plate.on
    'frame'
    """

    _kind: ClassVar[str] = "piece"

    name: str
    mass_kg: float
    at_m: Sequence[float]
    on: Literal["frame", "cabinet", "bottom"] = "frame"
    cabinet: int | None = None


@dataclasses.dataclass(frozen=True, kw_only=True)
class Run(Record):
    """A cable or rope along the cabinets: each carries what is as long as its height.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    mass_kg_m : float
        Mass per metre, at least 0.
    x_m : float
        Where it runs, from the cabinets' front faces; behind them negative.
    first, last : int
        First and last cabinet, from 0; `last` left out is the lowest.

    Examples
    --------
    >>> import hangarc as ha
    >>> cable = ha.model.Run(name="loudspeaker cable (demo data)", mass_kg_m=0.4, x_m=-0.55)
    >>> cable.first, cable.last
    (0, None)
    """

    _kind: ClassVar[str] = "run"

    name: str
    mass_kg_m: float
    x_m: float
    first: int = 0
    last: int | None = None
