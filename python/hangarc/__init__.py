"""Geometry, statics and direct sound of flown columns of loudspeakers.

The types and the calls of every day stand here; the rest stands in rooms, `hangarc.statics` and so
on, each of which answers one question.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.

Examples
--------
>>> import hangarc as ha
>>> hang = ha.demo.hang((2.0, 2.7, 3.4, 4.2, 5.1))  # demo data
>>> round(ha.pose(hang, tilt_deg=2.0).mass_kg, 1)
503.0
>>> ha.hoist_loads(hang, tilt_deg=2.0, pick_x_m=[0.15, -1.05]).load_n.round().tolist()
[2974.0, 1958.0]
>>> round(ha.close(hang, tilt_deg=2.0).closing_force_n)
1391
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from hangarc._core import __version__
from hangarc._errors import CoreError, InputError

if TYPE_CHECKING:
    from hangarc import (
        acoustics,
        closing,
        demo,
        io,
        lesson,
        model,
        plot,
        report,
        search,
        second_opinion,
        statics,
        survey,
        suspension,
        sweeps,
        uncertainty,
        wind,
        work,
    )
    from hangarc._answers import Answer, answer, evaluate
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
    from hangarc.sweeps import sweep
    from hangarc.wind import Wind, wind_loads
    from hangarc.work import Job

__all__ = [
    "Air",
    "Answer",
    "BottomFrame",
    "Cabinet",
    "ClosingGear",
    "CoreError",
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
    "lesson",
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
    "uncertainty",
    "unevenness",
    "verify",
    "wind",
    "wind_loads",
    "work",
]

#: Where names that are not rooms come from. All are imported on first use: a script that asks for
#: one thing waits for that alone, and a room that needs an optional package asks for it when used.
_HOMES = {
    "_answers": ("Answer", "answer", "evaluate"),
    "_pose": ("pose", "throws"),
    "_threads": ("set_thread_count", "thread_count"),
    "acoustics": (
        "Placed",
        "Rig",
        "air_absorption_db_per_m",
        "evenness_db",
        "pressure",
        "seat_levels",
        "sees",
        "unevenness",
    ),
    "closing": ("close", "shortening"),
    "model": (
        "Air",
        "BottomFrame",
        "Cabinet",
        "ClosingGear",
        "FlyFrame",
        "Goals",
        "Hang",
        "LineElement",
        "SeatArea",
        "Source",
        "Study",
        "Surface",
        "Venue",
    ),
    "search": ("optimise_splays",),
    "second_opinion": ("verify",),
    "statics": ("hanging_tilt", "hoist_loads", "joint_loads", "pick_for_tilt"),
    "suspension": ("beam", "bridle", "rigid_hang"),
    "sweeps": ("sweep",),
    "wind": ("Wind", "wind_loads"),
    "work": ("Job",),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'hangarc' has no attribute {name!r}{_perhaps(name)}")
    home = importlib.import_module(f"hangarc.{_HOME_OF.get(name, name)}")
    value = getattr(home, name) if name in _HOME_OF else home
    globals()[name] = value
    return value


def _perhaps(name: str) -> str:
    """Say where a name stands that is asked of the wrong place, or which one is nearest."""
    if name.startswith("_"):
        return ""
    import difflib

    near = difflib.get_close_matches(name, __all__, 1)
    if near:
        return f"; the nearest is {near[0]!r}"
    for room in sorted(set(__all__) - set(_HOME_OF)):
        try:
            public = getattr(importlib.import_module(f"hangarc.{room}"), "__all__", ())
        except ImportError:
            continue
        if name in public:
            return f"; it is in the room 'hangarc.{room}'"
    return ""


def __dir__() -> list[str]:
    return sorted(__all__)
