"""What is raised: for bad input, and for a fault of our own."""

from __future__ import annotations

import dataclasses
import os
import re
from difflib import get_close_matches
from pathlib import Path
from typing import Any

# Longer values are cut in messages; `InputError.value` holds them whole.
_MOST_LETTERS = 160

_QUOTED = re.compile(r"[`'\"]([^`'\"]+)[`'\"]")
_LISTED = re.compile(r", | or ")
_COUNTED = re.compile(r"(an?|one|two|\d+) ")


class InputError(ValueError):
    """An input that is refused.

    Parameters
    ----------
    field : str
        Path of the refused field, e.g. ``cabinets[3].mass_kg``.
    value : object
        The refused value.
    allowed : str
        What would have been accepted.

    Attributes
    ----------
    field, value, allowed
        As given.

    Examples
    --------
    >>> import hangarc as ha
    >>> try:
    ...     ha.Air(humidity_percent=130.0)
    ... except ha.InputError as error:
    ...     print(error.field, error.value, error.allowed)
    ...
    humidity_percent 130.0 a number from 0 to 100
    """

    def __init__(self, field: str, value: Any, allowed: str) -> None:
        super().__init__(field, value, allowed)
        self.field = field
        self.value = value
        self.allowed = allowed

    def __str__(self) -> str:
        said = f"{self.field} = {_short(self.value)}: allowed is {self.allowed}"
        return f"{said}; the nearest is {near}" if (near := self._nearest()) else said

    def _nearest(self) -> str | None:
        """Of several words allowed, the one that the refused word is most like."""
        names = self.allowed.startswith("the fields ")
        asked = self.field.rpartition(".")[2] if names else self.value
        if not isinstance(asked, str) or "the nearest" in self.allowed:
            return None
        words = _QUOTED.findall(self.allowed)
        if not words:
            words = _LISTED.split(self.allowed.removeprefix("one of "))
            # A list of things that are described is no list of words.
            words = [] if any(map(_COUNTED.match, words)) else words
        near = get_close_matches(asked, words, n=1) if len(words) > 1 else []
        return near[0] if near and near[0] != asked else None


class CoreError(RuntimeError):
    """A calculation broke off inside the core: a defect of hangarc, not of the input.

    No answer was given and nothing that existed before was changed: other calls, with the same
    objects too, go on working. The fault's place in the core stands on standard error.

    Examples
    --------
    >>> import hangarc as ha
    >>> issubclass(ha.CoreError, ValueError)  # a fault of the library, not of the input
    False
    """

    __slots__ = ()  # laid out as the core's own class, which is made one of these

    def __str__(self) -> str:
        said = super().__str__()
        return f"a fault in hangarc's core, please report it with the input that led to it: {said}"

    def __reduce__(self) -> tuple[type[CoreError], tuple[Any, ...]]:
        return CoreError, self.args  # the core's own class is known to no other process


# Tracebacks name them as they are caught.
InputError.__module__ = CoreError.__module__ = "hangarc"


def given_at(arguments: Any, field: str) -> Any:
    """Give what stands at a path such as ``receivers_m[3][2]`` among named arguments.

    Raises
    ------
    LookupError, TypeError
        Nothing stands there.
    """
    found = arguments
    for name, index in re.findall(r"([^.\[\]]+)|\[(\d+)\]", field):
        found = found[name or int(index)]
    return found


def beside(path: str | os.PathLike[str]) -> str:
    """Of a file that is missing, the one in its folder whose name is nearest, as words to add."""
    asked = Path(path)
    try:
        names = [one.name for one in asked.parent.iterdir()] if not asked.exists() else []
    except OSError:
        return ""
    near = get_close_matches(asked.name, names, n=1)
    return f"; the nearest there is {near[0]}" if near else ""


def article(noun: str) -> str:
    """Give "a" or "an", by the first letter."""
    return "an" if noun[:1].lower() in tuple("aeio") else "a"


def _short(value: Any) -> str:
    """Say what was given in a line; records by their class."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return f"{article(type(value).__name__)} {type(value).__name__}"
    try:
        text = str(value)
    except Exception:
        return f"{article(type(value).__name__)} {type(value).__name__}"
    return text if len(text) <= _MOST_LETTERS else f"{text[: _MOST_LETTERS - 1]}…"
