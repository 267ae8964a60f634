"""Exercises with checked answers: what is asked, what is right, and what typical mistakes give."""

from __future__ import annotations

import dataclasses
import html
import math
from collections.abc import Callable, Sequence
from types import EllipsisType
from typing import Any

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, instance, real
from hangarc.model.hardware import STANDARD_GRAVITY_M_S2

Figure = float | Callable[[], float]


@dataclasses.dataclass(frozen=True, kw_only=True)
class Exercise:
    """A question with a number for its answer.

    Parameters
    ----------
    name : str
        The lesson's word and a number: ``closing 1``.
    question : str
        What is asked, with every figure that is needed.
    unit : str
        Unit of the answer.
    answer : float or callable
        The answer, or what works it out with the library.
    because : str
        Said with a right answer: the way to it.
    hint : str
        Said with an answer that is no known mistake.
    mistakes : sequence of (float or callable, str)
        What a typical mistake gives, and the hint it earns.
    within : float
        Relative difference that counts as right.
    by : float
        Difference that counts as right as well, in the unit.
    """

    name: str
    question: str
    unit: str
    answer: Figure
    because: str
    hint: str
    mistakes: Sequence[tuple[Figure, str]] = ()
    within: float = 0.01
    by: float = 0.0

    def right(self) -> float:
        """Work out the answer."""
        return figure(self.answer)

    def is_right(self, value: float, of: float | None = None) -> bool:
        """Whether a value is near enough to the answer, or to another figure."""
        target = self.right() if of is None else of
        return abs(value - target) <= max(self.within * abs(target), self.by)

    def hint_for(self, value: float) -> str:
        """Give the hint that a wrong answer earns."""
        known = [
            (abs(value - figure(mistake)), hint)
            for mistake, hint in self.mistakes
            if self.is_right(value, figure(mistake))
        ]
        if known:
            return min(known)[1]
        for target, hint in self._slips():
            if target != self.right() and self.is_right(value, target):
                return hint
        return self.hint

    def _slips(self) -> list[tuple[float, str]]:
        """Slips of sign and unit that any answer may have."""
        right = self.right()
        slips = [
            (-right, "The size is right, the sign is not. Where a size is asked, give it positive.")
        ]
        slips += [
            (right * k, f"A thousand times off: the answer is asked in {self.unit}.")
            for k in (1e3, 1e-3)
        ]
        if self.unit == "N":
            kilograms = (
                "That is the figure in kilograms: a force is mass times gravity, 9.80665 m/s²."
            )
            slips.append((right / STANDARD_GRAVITY_M_S2, kilograms))
            slips.append(
                (right * STANDARD_GRAVITY_M_S2, "Gravity is in it twice: a force needs it once.")
            )
        if self.unit == "°":
            slips.append((math.radians(right), "That is in radians; the answer is in degrees."))
        return slips


def figure(value: Figure) -> float:
    """Give a figure, worked out where it has to be."""
    return float(value()) if callable(value) else float(value)


@dataclasses.dataclass(frozen=True, eq=False)
class Checked(Result):
    """What became of an answer to an exercise.

    Attributes
    ----------
    exercise, question, unit : str
        What was asked.
    answer : float or None
        What was answered; None where it has not been yet.
    right : bool or None
        Whether it is right; None where there is no answer yet.
    said : str
        The way to a right answer, or a hint for a wrong one.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.lesson.check("units 1", 99.0).right
    False
    """

    exercise: str
    question: str
    unit: str
    answer: float | None
    right: bool | None
    said: str

    def _repr_html_(self) -> str:
        word, colour = {
            True: ("Right.", "#3f8f7f"),
            False: ("Not yet.", "#c9641b"),
            None: ("Your turn.", "#174f8a"),
        }[self.right]
        given = "" if self.answer is None else f"{self.answer:g} {html.escape(self.unit)}. "
        said = html.escape(self.said)
        return (
            f"<div style='border-left:4px solid {colour};padding:0.2em 0.8em;max-width:46em'>"
            f"<b>Exercise {html.escape(self.exercise)}</b> (in {html.escape(self.unit)}). "
            f"{html.escape(self.question)}<br>{given}<b style='color:{colour}'>{word}</b> {said}"
            "</div>"
        )

    def __str__(self) -> str:
        word = {True: "Right.", False: "Not yet.", None: "Your turn."}[self.right]
        return f"{self.question}\n{word} {self.said}"


@by_name
def exercises() -> tuple[str, ...]:
    """Names of all exercises, lesson by lesson.

    Examples
    --------
    >>> import hangarc as ha
    >>> len(ha.lesson.exercises()) > 20
    True
    """
    return tuple(_known())


@by_name
def check(exercise: str, answer: float | EllipsisType = ...) -> Checked:
    """Ask an exercise of a lesson, and look at an answer to it.

    Parameters
    ----------
    exercise : str
        Its name, as the lesson gives it: ``"closing 1"``.
    answer : float, optional
        The answer, in the unit the question names; left out, or as three dots, the question is
        asked.

    Returns
    -------
    Checked
        Whether the answer is right, with the way to it or a hint.

    Raises
    ------
    InputError
        No exercise of that name, or an answer that is no number.

    Examples
    --------
    >>> import hangarc as ha
    >>> first = ha.lesson.exercises()[0]
    >>> ha.lesson.check(first).unit
    '°'
    >>> ha.lesson.check(first, 1.0e9).right
    False
    """
    known = _known()
    name = instance("exercise", exercise, str)
    if name not in known:
        raise InputError("exercise", name, ", ".join(known))
    asked = known[name]
    said = {"exercise": name, "question": asked.question, "unit": asked.unit}
    if answer is ...:
        ask = f'Put your answer in place of the dots: check("{name}", ...).'
        return Checked(**said, answer=None, right=None, said=ask)
    value = real("answer", answer)
    right = asked.is_right(value)
    return Checked(
        **said, answer=value, right=right, said=asked.because if right else asked.hint_for(value)
    )


def _known() -> dict[str, Exercise]:
    from hangarc.lesson.questions import QUESTIONS

    return QUESTIONS


def numbered(lesson: str, rows: Sequence[dict[str, Any]]) -> dict[str, Exercise]:
    """Give the exercises of a lesson their names."""
    return {
        f"{lesson} {number}": Exercise(name=f"{lesson} {number}", **row)
        for number, row in enumerate(rows, start=1)
    }
