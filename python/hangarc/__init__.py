"""Geometry, statics and direct sound of flown columns of loudspeakers.

The types and the calls of every day stand here; the rest stands in rooms, `hangarc.statics` and so
on, each of which answers one question.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from hangarc import (
    acoustics,
    closing,
    model,
    search,
    second_opinion,
    statics,
    survey,
    suspension,
    wind,
    work,
)
from hangarc._answers import Answer, answer, evaluate
from hangarc._core import __version__
from hangarc._errors import InputError
from hangarc._pose import pose, throws
from hangarc._threads import set_thread_count, thread_count
from hangarc.acoustics import (
    Placed,
    Rig,
    air_absorption_db_per_m,
    evenness_db,
    pressure,
    seat_levels,
    sees,
    unevenness,
)
from hangarc.closing import close, shortening
from hangarc.model import (
    Air,
    BottomFrame,
    Cabinet,
    ClosingGear,
    FlyFrame,
    Goals,
    Hang,
    LineElement,
    SeatArea,
    Source,
    Study,
    Surface,
    Venue,
)
from hangarc.search import optimise_splays
from hangarc.second_opinion import verify
from hangarc.statics import hanging_tilt, hoist_loads, joint_loads, pick_for_tilt
from hangarc.suspension import beam, bridle, rigid_hang
from hangarc.wind import Wind, wind_loads
from hangarc.work import Job

if TYPE_CHECKING:
    from hangarc import demo, io, plot, report, sweeps
    from hangarc.sweeps import sweep

__all__ = [
    "Air",
    "Answer",
    "BottomFrame",
    "Cabinet",
    "ClosingGear",
    "FlyFrame",
    "Goals",
    "Hang",
    "InputError",
    "Job",
    "LineElement",
    "Placed",
    "Rig",
    "SeatArea",
    "Source",
    "Study",
    "Surface",
    "Venue",
    "Wind",
    "__version__",
    "acoustics",
    "air_absorption_db_per_m",
    "answer",
    "beam",
    "bridle",
    "close",
    "closing",
    "demo",
    "evaluate",
    "evenness_db",
    "hanging_tilt",
    "hoist_loads",
    "io",
    "joint_loads",
    "model",
    "optimise_splays",
    "pick_for_tilt",
    "plot",
    "pose",
    "pressure",
    "report",
    "rigid_hang",
    "search",
    "seat_levels",
    "second_opinion",
    "sees",
    "set_thread_count",
    "shortening",
    "statics",
    "survey",
    "suspension",
    "sweep",
    "sweeps",
    "thread_count",
    "throws",
    "unevenness",
    "verify",
    "wind",
    "wind_loads",
    "work",
]

_ON_FIRST_USE = frozenset({"demo", "io", "plot", "report", "sweeps"})


def __getattr__(name: str) -> Any:
    """Import the parts that need optional packages only when they are used."""
    if name == "sweep":
        value = importlib.import_module("hangarc.sweeps").sweep
    elif name in _ON_FIRST_USE:
        value = importlib.import_module(f"hangarc.{name}")
    else:
        raise AttributeError(f"module 'hangarc' has no attribute {name!r}")
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
