"""Calls whose arguments are made bad one by one, for `test_bad_input.py`.

Run as a script, this writes `bad_input.tsv` anew; read every changed message before keeping it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import builders
import hangarc as ha
import numpy as np

HANG = builders.hang([1.0] * 3)
CLOSED = builders.hang([1.0] * 3, "compression")
STUDY = builders.study(hang=builders.hang([1.0]), pick_x_m=(0.2, -0.8), lines_per_band=1)
RIG = ha.Rig(hangs=[ha.Placed(hang=HANG, tilt_deg=0.0, top_m=8.0)])
POINTS_M = [[20.0, 0.0, 1.2]]
SQUARE_M = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]
READINGS = [ha.survey.AngleReading(cabinet=0, axis_deg=0.0, uncertainty_deg=0.1)]

# Bad values as text, so that a table can hold them.
VALUES: dict[str, list[str]] = {
    "number": ["'5'", "None", "nan", "inf", "True", "1j", "[1.0]"],
    "count": ["'5'", "None", "-1", "2.5", "True", "10**400"],
    "array": ["'ab'", "['1', '2']", "[True, 1.0]", "[nan]", "{1.0}", "[[1.0], [1.0, 2.0]]"],
    "points": ["5.0", "'ab'", "[[1.0, nan]]", "[[1.0]]", "[[True, 1.0]]", "[[['1', 2.0]]]"],
    "hang": ["None", "'hang'", "study"],
    "switch": ["'False'", "1", "None"],
    "word": ["'glue'", "5"],
    "record": ["5", "'x'"],
}

CALLS: dict[str, tuple[Callable[..., Any], dict[str, Any]]] = {
    "pose": (ha.pose, {"hang": HANG, "tilt_deg": 0.0, "top_m": 8.0}),
    "hoist_loads": (ha.hoist_loads, {"hang": HANG, "tilt_deg": 0.0, "pick_x_m": [0.2, -0.8]}),
    "hanging_tilt": (ha.hanging_tilt, {"hang": HANG, "pick_x_m": 0.1}),
    "pick_for_tilt": (ha.pick_for_tilt, {"hang": HANG, "tilt_deg": 0.0}),
    "joint_loads": (ha.joint_loads, {"hang": HANG, "tilt_deg": 0.0}),
    "close": (
        ha.close,
        {
            "hang": CLOSED,
            "tilt_deg": 0.0,
            "top_joint": "locked",
            "preload_n": 0.0,
            "steps": 5,
            "frame": "held",
        },
    ),
    "rest_at_force": (
        ha.closing.rest_at_force,
        {"hang": CLOSED, "tilt_deg": 0.0, "force_n": 100.0},
    ),
    "shortening": (
        ha.shortening,
        {"hang": builders.hang([1.0] * 3, "compression", gear=builders.gear()), "tilt_deg": 0.0},
    ),
    "throws": (ha.throws, {"hang": HANG, "tilt_deg": 0.0, "top_m": 8.0, "venue": builders.venue()}),
    "bridle": (
        ha.bridle,
        {"anchors_m": [[0.0, 10.0], [4.0, 10.0]], "lengths_m": [3.0, 3.0], "load_n": 1000.0},
    ),
    "beam": (
        ha.beam,
        {
            "length_m": 4.0,
            "supports_m": [0.0, 4.0],
            "loads": [(2.0, 10.0)],
            "ei_nm2": 1e6,
            "settlement_m": [0.0, 0.0],
            "hinges_m": [],
            "self_weight_n_m": 0.0,
            "only_pull": False,
        },
    ),
    "rigid_hang": (
        ha.rigid_hang,
        {"points_m": SQUARE_M, "cg_m": [0.5, 0.5], "weight_n": 1000.0, "stiffness_n_m": 1e5},
    ),
    "hoist_scatter": (
        ha.suspension.hoist_scatter,
        {
            "points_m": SQUARE_M,
            "mass_kg": [100.0],
            "cg_m": [[0.5, 0.5]],
            "stiffness_n_m": 1e5,
            "mass_spread": 0.0,
            "factor": 1.0,
            "cases": 2,
            "seed": 0,
            "quantiles": [0.5],
        },
    ),
    "pressure": (
        ha.pressure,
        {
            "hang": HANG,
            "tilt_deg": 0.0,
            "top_m": 8.0,
            "receivers_m": POINTS_M,
            "frequency_hz": [1000.0],
            "air": ha.Air(),
            "pan_deg": 0.0,
        },
    ),
    "seat_levels": (
        ha.seat_levels,
        {
            "hang": HANG,
            "tilt_deg": 0.0,
            "top_m": 8.0,
            "venue": builders.venue(),
            "air": ha.Air(),
            "lines_per_band": 1,
        },
    ),
    "point_levels": (
        ha.acoustics.point_levels,
        {
            "rig": RIG,
            "points_m": POINTS_M,
            "air": ha.Air(),
            "lowest_hz": 1000.0,
            "highest_hz": 2000.0,
            "lines_per_band": 1,
        },
    ),
    "air_absorption_db_per_m": (
        ha.air_absorption_db_per_m,
        {
            "frequency_hz": [1000.0],
            "temperature_c": 20.0,
            "humidity_percent": 50.0,
            "pressure_kpa": 101.0,
        },
    ),
    "weighting_db": (ha.acoustics.weighting_db, {"frequency_hz": [1000.0], "weighting": "A"}),
    "optimise_splays": (
        ha.optimise_splays,
        {"study": STUDY, "seed": 0, "prove": False, "budget_evaluations": 5},
    ),
    "one_hole_table": (
        ha.search.one_hole_table,
        {
            "study": STUDY,
            "hang": STUDY.hang,
            "tilt_deg": STUDY.tilt_range_deg[0],
            "top_m": STUDY.top_range_m[0],
        },
    ),
    "compare_with_plan": (
        ha.survey.compare_with_plan,
        {
            "hang": HANG,
            "tilt_deg": 0.0,
            "readings": READINGS,
            "significance": 0.05,
            "most_wrong_pins": 1,
        },
    ),
    "wind_loads": (
        ha.wind_loads,
        {
            "hang": HANG,
            "tilt_deg": 0.0,
            "pick_x_m": [0.2, -0.8],
            "wind": ha.Wind(speed_m_s=8.0),
            "top_m": 8.0,
            "wind_from": "front",
        },
    ),
    "build_up": (ha.statics.build_up, {"hang": HANG, "pick_x_m": -0.3, "stack": 2}),
    "closing_spread": (
        ha.closing.closing_spread,
        {"hang": CLOSED, "tilt_deg": 0.0, "cases": 3, "mass_spread": 0.0, "seed": 0},
    ),
    "Placed": (
        ha.Placed,
        {
            "hang": HANG,
            "tilt_deg": 0.0,
            "top_m": 8.0,
            "position_m": (0.0, 0.0),
            "pan_deg": 0.0,
            "delay_s": 0.0,
            "gain_db": 0.0,
        },
    ),
    "Rig": (ha.Rig, {"hangs": RIG.hangs, "floor_reflection": 0.0}),
}

_KINDS = {
    "hang": "hang", "study": "record", "venue": "record", "rig": "record", "air": "record",
    "wind": "record", "readings": "record", "hangs": "record", "loads": "record",
    "top_joint": "word", "frame": "word", "wind_from": "word", "weighting": "word",
    "prove": "switch", "only_pull": "switch",
    "steps": "count", "cases": "count", "seed": "count", "lines_per_band": "count",
    "budget_evaluations": "count", "stack": "count", "most_wrong_pins": "count",
    "receivers_m": "points", "points_m": "points", "anchors_m": "points",
    "lengths_m": "array", "supports_m": "array", "settlement_m": "array", "hinges_m": "array",
    "mass_kg": "array", "quantiles": "array", "frequency_hz": "array", "cg_m": "array",
    "position_m": "array",
}  # fmt: skip


def kind_of(name: str, argument: str, good: Any) -> str:
    if argument == "pick_x_m" and isinstance(good, list):
        return "array"
    return _KINDS.get(argument, "number")


ARGUMENTS = {
    name: {argument: [kind_of(name, argument, value)] for argument, value in good.items()}
    for name, (_, good) in CALLS.items()
}


def call(name: str, argument: str, text: str) -> Any:
    """The call with one argument made bad."""
    function, good = CALLS[name]
    names = {"nan": np.nan, "inf": np.inf, "study": STUDY, "__builtins__": {}}
    return function(**{**good, argument: eval(text, names)})


TABLE = Path(__file__).with_suffix(".tsv")


def refusals() -> Iterator[tuple[str, str, str, str]]:
    """Every call with one bad argument, and what it says."""
    for name, arguments in ARGUMENTS.items():
        for argument, kinds in arguments.items():
            for text in (text for kind in kinds for text in VALUES[kind]):
                try:
                    call(name, argument, text)
                except ha.InputError as error:
                    yield name, argument, text, str(error)


if __name__ == "__main__":
    rows = sorted("\t".join(row) for row in refusals())
    TABLE.write_text("\n".join(rows) + "\n", encoding="utf-8")
