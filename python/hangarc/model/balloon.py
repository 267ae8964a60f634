"""Cabinets as measured: complex directivity over azimuth, elevation and frequency."""

from __future__ import annotations

import base64
import binascii
import dataclasses
import html
from collections.abc import Mapping
from typing import Any, ClassVar, Literal, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._frozen import frozen
from hangarc._keywords import by_name, refuse_unknown
from hangarc._record import Record, Result, complex_array, real, real_array

Along = Literal["frequency", "elevation", "azimuth"]

GRIDS = ("frequency_hz", "azimuth_deg", "elevation_deg")


@dataclasses.dataclass(frozen=True, eq=False)
class LeftOut(Result):
    """What a balloon's values differ by when every second one is worked out from the others.

    The steps are then twice as wide as the balloon's own, so its own error is smaller where closer
    steps help. Only values less than 20 dB under their line's loudest are compared.

    Attributes
    ----------
    along : str
        ``"frequency"``, ``"elevation"`` or ``"azimuth"``: of what every second value is left out.
    count : int
        Number of values compared.
    level_rms_db, level_most_db : float
        Root mean square and greatest difference of level.
    phase_rms_deg, phase_most_deg : float
        The same of phase.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> balloon = ha.model.Balloon(
    ...     frequency_hz=[1000.0],
    ...     azimuth_deg=[-180.0, -90.0, 0.0, 90.0],
    ...     elevation_deg=[-90.0, 0.0, 90.0],
    ...     response=np.ones((1, 3, 4)),
    ... )
    >>> [(one.along, one.count) for one in balloon.left_out()]
    [('elevation', 4), ('azimuth', 6)]
    """

    along: Along
    count: int
    level_rms_db: float
    level_most_db: float
    phase_rms_deg: float
    phase_most_deg: float


