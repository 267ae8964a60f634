"""How far the figures of a sheet may be off, where the user states tolerances: ± beside them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from hangarc.report.blocks import Text
from hangarc.report.figures import Rich
from hangarc.uncertainty import COVER, Uncertainty

if TYPE_CHECKING:
    from hangarc._answers import Answer
    from hangarc.report.telling import Telling

# How a tolerance is printed.
KINDS = {
    "splay_deg": "angle",
    "mass_share": "share",
    "cg_m": "fine_length",
    "anchor_m": "fine_length",
    "tilt_deg": "angle",
    "temperature_c": "plain",
    "humidity_percent": "plain",
}


def spreads(answer: Answer, found: Uncertainty | None) -> dict[str, float]:
    """Two standard uncertainties of each figure that has one, by the figure's path."""
    if found is None:
        return {}
    return {path: COVER * standard for path, standard in _standard(answer, found)}


def _standard(answer: Answer, found: Uncertainty) -> Iterator[tuple[str, float]]:
    yield "search.tilt_deg", found.tilt_deg
    yield "pose.trim_m", found.trim_m
    yield "search.sound.mean_db", found.mean_level_db
    yield "search.sound.unevenness_db", found.unevenness_db
    for index, load_n in enumerate(found.hoist_load_n):
        yield f"work.hoists[{index}].load_n", float(load_n)
        # The hoist's own mass is taken as it is stated.
        yield f"work.hoists[{index}].roof_n", float(load_n)
    if not np.isnan(found.closing_force_n):
        yield "work.closing.closing_force_n", found.closing_force_n
        for joint, force_n in enumerate(found.pulled_stop_force_n):
            yield f"closing.at_preload.stop_force_n[{joint}]", float(force_n)


def stated(tell: Telling) -> list[Text]:
    """What ± means, and from which tolerances it follows."""
    if tell.uncertainty is None:
        return []
    given = tell.uncertainty.tolerances
    named: list[Rich] = [
        tell.say(f"spread.{name}", by=tell.text(kind, getattr(given, name)).replace(" ", "\u00a0"))
        for name, kind in KINDS.items()
        if getattr(given, name) > 0.0
    ]
    told = tell.say("spread.text", of=_row(named))
    return [Text([told], title=tell.word("spread.head"))]


def _row(parts: list[Rich]) -> Rich:
    return tuple(one for at, part in enumerate(parts) for one in ((", ", *part) if at else part))


def at_a_seat(tell: Telling) -> list[Rich]:
    """How far the level at one seat may be off, at most."""
    if tell.uncertainty is None:
        return []
    most_db = COVER * float(tell.uncertainty.seat_level_db.max())
    return [tell.say("spread.seat", by=tell.figures.spread("level", most_db))]
