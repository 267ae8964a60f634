"""Exercises on line sources, the air, and splays."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from hangarc._pose import pose
from hangarc.acoustics import air_absorption_db_per_m, sound_speed_m_s
from hangarc.lesson.hardware import level_db, line_source, small_hang
from hangarc.model import Air

COLD = Air(temperature_c=8.0, humidity_percent=25.0)
WARM = Air(temperature_c=28.0, humidity_percent=75.0)


@cache
def lost_db(distance_m: float) -> float:
    """What the cold dry air takes of 8 kHz over a distance."""
    alpha = air_absorption_db_per_m(8000.0, temperature_c=8.0, humidity_percent=25.0)
    return float(alpha) * distance_m


@cache
def far_fall_db() -> float:
    """Change of level from 400 to 800 m in front of a line of 4 m, at 1 kHz."""
    near, far = level_db(line_source(4.0), [400.0, 800.0], [1000.0])
    return float(far - near)


LINE: list[dict[str, Any]] = [
    {
        "question": "A straight line source of 4 m radiates 1 kHz; the wavelength is 0.343 m. Up "
        "to "
        "which distance does it fall by 3 dB a doubling, L²/2λ?",
        "unit": "m",
        "answer": 4.0**2 / (2 * 0.343),
        "within": 0.02,
        "because": "16/0.686: twice the length, or half the wavelength, and it reaches much "
        "farther.",
        "hint": "The length counts by its square, over twice the wavelength.",
        "mistakes": [
            (4.0**2 / 0.343, "That is L²/λ, where the two slopes cross: twice as far."),
            (4.0 / (2 * 0.343), "The length counts by its square."),
        ],
    },
    {
        "question": "Far beyond that distance, by how much does the level change from 400 m to "
        "800 m, "
        "the air's absorption left out?",
        "unit": "dB",
        "answer": far_fall_db,
        "by": 0.1,
        "because": "From far away every source is a point: −6 dB each doubling.",
        "hint": "Far away the wave spreads over a sphere, in both directions.",
        "mistakes": [
            (-3.01, "So it is near the line, where the wave spreads in one direction only."),
            (-12.04, "Distance doubles once, from 400 to 800 m."),
        ],
    },
    {
        "question": "Lines stand in a column, one every 0.25 m, with gaps between them. At 3 kHz "
        "the "
        "wavelength is 0.1144 m. At which angle off the axis appears the first grating lobe?",
        "unit": "°",
        "answer": math.degrees(math.asin(0.1144 / 0.25)),
        "because": "sin a = λ/h: at that angle neighbours are one whole wave apart, and add up.",
        "hint": "Where the way from one line is longer than from its neighbour by one wavelength.",
        "mistakes": [
            (math.degrees(0.1144 / 0.25), "Take the arc sine: λ/h is the sine of the angle."),
            (
                math.degrees(math.asin(0.1144 / 0.5)),
                "At half a wave they cancel; take a whole one.",
            ),
        ],
    },
]

AIR: list[dict[str, Any]] = [
    {
        "question": "At 8 °C and 25 % humidity the air takes 159 dB/km of 8 kHz. What does it "
        "take on "
        "the way to a seat 48 m away?",
        "unit": "dB",
        "answer": lambda: lost_db(48.0),
        "because": "Absorption goes with the distance: 48 m × 0.159 dB/m.",
        "hint": "Decibels of absorption add up metre by metre.",
        "within": 0.02,
        "mistakes": [
            (159.0, "That is for a whole kilometre."),
            (159.0 / 48.0, "You divided. Each metre takes its share: multiply."),
        ],
    },
    {
        "question": "In dry air c = 331.3 m/s × √(1 + t/273.15 °C). What is it at 28 °C?",
        "unit": "m/s",
        "answer": 331.3 * math.sqrt(1 + 28.0 / 273.15),
        "within": 0.001,
        "because": "The speed goes with the root of the absolute temperature.",
        "hint": "Put the temperature in degrees Celsius, and take the root.",
        "mistakes": [
            (331.3 * (1 + 28.0 / 273.15), "The root is missing."),
            (331.3, "That is at 0 °C."),
        ],
    },
    {
        "question": "Sound runs at 336.3 m/s on the cold evening and at 349.5 m/s on the warm "
        "one. A "
        "delay is set on the cold evening for 40 m. By how many milliseconds does it lag on the "
        "warm "
        "one?",
        "unit": "ms",
        "answer": lambda: 40e3 * (1 / sound_speed_m_s(COLD) - 1 / sound_speed_m_s(WARM)),
        "within": 0.02,
        "because": "The way takes 40/336.3 s cold and 40/349.5 s warm; the delay stays.",
        "hint": "Work out the time of the way on each evening, and take the difference.",
        "mistakes": [
            (40e3 / 349.5, "That is the whole way on the warm evening."),
            (40e3 / 336.3, "That is the whole way on the cold evening."),
        ],
    },
]

SPLAYS: list[dict[str, Any]] = [
    {
        "question": "Three seats of equal weight get 98, 100 and 102 dB in one band. What is the "
        "spread "
        "(standard deviation) of the level?",
        "unit": "dB",
        "answer": math.sqrt(8.0 / 3.0),
        "because": "The squares of −2, 0 and 2 dB off their mean, averaged, and the root of that.",
        "hint": "Square how far each seat lies off the mean, average the squares, take the root.",
        "mistakes": [
            (4.0, "That is from the quietest to the loudest."),
            (4.0 / 3.0, "That is the mean distance from the mean; the spread takes squares."),
            (2.0, "You divided by two. All three seats count: divide the sum of squares by three."),
        ],
    },
    {
        "question": "Five cabinets, tilt 0°, pins from the top 1°, 2°, 3° and 4°. At what "
        "elevation does "
        "the lowest aim?",
        "unit": "°",
        "answer": lambda: pose(small_hang(5, splays_deg=[1.0, 2.0, 3.0, 4.0]), 0.0).axis_deg[4],
        "by": 0.05,
        "because": "All splays above it add up: −(1 + 2 + 3 + 4).",
        "hint": "Each splay turns everything below it.",
        "mistakes": [(-4.0, "The splays above it turn it too: add them all up.")],
    },
    {
        "question": "Eight cabinets. The pin of joint 3, below the third cabinet, goes from 2° to "
        "3°. How "
        "many cabinets aim elsewhere then?",
        "unit": "cabinets",
        "answer": 5.0,
        "within": 0.0,
        "by": 0.1,
        "because": "All that hang below joint 3: the fourth to the eighth, by one degree each.",
        "hint": "A joint turns everything that hangs below it.",
        "mistakes": [
            (1.0, "Not the next one alone: the others hang on it."),
            (6.0, "The third cabinet hangs above joint 3, and stays."),
            (3.0, "Those hang above the joint, and stay."),
        ],
    },
]
