"""The one error that bad input raises."""

from __future__ import annotations

from typing import Any


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
    """

    def __init__(self, field: str, value: Any, allowed: str) -> None:
        super().__init__(field, value, allowed)
        self.field = field
        self.value = value
        self.allowed = allowed

    def __str__(self) -> str:
        return f"{self.field} = {self.value}: allowed is {self.allowed}"
