"""The sheet's words with figures between them."""

from __future__ import annotations

import re

from hangarc._catalogue import Language, languages
from hangarc.report.figures import Figure, Rich

__all__ = ["Words", "languages"]

FIELD = re.compile(r"\{(\w+)\}")


class Words(Language):
    """Says things in one language."""

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
