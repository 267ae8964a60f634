"""Several hangs in one room: where each hangs, what is fed to it, and how its cabinets measured."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._frozen import frozen
from hangarc._pose import plan_place
from hangarc._record import FaceType, complex_array, instance, real
from hangarc.model import Balloon, Hang

FAR_FIELD: float = _core.FAR_FIELD_TOLERANCE

Drive = ArrayLike | Callable[[NDArray[np.float64]], ArrayLike]


class PlacedHandle(NamedTuple):
    """A hang as it hangs, as the core takes it."""

    hang: _core.Hang
    tilt_deg: float
    top_m: float
    position_m: tuple[float, float]
    pan_deg: float
    delay_s: float
    gain_db: float
    drive: Sequence[Sequence[complex]]
    balloon: Sequence[_core.Balloon | None]


class RigHandle(NamedTuple):
    """Hangs that sound together, as the core takes them."""

    hangs: Sequence[PlacedHandle]
    floor_reflection: float
    far_field_tolerance: float


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Placed(FaceType):
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

    Examples
    --------
    >>> import hangarc as ha
    >>> left = ha.Placed(
    ...     hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, position_m=(0.0, 8.0), pan_deg=-4.0
    ... )
    >>> right = ha.Placed(
    ...     hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, position_m=(0.0, -8.0), pan_deg=4.0
    ... )
    >>> together = ha.Rig(hangs=[left, right])
    >>> ha.acoustics.point_levels(together, [(20.0, 0.0, 1.2)]).level_db.round(1).tolist()
    [-24.3]
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

    def _picture(self) -> str:
        from hangarc import _pictures
        from hangarc._pose import pose

        return _pictures.column(pose(self.hang, self.tilt_deg))

    def __post_init__(self) -> None:
        instance("hang", self.hang, Hang)
        for field in ("tilt_deg", "top_m", "pan_deg", "delay_s", "gain_db"):
            object.__setattr__(self, field, real(field, getattr(self, field)))
        object.__setattr__(self, "position_m", plan_place(self.position_m))
        if isinstance(self.balloon, list):
            object.__setattr__(self, "balloon", tuple(self.balloon))
        if self.drive is not None and not callable(self.drive):
            object.__setattr__(self, "drive", frozen(complex_array("drive", self.drive).copy()))
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

    def _fields_for(self, frequency_hz: NDArray[np.float64]) -> PlacedHandle:
        """Give the fields as the core takes them."""
        return PlacedHandle(
            hang=self.hang.handle,
            tilt_deg=self.tilt_deg,
            top_m=self.top_m,
            position_m=plan_place(self.position_m),
            pan_deg=self.pan_deg,
            delay_s=self.delay_s,
            gain_db=self.gain_db,
            drive=self._drive_rows(frequency_hz),
            balloon=[None if item is None else item.handle for item in self._balloons()],
        )


@dataclasses.dataclass(frozen=True, eq=False, kw_only=True)
class Rig(FaceType):
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

    Examples
    --------
    >>> import hangarc as ha
    >>> one = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> other = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, position_m=(0.0, 3.0))
    >>> rig = ha.Rig(hangs=[one, other])
    >>> round(ha.evenness_db(rig, venue=ha.demo.study().venue), 1)
    4.0
    """

    hangs: Sequence[Placed]
    floor_reflection: float = 0.0
    far_field_tolerance: float = FAR_FIELD

    def __post_init__(self) -> None:
        if not isinstance(self.hangs, Sequence):
            raise InputError("hangs", self.hangs, "a list of Placed")
        hangs = tuple(
            instance(f"hangs[{index}]", item, Placed) for index, item in enumerate(self.hangs)
        )
        object.__setattr__(self, "hangs", hangs)
        for field in ("floor_reflection", "far_field_tolerance"):
            object.__setattr__(self, field, real(field, getattr(self, field)))

    def _picture(self) -> str:
        from hangarc import _plans

        return _plans.plan(
            [
                (f"{number}", placed.hang, placed.position_m, float(placed.pan_deg))
                for number, placed in enumerate(self.hangs)
            ]
        )

    def _fields_for(self, frequency_hz: NDArray[np.float64]) -> RigHandle:
        """Give the fields as the core takes them."""
        return RigHandle(
            hangs=[placed._fields_for(frequency_hz) for placed in self.hangs],
            floor_reflection=self.floor_reflection,
            far_field_tolerance=self.far_field_tolerance,
        )


def placed_rig(rig: Placed | Rig) -> Rig:
    """Give a rig, of one where one hang is given; a hang alone does not say how it hangs."""
    if isinstance(rig, Placed):
        return Rig(hangs=[rig])
    if not isinstance(rig, Rig):
        raise InputError("rig", rig, "a Placed or a Rig")
    return rig


def rig_handle(
    frequency_hz: NDArray[np.float64],
    hang: Hang | Placed | Rig,
    tilt_deg: float | ArrayLike | None,
    top_m: float | None,
    position_m: Sequence[float],
    pan_deg: float,
    far_field_tolerance: float | None = None,
) -> RigHandle:
    """Give what sounds as the core takes it: a hang with how it hangs is a rig of one."""
    if isinstance(hang, Hang):
        placed = PlacedHandle(
            hang=hang.handle,
            tilt_deg=real("tilt_deg", tilt_deg),
            top_m=real("top_m", top_m),
            position_m=plan_place(position_m),
            pan_deg=real("pan_deg", pan_deg),
            delay_s=0.0,
            gain_db=0.0,
            drive=(),
            balloon=(),
        )
        tolerance = FAR_FIELD if far_field_tolerance is None else far_field_tolerance
        return RigHandle(
            hangs=[placed],
            floor_reflection=0.0,
            far_field_tolerance=real("far_field_tolerance", tolerance),
        )
    if not isinstance(hang, Placed | Rig):
        raise InputError("hang", hang, "a Hang, a Placed or a Rig")
    kind = type(hang).__name__
    for field, value in (
        ("tilt_deg", tilt_deg),
        ("top_m", top_m),
        ("position_m", None if plan_place(position_m) == (0.0, 0.0) else position_m),
        ("pan_deg", None if real("pan_deg", pan_deg) == 0.0 else pan_deg),
        ("far_field_tolerance", far_field_tolerance),
    ):
        if value is not None:
            raise InputError(field, value, f"nothing beside a {kind}, which states its own")
    return placed_rig(hang)._fields_for(frequency_hz)
