"""Exercises on gravity that opens the rear and the chain that closes it."""

from __future__ import annotations

import dataclasses
from functools import cache
from typing import Any

import numpy as np

from hangarc._pose import Pose, pose
from hangarc.closing import Closing, close
from hangarc.lesson.hardware import BOTTOM, FRAME, small_hang
from hangarc.model import Hang
from hangarc.statics import JointLoads, joint_loads

G = 9.80665


@cache
def straight() -> Hang:
    """Three cabinets with a plumb chain 0.80 m behind the hinges."""
    return small_hang(3)


@cache
def closed() -> Closing:
    """The same, closed."""
    return close(straight(), 0.0)


@cache
def opening() -> JointLoads:
    """What opens its joints."""
    return joint_loads(straight(), 0.0)


@cache
def anchored_farther() -> Closing:
    """The same with its chain 1.00 m behind the hinges."""
    hang = dataclasses.replace(
        straight(),
        frame=dataclasses.replace(FRAME, chain_anchor_m=(-1.0, 0.0)),
        bottom=dataclasses.replace(BOTTOM, chain_anchor_m=(-1.0, -0.05)),
    )
    return close(hang, 0.0)


@cache
def curved() -> tuple[Hang, Pose, Closing, JointLoads]:
    """Three cabinets with splays of 2° and 4°."""
    hang = small_hang(3, splays_deg=[2.0, 4.0])
    return hang, pose(hang, 0.0), close(hang, 0.0), joint_loads(hang, 0.0)


def chain_lever_m(joint: int) -> float:
    """Distance of a hinge from the chain's line, in the curved hang."""
    _, placed, _, _ = curved()
    assert placed.chain_m is not None
    upper, lower = placed.chain_m
    (dx, dz), (hx, hz) = lower - upper, placed.hinge_m[joint] - upper
    return float(abs(dx * hz - dz * hx) / np.hypot(dx, dz))


CLOSING: list[dict[str, Any]] = [
    {
        "question": "A straight, level hang of three cabinets with a bottom frame. Below joint 2 "
        "hang one cabinet of 60 kg, its centre of gravity 0.30 m behind the hinges, and the bottom "
        "frame of 20 kg, 0.40 m behind. With what moment does gravity open joint 2?",
        "unit": "N m",
        "answer": lambda: opening().moment_nm[2],
        "because": "Each weight with its own lever: 9.80665 × (60 × 0.30 + 20 × 0.40).",
        "hint": "Weight times lever, for each body below the joint, and add them up.",
        "mistakes": [
            (60 * G * 0.3, "The bottom frame is missing: it hangs below joint 2 as well."),
            (80 * G * 0.3, "The bottom frame has a lever of its own, 0.40 m."),
            (60 * 0.3 + 20 * 0.4, "That is in kg m. Weight is mass times gravity."),
            (44 * G, "That is all that hangs below joint 1. Below joint 2 hangs one cabinet less."),
            (260.0, "Gravity is taken as 10 m/s². Take 9.80665 m/s²."),
        ],
    },
    {
        "question": "The chain runs plumb, 0.80 m behind the hinges. Which chain force just closes "
        "joint 2?",
        "unit": "N",
        "answer": lambda: closed().straight_line_force_n[2],
        "because": "Force is moment over lever: 255 N m/0.80 m.",
        "hint": "The chain's moment about the hinge must reach that of gravity.",
        "mistakes": [
            (26 * G * 0.8, "You multiplied. Moment is force times lever, so divide by it."),
            (26 * G / 0.5, "0.50 m is the lever of the stop. The chain's is 0.80 m."),
            (26 * G / 0.3, "0.30 m is the lever of a weight. The chain's is 0.80 m."),
            (26 * G, "That is the moment. Divide it by the chain's lever."),
        ],
    },
    {
        "question": "Below joint 1 hangs one cabinet more. Which chain force closes the whole "
        "hang?",
        "unit": "N",
        "answer": lambda: closed().closing_force_n or float("nan"),
        "because": "The joint that asks for most decides: 9.80665 × (120 × 0.30 + 20 × 0.40)/0.80.",
        "hint": "Work out the force of each joint. One chain pulls on all of them alike.",
        "mistakes": [
            (26 * G / 0.8, "That closes joint 2 alone. Joint 1 has more below it."),
            (70 * G / 0.8, "The chain has one force, not one for each joint: do not add them."),
            (36 * G / 0.8, "The bottom frame is missing."),
            (44 * G / 0.5, "0.50 m is the lever of the stop. The chain's is 0.80 m."),
            (44 * G, "That is the moment. Divide it by the chain's lever."),
            (62 * G / 0.8, "Three cabinets hang below joint 0, which is fixed. Joint 1 has two."),
        ],
    },
    {
        "question": "At that force joint 2 is pulled harder than it needs. Its stop lies 0.50 m "
        "behind "
        "the hinge. With what force does the stop press?",
        "unit": "N",
        "answer": lambda: closed().stop_force_n[2],  # type: ignore[index]
        "because": "What the chain has over gravity, 431.5 − 255.0 N m, over the stop's lever of "
        "0.50 m.",
        "hint": "About the hinge of joint 2: the chain closes, gravity opens, the stop holds the "
        "rest.",
        "mistakes": [
            (
                18 * G / 0.8,
                "Those are the newtons the chain has over. Turn them into a moment first.",
            ),
            (44 * G / 0.5, "Gravity takes most of the chain's moment: take it away first."),
            (18 * G / 0.3, "0.30 m is the lever of a weight. The stop's is 0.50 m."),
            (18 * G / 0.8 * 0.5 / 0.8, "The levers are exchanged: the chain's is 0.80 m."),
        ],
    },
    {
        "question": "Both chain anchors are moved to 1.00 m behind the hinges. Which chain force "
        "closes the hang now?",
        "unit": "N",
        "answer": lambda: anchored_farther().closing_force_n or float("nan"),
        "because": "The same moment with a longer lever: 431.5 N m/1.00 m.",
        "hint": "The moment of gravity stays; the lever of the chain grows.",
        "mistakes": [
            (44 * G / 0.8 / 0.8, "A longer lever needs less force, not more."),
            (44 * G / 0.8, "That is the force with the anchors at 0.80 m."),
        ],
    },
]

