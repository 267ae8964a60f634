"""Several hangs in one room: where each hangs, what is fed to it, and how its cabinets measured."""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._pose import plan_place
from hangarc._record import complex_array, instance, real
from hangarc.model import Balloon, Hang

Drive = ArrayLike | Callable[[NDArray[np.float64]], ArrayLike]


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Placed:
    """A hang as it hangs in the room, with its signal.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg, top_m : float
        As in `hangarc.pressure`.
    position_m : (float, float)
        Where the hang's plane stands on the floor plan, (x, y).
    pan_deg : float
        Turn of the hang's plane about z, positive to the left.
    delay_s, gain_db : float
        Delay and gain of the whole hang; gains within ±300 dB.
    drive : array_like of complex, shape (n,) or (n, F), or a function, optional
        Complex response of each cabinet's filter, the same at all frequencies or at each; a
        function takes the frequencies (F,) and gives either. Polarity is a sign.
    balloon : Balloon, or sequence of Balloon or None, optional
        Measured data used instead of the line elements, for all cabinets or one by one.

    Raises
    ------
    InputError
        An argument of the wrong type, shape or range.
    """

    hang: Hang
    tilt_deg: float
    top_m: float
    position_m: Sequence[float] = (0.0, 0.0)
    pan_deg: float = 0.0
    delay_s: float = 0.0
    gain_db: float = 0.0
    drive: Drive | None = None
    balloon: Balloon | Sequence[Balloon | None] | None = None

    def __post_init__(self) -> None:
        instance("hang", self.hang, Hang)
        for field in ("tilt_deg", "top_m", "pan_deg", "delay_s", "gain_db"):
            object.__setattr__(self, field, real(field, getattr(self, field)))
        object.__setattr__(self, "position_m", plan_place(self.position_m))
        for index, balloon in enumerate(self._balloons()):
            if balloon is not None:
                instance(f"balloon[{index}]", balloon, Balloon)

    def _balloons(self) -> list[Balloon | None]:
        if self.balloon is None:
            return []
        if isinstance(self.balloon, Balloon):
            return [self.balloon] * len(self.hang.cabinets)
        if not isinstance(self.balloon, Sequence):
            raise InputError("balloon", self.balloon, "a Balloon, or one for each cabinet")
        return list(self.balloon)

    def _drive_rows(self, frequency_hz: NDArray[np.float64]) -> list[list[complex]]:
        if self.drive is None:
            return []
        given = self.drive(frequency_hz) if callable(self.drive) else self.drive
        rows = complex_array("drive", given)
        cabinets = len(self.hang.cabinets)
        if rows.ndim == 1:
            rows = rows[:, None]
        if rows.ndim != 2 or len(rows) != cabinets or rows.shape[1] not in (1, len(frequency_hz)):
            allowed = f"shape ({cabinets},) or ({cabinets}, {len(frequency_hz)})"
            raise InputError("drive", f"shape {np.shape(given)}", allowed)
        wide: list[list[complex]] = np.broadcast_to(rows, (cabinets, len(frequency_hz))).tolist()
        return wide

    def fields_for(self, frequency_hz: NDArray[np.float64]) -> types.SimpleNamespace:
        """Give the fields as the core takes them."""
        return types.SimpleNamespace(
            hang=self.hang.handle,
            tilt_deg=self.tilt_deg,
            top_m=self.top_m,
            position_m=self.position_m,
            pan_deg=self.pan_deg,
            delay_s=self.delay_s,
            gain_db=self.gain_db,
            drive=self._drive_rows(frequency_hz),
            balloon=[None if item is None else item.handle for item in self._balloons()],
        )


def alone(
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    position_m: Sequence[float],
    pan_deg: float,
    far_field_tolerance: float = _core.FAR_FIELD_TOLERANCE,
) -> types.SimpleNamespace:
    """Give one hang without a signal of its own as the core takes a rig."""
    placed = types.SimpleNamespace(
        hang=instance("hang", hang, Hang).handle,
        tilt_deg=real("tilt_deg", tilt_deg),
        top_m=real("top_m", top_m),
        position_m=plan_place(position_m),
        pan_deg=real("pan_deg", pan_deg),
        delay_s=0.0,
        gain_db=0.0,
        drive=(),
        balloon=(),
    )
    return types.SimpleNamespace(
        hangs=[placed],
        floor_reflection=0.0,
        far_field_tolerance=real("far_field_tolerance", far_field_tolerance),
    )


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Rig:
    """Hangs that sound together, over a floor that may reflect.

    Parameters
    ----------
    hangs : sequence of Placed
        The hangs; their complex pressures add.
    floor_reflection : float
        Reflection coefficient of the pressure at the floor z = 0, −1 to 1, the same for all angles
        and frequencies; 1 is rigid. Adds the mirror image of every source.
    far_field_tolerance : float
        Share of its pressure that a sub-element's far field may leave out at the nearest receiver,
        10⁻⁸ to 0.1. Line elements are cut into as many sub-elements as that takes.

    Raises
    ------
    InputError
        An argument of the wrong type or range.
    """

    hangs: Sequence[Placed]
    floor_reflection: float = 0.0
    far_field_tolerance: float = _core.FAR_FIELD_TOLERANCE

    def __post_init__(self) -> None:
        if not isinstance(self.hangs, Sequence):
            raise InputError("hangs", self.hangs, "a list of Placed")
        hangs = tuple(
            instance(f"hangs[{index}]", item, Placed) for index, item in enumerate(self.hangs)
        )
        object.__setattr__(self, "hangs", hangs)
        for field in ("floor_reflection", "far_field_tolerance"):
            object.__setattr__(self, field, real(field, getattr(self, field)))

    def fields_for(self, frequency_hz: NDArray[np.float64]) -> types.SimpleNamespace:
        """Give the fields as the core takes them."""
        return types.SimpleNamespace(
            hangs=[placed.fields_for(frequency_hz) for placed in self.hangs],
            floor_reflection=self.floor_reflection,
            far_field_tolerance=self.far_field_tolerance,
        )
