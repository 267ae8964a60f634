"""The sheet's words, from one catalogue a language.

A catalogue is a TOML file of sections, `words/en.toml` and its fellows; all have the same keys and
the same fields in braces.
"""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Mapping
from importlib import resources

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc.report.figures import Figure, Rich

FIELD = re.compile(r"\{(\w+)\}")


@by_name
def languages() -> list[str]:
    """Languages there is a catalogue of.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.report.languages()
    ['de', 'en']
    """
    files = resources.files("hangarc.report") / "words"
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
    file = resources.files("hangarc.report") / "words" / f"{language}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


class Words:
    """Says things in one language."""

    def __init__(self, language: str) -> None:
        self.language = language
        self._sections = catalogue(language)

    def word(self, key: str) -> str:
        """Give the word or sentence of a key, ``section.name``."""
        section, _, name = key.rpartition(".")
        return self._sections[section][name]

    def state(self, section: str, name: str) -> str:
        """Give the words for a state that the core names; others stay as they are."""
        return self._sections[section].get(name, name)

    def say(self, key: str, **values: Figure | Rich | str | int) -> Rich:
        """Fill the fields of a sentence."""
        parts: list[str | Figure] = []
        for place, piece in enumerate(FIELD.split(self.word(key))):
            if place % 2 == 0:
                parts.append(piece)
                continue
            value = values[piece]
            if isinstance(value, tuple):
                parts += value
            else:
                parts.append(value if isinstance(value, Figure) else str(value))
        return tuple(part for part in parts if part != "")
