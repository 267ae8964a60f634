"""Words of the sheet and the pictures, one catalogue a language, and numbers as it writes them.

A catalogue is a TOML file of sections, `en.toml` and its fellows; all have the same keys and the
same fields in braces.
"""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Mapping
from importlib import resources

from babel.numbers import format_decimal, get_decimal_symbol

from hangarc._errors import InputError
from hangarc._keywords import by_name

# NIST SP 811, 2008, appendix B.8: exact by definition.
M_PER_FT = 0.3048

# Nominal third octaves of a decade (IEC 61260-1:2014, table E.1, from memory).
NOMINAL = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0)


@by_name
def languages() -> list[str]:
    """Languages there is a catalogue of.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.report.languages()
    ['de', 'en']
    """
    files = resources.files("hangarc._catalogue")
    return sorted(file.name[:-5] for file in files.iterdir() if file.name.endswith(".toml"))


@functools.cache
def catalogue(language: str) -> Mapping[str, Mapping[str, str]]:
    """Read the words of a language, section by section.

    Raises
    ------
    InputError
        There is no such catalogue.
    """
    known = languages()
    if language not in known:
        raise InputError("language", language, " or ".join(map(repr, known)))
    file = resources.files("hangarc._catalogue") / f"{language}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


class Language:
    """Words and numbers of one language."""

    def __init__(self, language: str) -> None:
        self.language = language
        self._sections = catalogue(language)

    def word(self, key: str, **fields: object) -> str:
        """Give the word or sentence of a key, ``section.name``, its fields filled."""
        section, _, name = key.rpartition(".")
        words = self._sections[section][name]
        return words.format(**fields) if fields else words

    def number(self, value: float, places: int, *, sign: bool = False) -> str:
        """Write a number to some places, a plus before what is above 0 if asked."""
        return self._written(value, places, "0" * places, sign)

    def trimmed(self, value: float, places: int = 2, *, sign: bool = False) -> str:
        """Write a number to at most some places, without needless zeros."""
        return self._written(value, places, "#" * places, sign)

    def _written(self, value: float, places: int, pattern: str, sign: bool) -> str:
        rounded = round(float(value), places) + 0.0
        pattern = "#,##0" + (f".{pattern}" if places else "")
        text = str(format_decimal(rounded, pattern, locale=self.language))
        return f"+{text}" if sign and rounded > 0.0 else text

    def length(self, length_m: float, *, feet: bool = False) -> str:
        """Write a length to a hundredth of a metre, or in feet and inches to a tenth of one."""
        if not feet:
            return f"{self.number(length_m, 2)} m"
        inches = round(abs(length_m) / M_PER_FT * 12.0, 1)
        sign = "-" if length_m < 0.0 and inches else ""
        whole, rest = divmod(inches, 12.0)
        if whole:
            return f"{sign}{whole:.0f} ft {self.number(rest, 1)} in"
        return f"{sign}{self.number(rest, 1)} in"

    def band(self, frequency_hz: float) -> str:
        """Give a mid-band frequency of third octaves by its nominal name."""
        tens = 10 ** math.floor(math.log10(frequency_hz))
        nominal = tens * min(NOMINAL, key=lambda name: abs(math.log(name * tens / frequency_hz)))
        if nominal >= 1000.0:
            return f"{self.trimmed(nominal / 1e3)} kHz"
        return f"{self.trimmed(nominal, 1)} Hz"

    @property
    def decimal_sign(self) -> str:
        """What stands between whole numbers and fractions."""
        return str(get_decimal_symbol(self.language))
