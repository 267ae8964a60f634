"""Exercises on units and signs, the centre of gravity, and the free body of a joint."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from hangarc._pose import Pose, pose
from hangarc.lesson.hardware import small_hang
from hangarc.model import Hang
from hangarc.statics import HoistLoads, JointLoads, hanging_tilt, hoist_loads, joint_loads

G = 9.80665


@cache
def straight() -> Hang:
    """Three cabinets on rear links, all splays 0."""
    return small_hang(3, rigging="tension")


@cache
def placed() -> Pose:
    """The same, level, its upper hinge at 0."""
    return pose(straight(), 0.0, 0.0)


@cache
def on_two_hoists() -> HoistLoads:
    """The same, held level by hoists at 0.1 and −0.7 m."""
    return hoist_loads(straight(), 0.0, [0.1, -0.7])


@cache
def joints() -> JointLoads:
    """Forces at its joints."""
    return joint_loads(straight(), 0.0)


UNITS: list[dict[str, Any]] = [
    {
        "question": "The fly frame is tilted +3°. The splays, from the top, are 2° and 4°. At what "
        "elevation does the lowest of the three cabinets aim?",
        "unit": "°",
        "answer": lambda: pose(small_hang(3, splays_deg=[2.0, 4.0]), 3.0).axis_deg[2],
        "by": 0.05,
        "because": "A splay aims the lower cabinet further down: 3 − 2 − 4 = −3.",
        "hint": "Start with the tilt and take away one splay after the other, from the top.",
        "mistakes": [
            (9.0, "You added the splays. A splay aims the lower cabinet further down."),
            (-1.0, "One splay is missing: two joints lie above the lowest cabinet."),
            (-6.0, "The tilt is missing: the first cabinet aims where the frame does."),
        ],
    },
    {
        "question": "A pick hole lies 0.40 m behind the upper front hinge. What is its x?",
        "unit": "m",
        "answer": -0.40,
        "by": 0.001,
        "because": "x is forward, so what lies behind is negative.",
        "hint": "Where does x point? Behind is the other way.",
    },
    {
        "question": "A hang has a mass of 250 kg. What is its weight?",
        "unit": "N",
        "answer": 250.0 * G,
        "because": "Weight is mass times gravity: 250 kg × 9.80665 m/s².",
        "hint": "A mass pulls on its hoists with mass times gravity.",
        "within": 0.002,
        "mistakes": [
            (2500.0, "Near, but gravity is 9.80665 m/s², not 10: that is 2 % too much."),
        ],
    },
]

CG: list[dict[str, Any]] = [
    {
        "question": "A fly frame of 70 kg has its centre of gravity 0.35 m behind the hinges; "
        "three "
        "cabinets of 60 kg each have theirs 0.30 m behind. How far behind the hinges lies the "
        "centre of gravity of the whole?",
        "unit": "m",
        "answer": lambda: -placed().cg_m[0],
        "within": 0.005,
        "because": "Each mass counts with its place: (70 × 0.35 + 180 × 0.30)/250.",
        "hint": "Multiply each mass with its place, add up, and divide by the sum of the masses.",
        "mistakes": [
            (0.325, "That is the mean of the two places. The heavier part counts more."),
            (0.30, "The fly frame is missing: it hangs on the hoists too."),
        ],
    },
    {
        "question": "The same hang is held level by two hoists, at x = +0.1 m and x = −0.7 m. Its "
        "weight is 2452 N and its centre of gravity lies at x = −0.314 m. What does the rear hoist "
        "carry?",
        "unit": "N",
        "answer": lambda: on_two_hoists().load_n[1],
        "because": "Moments about the front hoist: 2452 × (0.1 + 0.314)/0.8.",
        "hint": "Take moments about the front hoist, so that its load drops out.",
        "mistakes": [
            (
                lambda: on_two_hoists().load_n[0],
                "That is the front hoist. The lever of the weight is measured from the other "
                "hoist.",
            ),
            (1225.8, "That is half of the weight: so it is only with the CG midway between them."),
            (
                lambda: 2451.66 * 0.314 / 0.8,
                "The lever is measured from the hinge. Measure it from the front hoist, at 0.1 m.",
            ),
        ],
    },
    {
        "question": "Now it hangs on one pick, at x = −0.20 m and 0.20 m above the hinges. Level, "
        "the centre of gravity lies at x = −0.314 m and 0.404 m below the hinges. At which tilt "
        "does "
        "it come to rest?",
        "unit": "°",
        "answer": lambda: hanging_tilt(straight(), -0.2).tilt_deg,
        "within": 0.01,
        "because": "The CG swings under the pick: tan of the tilt is 0.114/0.604, and the front "
        "goes up, since the CG was behind the pick.",
        "hint": "The tangent of the tilt is how far the CG lies behind the pick, over how far it "
        "lies below it.",
        "mistakes": [
            (
                lambda: math.degrees(math.atan(0.314 / 0.604)),
                "The lever is measured from the hinge. Measure it from the pick.",
            ),
            (
                lambda: math.degrees(math.atan(0.114 / 0.404)),
                "The depth is measured from the hinge. The pick lies 0.20 m above it.",
            ),
            (
                lambda: math.degrees(math.asin(0.114 / 0.604)),
                "That is the sine. The two lengths are the legs of the triangle: take the tangent.",
            ),
        ],
    },
]

JOINT: list[dict[str, Any]] = [
    {
        "question": "A straight, level hang of three cabinets; joint 1 lies below the first. Each "
        "cabinet has 60 kg, its centre of gravity 0.30 m behind the hinges. What is the moment of "
        "gravity about the hinge of joint 1?",
        "unit": "N m",
        "answer": lambda: joints().moment_nm[1],
        "because": "Two cabinets hang below it: 2 × 60 kg × 9.80665 m/s² × 0.30 m.",
        "hint": "Cut at joint 1: which cabinets hang below the cut? Weight times lever.",
        "mistakes": [
            (3 * 60 * G * 0.3, "The first cabinet hangs above joint 1: it is not cut off."),
            (60 * G * 0.3, "Two cabinets hang below joint 1."),
            (2 * 60 * 0.3, "That is in kg m. Weight is mass times gravity."),
            (2 * 60 * G * 0.5, "0.50 m is the lever of the rear link; the weight's is 0.30 m."),
        ],
    },
    {
        "question": "The rear link of joint 1 is plumb and lies 0.50 m behind the hinge. With what "
        "force does it pull?",
        "unit": "N",
        "answer": lambda: joints().rear_link_n[1],
        "because": "The link holds the moment of gravity: 353 N m over 0.50 m.",
        "hint": "About the hinge the link alone holds the moment: divide it by the link's lever.",
        "mistakes": [
            (2 * 60 * G, "That is the whole weight: you divided by the weight's own lever."),
            (2 * 60 * G * 0.3 * 0.5, "You multiplied by the lever. Force is moment over lever."),
        ],
    },
    {
        "question": "What does the front hinge of joint 1 carry, upward on the lower cabinet?",
        "unit": "N",
        "answer": lambda: joints().hinge_force_n[1, 1],
        "because": "What the link does not hold of the weight: 1177 − 706.",
        "hint": "All forces on the lower part add up to zero: weight down, link and hinge up.",
        "mistakes": [
            (2 * 60 * G, "That is the whole weight. The rear link holds a part of it."),
            (2 * 60 * G * 1.6, "The link pulls up as the hinge does: it relieves the hinge."),
        ],
    },
]
