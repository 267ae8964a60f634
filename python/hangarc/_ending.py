"""The one way to end: how a solver's result ended, why, and what would help."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any, ClassVar, Literal, NamedTuple

import numpy as np

from hangarc._record import Result


class Ending(NamedTuple):
    """What one way to end means."""

    ok: bool
    why: str
    help: str = ""
    figures: bool = True  # whether there are any: those of no rest are not given


@dataclasses.dataclass(frozen=True, eq=False)
class Ended(Result):
    """Base of the results that have an `ended`."""

    _endings: ClassVar[Mapping[str, Ending]] = {}

    def __post_init__(self) -> None:
        if not self._ending.figures:
            for field in dataclasses.fields(self):
                if field.name != "residual":
                    object.__setattr__(self, field.name, _not_given(getattr(self, field.name)))
        super().__post_init__()

    @property
    def _ending(self) -> Ending:
        return self._endings[str(getattr(self, "ended"))]  # noqa: B009

    @property
    def ok(self) -> bool:
        """Whether it ended as asked for, so that its figures may be used."""
        return self._ending.ok

    @property
    def why(self) -> str:
        """Why it ended as it did, in a sentence."""
        return self._ending.why

    @property
    def what_would_help(self) -> str:
        """What would let it end as asked for; empty where it has."""
        return self._ending.help


def _not_given(value: Any) -> Any:
    """Give NaN in the place of each number, and no row of a table."""
    if isinstance(value, np.ndarray) and value.dtype.kind == "f":
        return np.full_like(value, np.nan)
    if isinstance(value, float):
        return float("nan")
    return () if isinstance(value, tuple) else value


RestEnd = Literal["at rest", "no step lowers the energy", "budget spent"]

_NO_FIGURES = (
    "Figures of no rest are not given: all but the residual are NaN. Try a slightly different tilt "
    "or load, and keep `hang.to_json()` for a report."
)
REST_ENDINGS: Mapping[str, Ending] = {
    "at rest": Ending(True, "Every free joint is in balance and every bound is pressed."),
    "no step lowers the energy": Ending(
        False,
        "A joint is not in balance, and no step lowers the energy.",
        _NO_FIGURES,
        figures=False,
    ),
    "budget spent": Ending(
        False, "The steps allowed were spent before the rest.", _NO_FIGURES, figures=False
    ),
}
