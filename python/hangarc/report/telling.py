"""Words and figures together: what every part of the sheet is told with."""

from __future__ import annotations

from collections.abc import Iterable

from hangarc._answers import Answer
from hangarc._words import LanguageCode, Units
from hangarc.report.figures import Figure, Figures, Rich
from hangarc.report.spread import spreads
from hangarc.report.wording import Words
from hangarc.second_opinion import Verification
from hangarc.uncertainty import Uncertainty


class Telling:
    """Says things about one answer in one language and one set of units."""

    def __init__(
        self,
        answer: Answer,
        units: Units,
        language: LanguageCode,
        opinion: Verification | None = None,
        readings_file: str = "readings.csv",
        uncertainty: Uncertainty | None = None,
    ) -> None:
        self.answer, self.language, self.opinion = answer, language, opinion
        self.readings_file = readings_file
        self.uncertainty, self._spreads = uncertainty, spreads(answer, uncertainty)
        self.words = Words(language)
        self.figures = Figures(answer, units, language)

    def word(self, key: str) -> str:
        """Give the word or sentence of a key."""
        return self.words.word(key)

    def say(self, key: str, **values: Figure | Rich | str | int) -> Rich:
        """Fill the fields of a sentence."""
        return self.words.say(key, **values)

    def state(self, section: str, name: str) -> str:
        """Give the words for a state that the core names."""
        return self.words.state(section, name)

    def fig(self, kind: str, path: str) -> Figure:
        """Give a figure of the answer."""
        return self.figures.figure(kind, path)

    def text(self, kind: str, value: float) -> str:
        """Print a number as a figure of a kind would be."""
        return self.figures.text(kind, value)

    def cell(self, kind: str, path: str) -> Rich:
        """Give a figure that stands alone."""
        return (self.fig(kind, path),)

    def spread(self, kind: str, path: str) -> Rich:
        """Give a figure with its ±, where tolerances are stated."""
        if path not in self._spreads:
            return self.cell(kind, path)
        by = self.figures.spread(kind, self._spreads[path]).replace(" ", "\u00a0")
        return (self.fig(kind, path), f"\u00a0±\u00a0{by}")

    def hand(self, text: str) -> Rich:
        """Give a text, or a line to fill in by hand."""
        return (text or self.word("sheet.by_hand"),)


def joined(parts: Iterable[Rich], between: str = ", ") -> Rich:
    """Put several in a row with a sign between them."""
    row: list[str | Figure] = []
    for part in parts:
        if row:
            row.append(between)
        row += part
    return tuple(row)
