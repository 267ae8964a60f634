"""What the lessons are made of: hardware of round numbers, drawings, exercises with answers.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.

Examples
--------
>>> import hangarc as ha
>>> ha.lesson.exercises()[:2]
('units 1', 'units 2')
>>> ha.lesson.check("units 1", 99.0).right
False
"""

from hangarc.lesson.drawings import balance, closing, curves, free_body, in_wind, signs
from hangarc.lesson.exercises import Checked, check, exercises
from hangarc.lesson.forces import Force, forces_below
from hangarc.lesson.hardware import level_db, line_source, pattern_db, small_hang
from hangarc.lesson.slider import Slider

__all__ = [
    "Checked",
    "Force",
    "Slider",
    "balance",
    "check",
    "closing",
    "curves",
    "exercises",
    "forces_below",
    "free_body",
    "in_wind",
    "level_db",
    "line_source",
    "pattern_db",
    "signs",
    "small_hang",
]
