"""Complex pressure of hangs at points in space."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._many import over_tilts
from hangarc._record import instance, real_array
from hangarc.acoustics.air import air_or_room
from hangarc.acoustics.rig import Placed, Rig, rig_handle
from hangarc.model import Air, Hang, Venue


@over_tilts
@by_name
def pressure(
    hang: Hang | Placed | Rig,
    tilt_deg: float | ArrayLike | None = None,
    top_m: float | None = None,
    receivers_m: ArrayLike = (),
    frequency_hz: ArrayLike = (),
    air: Air | None = None,
    *,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    far_field_tolerance: float | None = None,
    venue: Venue | None = None,
) -> NDArray[np.complex128]:
    """Complex direct-sound pressure of a hang, or of hangs together, at points in space.

    p(f, r) = Σ_s w_s D_v D_h e^{−jkd}/d · 10^{−α d/20}; time factor e^{+jωt}; an element at 0 dB
    gain gives ``|p|·d = 1`` far away on its axis. Frequencies that are exact octaves of each other
    are worked out together, several times faster than others.

    Parameters
    ----------
    hang : Hang, Placed or Rig
        What sounds; every cabinet needs a `source`. A hang hangs as the next arguments say; what
        is placed already, or several hangs with a signal each, leave them out.
    tilt_deg : float or array_like
        Elevation of the fly frame's axis, −90 to 90°; an array gives the result its shape before
        its own.
    top_m : float
        Height of cabinet 0's upper front hinge.
    receivers_m : array_like, shape (R, 3) or (R, 2)
        Points (x, y, z), or (x, z) in the plane y = 0, at least 0.05 m from every line element.
    frequency_hz : float or array_like, shape (F,)
        Frequencies above 0.
    air : Air, optional
        Left out, 20 °C, 50 %, 101.325 kPa.
    position_m : (float, float)
        Where the hang's plane stands on the floor plan, (x, y).
    pan_deg : float
        Turn of the hang's plane about z, positive to the left.
    far_field_tolerance : float, optional
        Share of its pressure that a sub-element's far field may leave out at the nearest receiver,
        10⁻⁸ to 0.1; left out, 0.01.
    venue : Venue, optional
        Its floors and surfaces shade the receivers; left out, nothing does. Mirror images in a
        reflecting floor are not shaded.

    Returns
    -------
    ndarray of complex128, shape (F, R)

    Raises
    ------
    InputError
        An argument of the wrong type, not finite or out of range; a cabinet without a source; a
        receiver on top of a source; with a reflecting floor a receiver or source below it.

    Examples
    --------
    >>> import hangarc as ha
    >>> seats_m = [(20.0, 0.0, 1.2), (40.0, 0.0, 9.0)]
    >>> field = ha.pressure(ha.demo.hang(), 2.0, 11.0, seats_m, [500.0])
    >>> field.shape  # frequencies, receivers
    (1, 2)
    """
    frequencies = real_array("frequency_hz", frequency_hz, 1).ravel()
    out: NDArray[np.complex128] = _core.pressure(
        rig_handle(frequencies, hang, tilt_deg, top_m, position_m, pan_deg, far_field_tolerance),
        points("receivers_m", receivers_m),
        frequencies,
        air_or_room(air).handle,
        "",
        None if venue is None else instance("venue", venue, Venue).handle,
    )
    return out


def points(field: str, points_m: ArrayLike) -> NDArray[np.float64]:
    """Points as contiguous (R, 3); points of two coordinates lie in the plane y = 0."""
    array = real_array(field, points_m, 2)
    if array.ndim != 2 or array.shape[1] not in (2, 3):
        raise InputError(field, points_m, "an array of shape (R, 3) or (R, 2)")
    if array.shape[1] == 2:
        array = np.column_stack([array[:, 0], np.zeros(len(array)), array[:, 1]])
    return array
