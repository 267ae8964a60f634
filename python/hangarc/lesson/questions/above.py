"""Exercises on what hangs above the frame: bridles, beams, wind, pull-back."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from hangarc.lesson.hardware import small_hang
from hangarc.statics import pull_back
from hangarc.suspension import beam, bridle
from hangarc.suspension.beams import Beam
from hangarc.wind import Wind


@cache
def two_spans(high_m: float) -> Beam:
    """A beam of two spans of 6 m under 800 N/m, its middle hoist too high."""
    return beam(
        12.0, [0.0, 6.0, 12.0], [(0.0, 12.0, 800.0)], ei_nm2=5e6, settlement_m=[0.0, -high_m, 0.0]
    )


@cache
def leg_n() -> float:
    """Force in each leg of an equal bridle of 90° under 9000 N."""
    half = math.radians(45.0)
    ends = [(-math.sin(half), 0.0), (math.sin(half), 0.0)]
    return float(bridle(ends, lengths_m=[1.0, 1.0], load_n=9000.0).force_n[0])


@cache
def rope_n() -> float:
    """Pull of a level rope that holds three cabinets level on one pick."""
    hang = small_hang(3, rigging="tension")
    return pull_back(hang, 0.0, -0.4, (9.0, -1.2), attach_m=(-0.6, -0.20)).force_n


BRIDLE: list[dict[str, Any]] = [
    {
        "question": "A load of 9000 N hangs on two equal legs with 90° between them. What does "
        "each leg "
        "carry?",
        "unit": "N",
        "answer": leg_n,
        "because": "Each leg holds half of the load upward: F cos 45° = 4500 N.",
        "hint": "Only the upward part of a leg's force holds the load; each leg owes half of it.",
        "mistakes": [
            (4500.0, "So it is with plumb legs. A leg at an angle carries more."),
            (9000.0, "So it is at 120° between the legs."),
            (
                4500.0 * math.cos(math.radians(45.0)),
                "You multiplied: a leg at an angle carries more than a plumb one, not less.",
            ),
        ],
    },
    {
        "question": "A beam of two equal spans of 6 m carries 800 N/m on three hoists at one "
        "height. "
        "What does the middle hoist carry?",
        "unit": "N",
        "answer": lambda: two_spans(0.0).reaction_n[1],
        "because": "1.25 w ℓ: the beam runs through over the middle and lifts its ends a little.",
        "hint": "The middle of a beam that runs through carries more than half a span from each "
        "side.",
        "mistakes": [
            (
                4800.0,
                "So it is with two separate beams. One that runs through gives the middle more.",
            ),
            (1800.0, "That is an outer hoist, 0.375 w ℓ."),
            (3200.0, "A third each is what three hoists would like, and not what a beam gives."),
        ],
    },
    {
        "question": "The bending stiffness is 5 000 000 N m². The middle hoist is 20 mm too high. "
        "How "
        "much more does it carry than level?",
        "unit": "N",
        "answer": lambda: two_spans(0.02).reaction_n[1] - two_spans(0.0).reaction_n[1],
        "because": "6 E I h/ℓ³ = 6 × 5 000 000 × 0.020/216.",
        "hint": "A beam of 12 m gives way by P ℓ³/6EI under a force P at its middle, ℓ being 6 m.",
        "mistakes": [
            (
                lambda: two_spans(0.02).reaction_n[0] - two_spans(0.0).reaction_n[0],
                "That is what each outer hoist loses.",
            ),
            (6 * 5e6 * 0.02 / 12.0**3, "ℓ is one span, 6 m, and not the whole beam."),
            (6 * 5e6 * 0.02 / 36.0, "The length comes in by its third power."),
        ],
    },
]

WIND: list[dict[str, Any]] = [
    {
        "question": "Air of 1.25 kg/m³ blows at 15 m/s. What is the pressure of the wind?",
        "unit": "Pa",
        "answer": lambda: Wind(speed_m_s=15.0).at(10.0).pressure_pa,
        "because": "q = ½ ρ v² = ½ × 1.25 × 225.",
        "hint": "Half of the density times the square of the speed.",
        "mistakes": [
            (281.25, "The half is missing."),
            (9.375, "The speed counts by its square."),
        ],
    },
    {
        "question": "The force coefficient of a cabinet is 1.3; it shows the wind 1.00 m by 0.40 "
        "m. "
        "What is the wind's force on it at 15 m/s?",
        "unit": "N",
        "answer": 1.3 * 140.625 * 0.4,
        "because": "Coefficient × pressure × area: 1.3 × 140.6 Pa × 0.40 m².",
        "hint": "Pressure times area gives a force; the coefficient says how the shape catches it.",
        "mistakes": [
            (140.625 * 0.4, "The force coefficient is missing."),
            (1.3 * 140.625, "The area is missing."),
        ],
    },
    {
        "question": "The wind pushes a hang of 2500 N with 400 N altogether. How far off plumb do "
        "its "
        "hoist lines hang?",
        "unit": "°",
        "answer": math.degrees(math.atan2(400.0, 2500.0)),
        "because": "The line pulls against both: its tangent is 400/2500.",
        "hint": "The line points along the sum of weight and wind.",
        "mistakes": [
            (
                math.degrees(math.atan2(2500.0, 400.0)),
                "That is the angle from the level. Plumb is the other leg of the triangle.",
            ),
        ],
        "within": 0.008,
    },
    {
        "question": "A hang of 2452 N hangs on one pick at x = −0.40 m; its centre of gravity "
        "lies at "
        "x = −0.314 m. A level rope takes hold at the bottom, 1.40 m below the pick. With what "
        "force must it pull to keep the hang level?",
        "unit": "N",
        "answer": rope_n,
        "because": "About the pick: 2452 N × 0.086 m = rope × 1.40 m.",
        "hint": "Take moments about the pick: weight times how far the CG lies from it.",
        "mistakes": [
            (
                2451.66 * 0.314 / 1.4,
                "The lever of the weight is measured from the hinge. Measure it from the pick.",
            ),
            (2451.66 * 0.086, "That is the moment. Divide it by the rope's lever, 1.40 m."),
            (2451.66 * 0.086 / 1.2, "The rope's lever is measured from the hinge, not the pick."),
        ],
    },
]
