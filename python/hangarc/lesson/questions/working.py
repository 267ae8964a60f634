"""Exercises on reading a hang sheet, and on a sweep."""

from __future__ import annotations

from functools import cache
from typing import Any

from hangarc import demo
from hangarc._answers import Answer, answer


@cache
def sheet() -> Answer:
    """The demo study, answered."""
    return answer(demo.study())


def most_used() -> float:
    """Percentage of the stated limit that is used most."""
    return 100.0 * max(row.utilisation for row in sheet().limits if row.utilisation is not None)


SHEET: list[dict[str, Any]] = [
    {
        "question": "What does the front hoist of the demo sheet carry when the hang is at trim?",
        "unit": "N",
        "answer": lambda: sheet().hoists.load_n[0],
        "within": 0.01,
        "because": "Hoist 1 is the front one; the sheet gives its load at rest.",
        "hint": "Look for the loads of the hoists; hoist 1 is the front one.",
        "mistakes": [
            (lambda: sheet().hoists.load_n[1], "That is the rear hoist."),
            (lambda: float(sum(sheet().hoists.load_n)), "That is both hoists together."),
        ],
    },
    {
        "question": "Into which link of the chain does the shortening clutch go?",
        "unit": "links",
        "answer": lambda: sheet().shortening.link,  # type: ignore[union-attr]
        "within": 0.0,
        "by": 0.1,
        "because": "Counted from the chain's end, so that the lever hoist starts and ends in its "
        "stroke.",
        "hint": "Look at the step that hooks in the chain.",
        "mistakes": [(140.0, "That is how many links the chain has.")],
    },
    {
        "question": "How many percent of its stated limit does the part use that uses most?",
        "unit": "%",
        "answer": most_used,
        "by": 0.6,
        "within": 0.0,
        "because": "The table of limits gives each part's greatest force, over what is stated for "
        "it.",
        "hint": "Look at the table of limits for the greatest percentage.",
    },
]

SWEEP: list[dict[str, Any]] = [
    {
        "question": "Six theatres, two lengths of hang, two airs: how many rows has the answer?",
        "unit": "rows",
        "answer": 24.0,
        "within": 0.0,
        "by": 0.1,
        "because": "Every room with every length in every air: 6 × 2 × 2.",
        "hint": "Each option is asked with each of the others.",
        "mistakes": [(10.0, "The options are crossed, not added: multiply.")],
    },
    {
        "question": "Six rooms are served with a spread of 1.2, 1.5, 1.9, 2.3, 2.8 and 3.0 dB. "
        "How many "
        "percent of the rooms does this hang serve within 2 dB?",
        "unit": "%",
        "answer": 50.0,
        "because": "Three of six lie at 2 dB or below.",
        "hint": "Count the rooms at 2 dB or below, and divide by all of them.",
        "mistakes": [
            (3.0, "That is how many rooms; the question asks for a percentage."),
            (0.5, "That is the share; in percent it is a hundred times that."),
        ],
    },
]
