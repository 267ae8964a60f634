"""Figures of an answer as a sheet prints them: taken by path, with unit, by the reader's language.

A factor between units stands once here and is exact by definition (NIST SP 811, 2008, appendix
B.8): 1 lb = 0.453 592 37 kg, 1 ft = 0.3048 m. Five factors do not ask for a library of units.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Iterable
from typing import Any

from babel.dates import format_date, parse_date
from babel.numbers import format_decimal

from hangarc._answers import Answer
from hangarc._catalogue import M_PER_FT, Language
from hangarc._errors import InputError
from hangarc._words import LanguageCode, Units
from hangarc.model.hardware import STANDARD_GRAVITY_M_S2

KG_PER_LB = 0.45359237
N_PER_LBF = KG_PER_LB * STANDARD_GRAVITY_M_S2

UNITS = ("metric", "tonnes", "us")


@dataclasses.dataclass(frozen=True)
class Figure:
    """One figure of the answer: its text, its value in SI, and where the answer has it."""

    text: str
    value: float
    kind: str
    path: str


Rich = tuple[str | Figure, ...]


def plain(rich: Rich) -> str:
    """Give the text alone."""
    return "".join(part if isinstance(part, str) else part.text for part in rich)


def ranges(numbers: Iterable[int]) -> str:
    """Give whole numbers as 1-3, 5."""
    runs: list[list[int]] = []
    for number in sorted({int(number) for number in numbers}):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def at_path(root: Any, path: str) -> Any:
    """Follow a path such as ``work.lifts[1].pick_m[0]``."""
    for step in re.findall(r"[^.\[\]]+|\[[^\]]+\]", path):
        if step.startswith("["):
            key = step[1:-1]
            root = root[key] if isinstance(root, dict) else root[int(key)]
        elif isinstance(root, dict):
            root = root[step]
        else:
            root = getattr(root, step)
    return root


class Figures:
    """Prints an answer's figures.

    Parameters
    ----------
    answer : Answer
        Where they come from.
    units : {"metric", "tonnes", "us"}
        Masses and weights in kg with kN, in t with kN, or in lb; lengths in m, or in ft and in.
    language : str
        Which decimal sign and which order of a date.
    """

    def __init__(
        self, answer: Answer, units: Units = "metric", language: LanguageCode = "en"
    ) -> None:
        if units not in UNITS:
            raise InputError("units", units, " or ".join(map(repr, UNITS)))
        self.answer, self.units, self.language = answer, units, language
        self._spoken = Language(language)

    def value(self, path: str) -> Any:
        """What the answer has there."""
        return at_path(self.answer, path)

    def figure(self, kind: str, path: str) -> Figure:
        """Print what the answer has at a path, as a figure of a kind."""
        value = self.value(path)
        return Figure(self.text(kind, value), float(value), kind, path)

    def text(self, kind: str, value: float) -> str:
        """Print a value in SI as a figure of a kind."""
        write: str = getattr(self, f"_{kind}")(float(value))
        return write

    def spread(self, kind: str, value: float) -> str:
        """Print what a figure may be off by: rounded up, so that it never flatters."""
        kind, step = self._steps()[kind]
        return self.text(kind, step * math.ceil(round(value / step, 6)))

    def _steps(self) -> dict[str, tuple[str, float]]:
        """How a figure's ± is printed, and the last place it is printed to, in SI."""
        us, per_kg_n = self.units == "us", STANDARD_GRAVITY_M_S2
        weight = ("weight", (KG_PER_LB if us else 1.0) * per_kg_n)
        force = ("force", N_PER_LBF if us else 10.0)
        return {
            "load": weight,
            "force": force,
            "signed_force": force,
            "length": ("length", M_PER_FT / 120.0 if us else 0.01),
            "tilt": ("angle", 0.01),
            "level": ("level", 0.1),
        }

    def date(self, iso: str) -> str:
        """Print a date."""
        if not iso:
            return ""
        return str(format_date(parse_date(iso, locale="sv"), "medium", self.language))

    def _number(self, value: float, places: int) -> str:
        return self._spoken.number(value, places)

    def _force(self, value: float) -> str:
        if self.units == "us":
            return f"{self._number(value / N_PER_LBF, 0)} lbf"
        return f"{self._number(value / 1e3, 2)} kN"

    def _signed_force(self, value: float) -> str:
        text = self._force(value)
        return f"+{text}" if re.search("[1-9]", text) and value > 0.0 else text

    def _mass(self, value: float) -> str:
        if self.units == "us":
            return f"{self._number(value / KG_PER_LB, 0)} lb"
        if self.units == "tonnes":
            return f"{self._number(value / 1e3, 3)} t"
        return f"{self._number(value, 0)} kg"

    def _load(self, value: float) -> str:
        """A weight, as the mass a load cell reads and as a force."""
        if self.units == "us":
            return self._mass(value / STANDARD_GRAVITY_M_S2)
        return f"{self._mass(value / STANDARD_GRAVITY_M_S2)} = {self._force(value)}"

    def _weight(self, value: float) -> str:
        """A weight as the mass a load cell reads alone."""
        return self._mass(value / STANDARD_GRAVITY_M_S2)

    def _speed(self, value: float) -> str:
        if self.units == "us":
            return f"{self._number(value / M_PER_FT, 1)} ft/s"
        return f"{self._number(value, 1)} m/s"

    def _length(self, value: float) -> str:
        return self._spoken.length(value, feet=self.units == "us")

    def _fine_length(self, value: float) -> str:
        """A small length as it is stated."""
        if self.units == "us":
            return f"{self._spoken.trimmed(value / M_PER_FT * 12.0)} in"
        return f"{self._spoken.trimmed(value * 1e3)} mm"

    def _size(self, value: float) -> str:
        """A length without its sign."""
        return self._length(abs(value))

    def _place(self, value: float) -> str:
        """A coordinate."""
        return self._length(value)

    def _throw(self, value: float) -> str:
        if self.units == "us":
            return f"{self._number(value / M_PER_FT, 0)} ft"
        return f"{self._number(value, 1)} m"

    def _angle(self, value: float) -> str:
        return f"{self._spoken.trimmed(value)}°"

    def _tilt(self, value: float) -> str:
        return f"{self._spoken.trimmed(value, sign=True)}°"

    def _level(self, value: float) -> str:
        return f"{self._number(value, 1)} dB"

    def _fine_level(self, value: float) -> str:
        return f"{self._number(value, 2)} dB"

    def _bare_level(self, value: float) -> str:
        return self._number(value, 1)

    def _percent(self, value: float) -> str:
        """Whole percent, rounded up so that it never flatters."""
        return f"{math.ceil(round(100.0 * value, 6))} %"

    def _share(self, value: float) -> str:
        """Percent to a tenth, rounded up."""
        return f"{self._number(math.ceil(round(1e3 * value, 6)) / 10.0, 1)} %"

    def _count(self, value: float) -> str:
        return self._number(value, 0)

    def _plain(self, value: float) -> str:
        return str(format_decimal(value, "0.######", locale=self.language))

    def _factor(self, value: float) -> str:
        return str(format_decimal(value, "0.###", locale=self.language))

    def _acceleration(self, value: float) -> str:
        return f"{format_decimal(value, '0.#####', locale=self.language)} m/s²"

    def _band(self, value: float) -> str:
        """A mid-band frequency by its nominal name."""
        return self._spoken.band(value)
