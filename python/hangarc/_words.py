"""English for the core's parts, states and constraints: made here, and nowhere read back.

Picks, hoists, roof points, supports and spans count from 0 as data and from 1 in words; joints keep
their numbers, joint 0 below the fly frame.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

Units = Literal["metric", "tonnes", "us"]
"""What the sheet measures in: kg, kN and m; t; or lb, ft and in."""

LanguageCode = Literal["de", "en"]
"""Languages there is a catalogue of."""

Part = Literal[
    "fly_frame",
    "pick",
    "hoist",
    "roof_point",
    "bridle_leg",
    "closing_chain",
    "lever_hoist",
    "upper_anchor",
    "lower_anchor",
    "left_closing_chain",
    "right_closing_chain",
    "pull_back_line",
    "beam_moment",
    "beam_shear",
    "beam_deflection",
    "beam_support",
    "span_uniform",
    "span_point",
    "hinge",
    "rear_link",
    "stop",
    "left_hinge",
    "left_rear_link",
    "left_stop",
    "right_hinge",
    "right_rear_link",
    "right_stop",
]

State = Literal[
    "hanging",
    "open",
    "building",
    "closing",
    "clutch_slips",
    "closed",
    "preloaded",
    "clutch_at_upper_edge",
    "closed_lifted",
    "preloaded_lifted",
    "clutch_at_upper_edge_lifted",
    "pulled_back",
    "in_wind",
    "hoist_out_of_step",
    "hoist_failed",
    "on_lines",
    "sides_unlike",
    "beam_loaded",
]

FactorUse = Literal["applied", "hoists_stand", "chain_locked", "not_asked"]

ConstraintKind = Literal[
    "trim_height",
    "lowest_tilt",
    "highest_tilt",
    "closing_force",
    "chain_closes",
    "wanted_closing_force",
    "mass",
    "building_load",
    "sight_line",
    "mean_level",
    "reach",
    "quiet_place",
    "off_seats",
    "limit",
]


# Parts that each joint has.
JOINT_PARTS: Mapping[str, str] = {
    "hinge": "hinge",
    "rear_link": "rear link in tension",
    "stop": "stop in compression",
    **{
        f"{side}_{part}": f"{side} {name}"
        for side in ("left", "right")
        for part, name in (
            ("hinge", "hinge"),
            ("rear_link", "rear link in tension"),
            ("stop", "stop in compression"),
        )
    },
}

_PARTS: Mapping[str, str] = {
    "fly_frame": "fly frame, everything hung",
    "pick": "fly frame at hoist {}",
    "hoist": "hoist {}",
    "roof_point": "roof above hoist {}",
    "bridle_leg": "bridle leg {}",
    "closing_chain": "closing chain",
    "lever_hoist": "lever hoist",
    "upper_anchor": "fly frame, chain anchor",
    "lower_anchor": "bottom frame, chain anchor",
    "left_closing_chain": "left closing chain",
    "right_closing_chain": "right closing chain",
    "pull_back_line": "pull-back line",
    "beam_moment": "moment",
    "beam_shear": "shear",
    "beam_deflection": "deflection",
    "beam_support": "support {}",
    "span_uniform": "span {}, load per metre",
    "span_point": "span {}, point loads",
}

_STATES: Mapping[str, str] = {
    "hanging": "hanging",
    "open": "rear open, hanging",
    "building": "building, rear open",
    "closing": "on the way",
    "clutch_slips": "on the way, clutch slipping at its upper edge",
    "closed": "closed, at the closing force",
    "preloaded": "closed, preloaded",
    "clutch_at_upper_edge": "closed, clutch at its upper edge",
    "closed_lifted": "closed, hoists starting or stopping",
    "preloaded_lifted": "closed and preloaded, hoists starting or stopping",
    "clutch_at_upper_edge_lifted": (
        "closed, clutch at its upper edge, hoists starting or stopping"
    ),
    "pulled_back": "bottom pulled back",
    "in_wind": "in wind",
    "hoist_out_of_step": "one hoist out of step",
    "hoist_failed": "one hoist failed",
    "on_lines": "on its lines",
    "sides_unlike": "left and right unlike",
    "beam_loaded": "loads given",
}

_FACTOR_LEFT_OUT = {
    "hoists_stand": "the hoists stand still",
    "chain_locked": "the chain is locked at its length: more weight unloads the stops, not it",
    "not_asked": "none is asked for",
}

_CONSTRAINTS: Mapping[str, str] = {
    "trim_height": "trim height, m",
    "lowest_tilt": "tilt above the lowest, deg",
    "highest_tilt": "tilt below the highest, deg",
    "closing_force": "closing force below the clutch's lower edge, N",
    "chain_closes": "the chain closes every joint",
    "wanted_closing_force": "closing force, N",
    "mass": "mass hung, kg",
    "building_load": "least load of a hoist while building, N",
    "sight_line": "distance from sight line {}, m",
    "mean_level": "mean level of the seats, dB",
    "reach": "level of the quietest seat at full drive, dB",
    "quiet_place": "level at quiet place {} over the seats, dB",
    "off_seats": "level off the seats over the seats, dB",
}


def part_words(part: str, number: int | None) -> str:
    """Name a part of the hang or of what it hangs from."""
    if part in JOINT_PARTS:
        return f"joint {number}, {JOINT_PARTS[part]}"
    return _PARTS[part].format(None if number is None else number + 1)


def state_words(state: str) -> str:
    """Name the state of the hang that loads a part most."""
    return _STATES[state]


def factor_words(factor_use: str, dynamic_factor: float) -> str:
    """Say whether the dynamic factor is in a force, and if not, why."""
    if factor_use == "applied":
        return f"dynamic factor {dynamic_factor:g} included"
    return f"no dynamic factor: {_FACTOR_LEFT_OUT[factor_use]}"


def constraint_words(kind: str, part: str | None, number: int | None) -> str:
    """Name a hard constraint of the search with its unit."""
    if part is not None:
        return f"{part_words(part, number)}, N"
    return _CONSTRAINTS[kind].format(None if number is None else number + 1)