BY_HAND: list[dict[str, Any]] = [
    {
        "question": "Cabinet 1 aims 2° down; its hinges are 0.40 m apart. How many millimetres "
        "does its "
        "lower hinge lie behind its upper one?",
        "unit": "mm",
        "answer": lambda: float(-(curved()[1].hinge_m[2] - curved()[1].hinge_m[1])[0]) * 1e3,
        "because": "0.40 m × sin 2°.",
        "hint": "The line of the hinges stands plumb when level, and turns by 2°.",
        "mistakes": [
            (399.756, "That is the cosine: how far it lies below."),
            (27.9, "Cabinet 1 has turned by the first splay, 2°, not by 4°."),
        ],
    },
    {
        "question": "The chain runs from (−0.8000, 0.0000) to (−0.8566, −1.1637); the hinge of "
        "joint 1 "
        "lies at (0, −0.4000), all in metres. What is the chain's lever about joint 1?",
        "unit": "m",
        "answer": lambda: chain_lever_m(1),
        "within": 0.002,
        "because": "The distance of the hinge from the line: |dx·hz − dz·hx| over the chain's "
        "length.",
        "hint": "The lever is the shortest distance from the hinge to the line of the chain.",
        "mistakes": [
            (
                0.80,
                "That is the distance of the upper anchor's plumb line; the chain is not plumb.",
            ),
        ],
    },
    {
        "question": "Gravity opens joint 1 with 467.6 N m; the lever of the chain is 0.8185 m. "
        "Which "
        "force closes joint 1?",
        "unit": "N",
        "answer": lambda: curved()[2].closing_force_n or float("nan"),
        "because": "Moment over lever; joint 1 asks for more than joint 2, so it closes the hang.",
        "hint": "Force is moment over lever.",
        "mistakes": [
            (467.6 * 0.8185, "You multiplied. Force is moment over lever."),
            (467.6 / 0.5, "0.50 m is the lever of the stop."),
        ],
    },
]
