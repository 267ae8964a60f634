"""What is raised: for bad input, and for a fault of our own."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

# Longer values are cut in messages; `InputError.value` holds them whole.
_MOST_LETTERS = 160


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
        return f"{self.field} = {_short(self.value)}: allowed is {self.allowed}"


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
