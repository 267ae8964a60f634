"""Every figure that a lesson's text states is held against what the library calculates.

`states` asserts that the text says a figure, formatted from a calculated value; `given` names what
the text takes as given. What is left over when all is said is a figure that nobody checks.
"""

from __future__ import annotations

import re

UNITS = "N/m|N m|kN|N|mm|m/s|kg/m³|kg|dB/km|dB|kHz|Hz|ms|Pa|lb|m|wℓ²|wℓ|cabinets|seats|rows"
FIGURE = re.compile(rf"[+-]?\d[\d,]*(?:\.\d+)?(?:°| ?%| (?:{UNITS})(?![\w/]))")


def plain(text: str) -> str:
    """One kind of minus and of space, no emphasis."""
    return re.sub(r"\s+", " ", text.replace("−", "-").replace("*", ""))


class Text:
    """The text of a lesson, without its code."""

    def __init__(self, markdown: str) -> None:
        without_code = re.sub(r"```.*?```|`[^`]*`", " ", markdown, flags=re.S)
        self.left = self.all = plain(without_code)

    def states(self, *said: str) -> None:
        """Assert that the text states each of these figures."""
        for one in said:
            figure = rf"(?<![\d.,]){re.escape(plain(one))}(?![\d])"
            assert re.search(figure, self.all), f"the text does not say {one!r}"
            for part in (plain(one), *FIGURE.findall(plain(one))):
                self.left = re.sub(rf"(?<![\d.,]){re.escape(part)}(?![\d])", " ", self.left)

    given = states

    def nothing_is_left(self) -> None:
        """Assert that every figure of the text has been named."""
        assert not FIGURE.findall(self.left), FIGURE.findall(self.left)
