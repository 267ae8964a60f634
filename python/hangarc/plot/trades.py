"""What a search trades against what."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from hangarc._catalogue import Language
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._words import LanguageCode

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from hangarc.search.result import SearchResult
from hangarc.plot.style import FIRST, INK, axes_or_new, worded_axes


@by_name
def trade_off(
    front: Sequence[SearchResult],
    *,
    against: Literal["mean level", "closing force"] = "mean level",
    language: LanguageCode = "en",
    ax: Axes | None = None,
) -> Axes:
    """Draw unevenness against mean level or closing force, one mark per hang.

    The ends carry their figures, and so does the knee: the hang farthest from the straight line
    between the ends, if it stands off that line by more than a tenth of the span of unevenness.

    Parameters
    ----------
    front : sequence of SearchResult
        What `hangarc.search.trade_off` gave.
    against : {"mean level", "closing force"}
        What unevenness was traded against.
    language : str
        Language of the words, one of `hangarc.report.languages()`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Raises
    ------
    InputError
        An empty front, another quantity, or a closing force of a hang that no chain closes.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = dataclasses.replace(ha.demo.study(cabinets=3), lines_per_band=1)
    >>> ax = ha.plot.trade_off(ha.search.trade_off(study, points=2, budget_evaluations=100))
    >>> ax.get_xlabel()
    'mean level of the seats over one cabinet on its axis at 1 m, dB'
    """
    if not front:
        raise InputError("front", list(front), "at least one hang")
    if against not in _TRADED:
        raise InputError("against", against, " or ".join(map(repr, _TRADED)))
    ordered = sorted(front, key=lambda found: found.unevenness_db)
    traded = np.array([_traded(found, against) for found in ordered])
    unevenness_db = np.array([found.unevenness_db for found in ordered])
    picture, unit = _TRADED[against]
    said, ax = Language(language), axes_or_new(ax, (7.2, 4.4))
    ax.plot(traded, unevenness_db, color=FIRST, marker="o", markersize=5, linewidth=1.2, ls="--")
    ends: dict[int, tuple[int, int]] = {0: (0, -9), len(front) - 1: (0, 9)}
    for at, (right, above) in {**ends, **_knee(traded, unevenness_db)}.items():
        ax.annotate(
            said.word("plot.traded", unevenness=said.number(unevenness_db[at], 2),
                      traded=said.number(traded[at], 2), unit=unit),
            (traded[at], unevenness_db[at]),
            xytext=(right, above),
            textcoords="offset points",
            ha={-1: "right", 0: "center", 1: "left"}[int(np.sign(right))],
            va="bottom" if above > 0 else "top",
            color=INK,
            fontsize=8,
        )  # fmt: skip
    ax.margins(x=0.22, y=0.16)
    return worded_axes(ax, said, picture)


_TRADED = {
    "mean level": ("trade_level", "dB"),
    "closing force": ("trade_force", "kN"),
}


def _traded(found: SearchResult, against: str) -> float:
    if against == "mean level":
        return found.mean_db
    if found.closing_force_n is None:
        raise InputError("front", None, "hangs with a closing force, closed by a chain")
    return found.closing_force_n / 1e3


def _knee(across: Any, up: Any) -> dict[int, tuple[int, int]]:
    """Find the point that stands off the line of the ends most, and where its label is clear of it.

    None when all lie within a tenth of that line, each axis taken as a share of its span.
    """
    if len(up) < 3 or np.ptp(across) == 0.0 or np.ptp(up) == 0.0:
        return {}
    line = up[0] + (across - across[0]) / (across[-1] - across[0]) * (up[-1] - up[0])
    off = (up - line) / np.ptp(up)
    knee = int(np.argmax(np.abs(off)))
    if abs(off[knee]) <= 0.1:
        return {}
    above = 4 if off[knee] > 0.0 else -4
    return {knee: (-2 * above if across[-1] > across[0] else 2 * above, above)}