@dataclasses.dataclass(frozen=True, eq=False)
class Balloon(Record):
    """A cabinet as measured: complex far-field directivity.

    p = D(f, az, el) e^{−jkd}/d · 10^{−α d/20}, with d from the middle of the cabinet's front face,
    which the phase must refer to. Between the measured points

    D = L(f) · R(f, az, el) · e^{−j2πf(τ − a·u)}

    with τ the delay that all directions share, a the advance of the acoustic centre and u the
    direction, both found in the steps of phase from line to line; L the root mean square of a line,
    its logarithm interpolated over that of the frequency; and R, whose phase turns slowly, as
    complex numbers: all by polynomials through up to six points. So a delay left in makes no holes,
    and a null is passed through. Beyond the ends the nearest value is kept. Axes as in AES69-2022:
    azimuth positive to the left, elevation positive up, (0, 0) ahead.

    Parameters
    ----------
    frequency_hz : array_like, shape (F,)
        Rising, above 0, up to 1 MHz.
    azimuth_deg : array_like, shape (A,)
        Rising, within −180 to 360° and a span of at most 360°. A grid that stops short of the
        full turn closes on itself.
    elevation_deg : array_like, shape (E,)
        Rising, −90 to 90°.
    response : array_like of complex, shape (F, E, A)
        Pressure times distance; 1 is an element of 0 dB on its axis.

    Raises
    ------
    InputError
        A grid that does not rise, a value out of range or not finite, a wrong shape, or a delay of
        some directions that turns the phase by more than half a turn between neighbours less than
        20 dB under their line's loudest.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> azimuth_deg = np.arange(-180.0, 180.0, 30.0)
    >>> cardioid = 0.5 * (1.0 + np.cos(np.radians(azimuth_deg)))  # alike at every elevation
    >>> balloon = ha.model.Balloon(
    ...     frequency_hz=[1000.0],
    ...     azimuth_deg=azimuth_deg,
    ...     elevation_deg=[-90.0, 0.0, 90.0],
    ...     response=np.tile(cardioid, (1, 3, 1)),
    ... )
    >>> balloon
    Balloon(1 lines, 3 elevations, 12 azimuths)
    >>> ha.Source(balloon=balloon).elements  # nothing beside it
    ()
    """

    _kind: ClassVar[str] = "balloon"

    frequency_hz: ArrayLike
    azimuth_deg: ArrayLike
    elevation_deg: ArrayLike
    response: ArrayLike

    def __post_init__(self) -> None:
        grids, response = checked_grid(
            self.frequency_hz, self.azimuth_deg, self.elevation_deg, self.response
        )
        for field, given in zip((*GRIDS, "response"), (*grids, response), strict=True):
            object.__setattr__(self, field, frozen(given.copy()))
        frequency, azimuth, elevation = (grid.tolist() for grid in grids)
        handle = _core.Balloon(frequency, azimuth, elevation, response)
        object.__setattr__(self, "_handle", handle)

    @property
    def handle(self) -> _core.Balloon:
        """The checked value as the core holds it."""
        held: _core.Balloon = self.__dict__["_handle"]
        return held

    @property
    def delay_s(self) -> float:
        """The delay that all directions share, left in the response."""
        return float(self.handle.delay_s())

    def towards(
        self, azimuth_deg: ArrayLike, elevation_deg: ArrayLike, frequency_hz: ArrayLike
    ) -> NDArray[np.complex128]:
        """Response in some directions, shape (D, F), the delay included.

        Parameters
        ----------
        azimuth_deg, elevation_deg : array_like, shape (D,)
            The directions.
        frequency_hz : array_like, shape (F,)
            The frequencies, above 0.

        Raises
        ------
        InputError
            An array of the wrong shape, or a frequency that is not above 0.

        Examples
        --------
        >>> import hangarc as ha
        >>> import numpy as np
        >>> azimuth_deg = np.arange(-180.0, 180.0, 30.0)
        >>> balloon = ha.model.Balloon(
        ...     frequency_hz=[1000.0],
        ...     azimuth_deg=azimuth_deg,
        ...     elevation_deg=[-90.0, 0.0, 90.0],
        ...     response=np.tile(0.5 * (1.0 + np.cos(np.radians(azimuth_deg))), (1, 3, 1)),
        ... )
        >>> abs(balloon.towards([0.0, 90.0], [0.0, 0.0], [1000.0])).round(2).tolist()
        [[1.0], [0.5]]
        """
        azimuth = real_array("azimuth_deg", azimuth_deg, 1).ravel()
        elevation = real_array("elevation_deg", elevation_deg, 1).ravel()
        if azimuth.shape != elevation.shape:
            raise InputError("elevation_deg", elevation.shape, f"the shape {azimuth.shape}")
        frequency = real_array("frequency_hz", frequency_hz, 1).ravel()
        for index in np.flatnonzero(frequency <= 0.0)[:1]:
            raise InputError(f"frequency_hz[{index}]", frequency[index], "above 0")
        response: NDArray[np.complex128] = self.handle.towards(
            azimuth.tolist(), elevation.tolist(), frequency.tolist()
        )
        return response

    def left_out(self) -> list[LeftOut]:
        """Error along each axis with at least three values, every second one being left out.

        Examples
        --------
        >>> import hangarc as ha
        >>> import numpy as np
        >>> azimuth_deg = np.arange(-180.0, 180.0, 30.0)
        >>> balloon = ha.model.Balloon(
        ...     frequency_hz=[1000.0],
        ...     azimuth_deg=azimuth_deg,
        ...     elevation_deg=[-90.0, 0.0, 90.0],
        ...     response=np.tile(0.5 * (1.0 + np.cos(np.radians(azimuth_deg))), (1, 3, 1)),
        ... )
        >>> [(one.along, one.count) for one in balloon.left_out()]
        [('elevation', 9), ('azimuth', 12)]
        """
        return [LeftOut(**fields) for fields in self.handle.left_out()]

    def to_dict(self) -> dict[str, Any]:
        """Give the grids as lists, the response packed: base64 of its little-endian numbers.

        Examples
        --------
        >>> import hangarc as ha
        >>> import numpy as np
        >>> balloon = ha.model.Balloon(
        ...     frequency_hz=[1000.0],
        ...     azimuth_deg=[-180.0, -90.0, 0.0, 90.0],
        ...     elevation_deg=[-90.0, 0.0, 90.0],
        ...     response=np.ones((1, 3, 4)),
        ... )
        >>> sorted(balloon.to_dict())
        ['azimuth_deg', 'elevation_deg', 'frequency_hz', 'response']
        """
        data: dict[str, Any] = {grid: np.asarray(getattr(self, grid)).tolist() for grid in GRIDS}
        packed = np.asarray(self.response).astype("<c16").tobytes()
        return {**data, "response": base64.b64encode(packed).decode()}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from what `to_dict` gave.

        Raises
        ------
        InputError
            An unknown or missing field, or one that is out of bounds.

        Examples
        --------
        >>> import hangarc as ha
        >>> import numpy as np
        >>> balloon = ha.model.Balloon(
        ...     frequency_hz=[1000.0],
        ...     azimuth_deg=[-180.0, -90.0, 0.0, 90.0],
        ...     elevation_deg=[-90.0, 0.0, 90.0],
        ...     response=np.ones((1, 3, 4)),
        ... )
        >>> ha.model.Balloon.from_dict(balloon.to_dict()) == balloon
        True
        """
        names = (*GRIDS, "response")
        refuse_unknown(data, names, "field")
        for name in names:
            if name not in data:
                raise InputError(name, "nothing", "a value; the field is required")
        response = data["response"]
        if isinstance(response, str):
            shape = tuple(np.size(data[grid]) for grid in (GRIDS[0], GRIDS[2], GRIDS[1]))
            try:
                packed = base64.b64decode(response, validate=True)
                response = np.frombuffer(packed, "<c16").reshape(shape)
            except (binascii.Error, ValueError):
                allowed = f"base64 of numbers of shape {shape}"
                raise InputError("response", f"{len(response)} characters", allowed) from None
        frequency, azimuth, elevation = (data[grid] for grid in GRIDS)
        return cls(frequency, azimuth, elevation, response)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Balloon):
            return NotImplemented
        return all(
            np.array_equal(np.asarray(getattr(self, name)), np.asarray(getattr(other, name)))
            for name in (*GRIDS, "response")
        )

    def __hash__(self) -> int:
        return hash(np.asarray(self.response).tobytes())

    def __repr__(self) -> str:
        lines, elevations, azimuths = np.shape(self.response)
        return f"Balloon({lines} lines, {elevations} elevations, {azimuths} azimuths)"

    def _repr_html_(self) -> str:
        return html.escape(repr(self))


def checked_grid(
    frequency_hz: ArrayLike, azimuth_deg: ArrayLike, elevation_deg: ArrayLike, values: ArrayLike
) -> tuple[list[NDArray[np.float64]], NDArray[np.complex128]]:
    """Accept grids of one axis each with values of shape (F, E, A), or raise `InputError`."""
    given = zip(GRIDS, (frequency_hz, azimuth_deg, elevation_deg), strict=True)
    grids = [real_array(field, grid, 1).ravel() for field, grid in given]
    response = complex_array("response", values)
    shape = tuple(grids[axis].size for axis in (0, 2, 1))
    if response.shape != shape:
        raise InputError("response", response.shape, f"an array of shape {shape}")
    return grids, response


@dataclasses.dataclass(frozen=True, eq=False)
class Measurement(Result):
    """A balloon from a file, brought to 1 m, with what was done to it.

    Attributes
    ----------
    balloon : Balloon
        The balloon, to be given to `hangarc.Source` or `hangarc.Placed`.
    distance_m : float
        Distance at which it was measured, by which its pressures were multiplied.
    delay_s : float
        Delay taken out of its phases.
    left_out : list of LeftOut
        Its error along each axis, every second value being left out.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> measured = ha.model.brought_to_one_metre(
    ...     [1000.0],
    ...     [-180.0, -90.0, 0.0, 90.0],
    ...     [-90.0, 0.0, 90.0],
    ...     np.full((1, 3, 4), 0.25),
    ...     distance_m=4.0,
    ...     delay_s=0.0,
    ... )
    >>> measured.distance_m, measured.delay_s
    (4.0, 0.0)
    """

    balloon: Balloon
    distance_m: float
    delay_s: float
    left_out: list[LeftOut]


@by_name
def brought_to_one_metre(
    frequency_hz: ArrayLike,
    azimuth_deg: ArrayLike,
    elevation_deg: ArrayLike,
    pressure: ArrayLike,
    distance_m: float,
    delay_s: float | None = None,
) -> Measurement:
    """Bring pressures measured at a distance to 1 m, and take the delay out of their phase.

    D = p · d · e^{j2πfτ}, with τ the run time and all else that delays all directions alike.

    Parameters
    ----------
    frequency_hz, azimuth_deg, elevation_deg : array_like
        As in `Balloon`.
    pressure : array_like of complex, shape (F, E, A)
        Pressure at `distance_m` over that of an element of 0 dB at 1 m, in the far field.
    distance_m : float
        Distance from the middle of the front face, above 0.
    delay_s : float, optional
        The delay to take out; left out, the one that all directions share
        (`Balloon.delay_s`). 0 leaves the phases as they are.

    Raises
    ------
    InputError
        As `Balloon`; a distance that is not above 0.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> measured = ha.model.brought_to_one_metre(
    ...     [1000.0],
    ...     [-180.0, -90.0, 0.0, 90.0],
    ...     [-90.0, 0.0, 90.0],
    ...     np.full((1, 3, 4), 0.25),
    ...     distance_m=4.0,
    ...     delay_s=0.0,
    ... )
    >>> ahead = measured.balloon.towards([0.0], [0.0], [1000.0])
    >>> abs(ahead).round(2).tolist()  # four times as much as at 4 m
    [[1.0]]
    """
    grids, values = checked_grid(frequency_hz, azimuth_deg, elevation_deg, pressure)
    distance_m = real("distance_m", distance_m)
    if delay_s is not None:
        delay_s = real("delay_s", delay_s)
    frequency, azimuth, elevation = grids
    response, taken_s = _core.Balloon.at_one_metre(
        distance_m, delay_s, frequency.tolist(), azimuth.tolist(), elevation.tolist(), values
    )
    balloon = Balloon(frequency, azimuth, elevation, response.reshape(values.shape))
    return Measurement(balloon, distance_m, taken_s, balloon.left_out())
