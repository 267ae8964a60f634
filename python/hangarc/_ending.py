"""The one way to end: how a solver's result ended, why, and what would help."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import ClassVar, Literal, NamedTuple

from hangarc._record import Result


class Ending(NamedTuple):
    """What one way to end means."""

    ok: bool
    why: str
    help: str = ""


@dataclasses.dataclass(frozen=True, eq=False)
class Ended(Result):
    """Base of the results that have an `ended`."""

    _endings: ClassVar[Mapping[str, Ending]] = {}

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


RestEnd = Literal["at rest", "no step lowers the energy", "budget spent"]

_NO_FIGURES = (
    "These are figures of no rest: do not use them. Try a slightly different tilt or load, and "
    "keep `hang.to_json()` for a report."
)
REST_ENDINGS: Mapping[str, Ending] = {
    "at rest": Ending(True, "Every free joint is in balance and every bound is pressed."),
    "no step lowers the energy": Ending(
        False, "A joint is not in balance, and no step lowers the energy.", _NO_FIGURES
    ),
    "budget spent": Ending(False, "The steps allowed were spent before the rest.", _NO_FIGURES),
}
