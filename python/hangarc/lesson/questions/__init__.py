"""The exercises of the lessons, in the order of the lessons."""

from hangarc.lesson.exercises import Exercise, numbered
from hangarc.lesson.questions import above, closing, hanging, sound, working

LESSONS = {
    "units": hanging.UNITS,
    "cg": hanging.CG,
    "joint": hanging.JOINT,
    "closing": closing.CLOSING,
    "by hand": closing.BY_HAND,
    "bridle": above.BRIDLE,
    "line": sound.LINE,
    "air": sound.AIR,
    "splays": sound.SPLAYS,
    "wind": above.WIND,
    "sheet": working.SHEET,
    "sweep": working.SWEEP,
}

QUESTIONS: dict[str, Exercise] = {}
for lesson, rows in LESSONS.items():
    QUESTIONS.update(numbered(lesson, rows))
