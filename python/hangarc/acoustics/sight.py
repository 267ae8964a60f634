"""Lines of sight past floors and surfaces, hidden seats, and what bends round edges."""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, instance, real_array
from hangarc.acoustics.field import points
from hangarc.acoustics.rig import Placed, Rig, placed_rig
from hangarc.model import Study, Venue


@dataclasses.dataclass(frozen=True, eq=False)
class Sight(Result):
    """Which cabinet sees which seat.

    Attributes
    ----------
    seen : ndarray of bool, shape (seats, cabinets)
        Whether nothing is in the way from the middle of the cabinet's front to the ears; the
        cabinets hang by hang, top to bottom.
    hidden : ndarray of bool, shape (seats,)
        Whether no cabinet sees the seat.
    position_m : ndarray, shape (seats, 3)
        Ears.
    area : ndarray of int, shape (seats,)
        Index of the seat's area.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study()
    >>> placed = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> sight = ha.sees(placed, study.venue)
    >>> sight.seen.shape, int(sight.hidden.sum())
    ((132, 6), 0)
    """

    seen: NDArray[np.bool_]
    hidden: NDArray[np.bool_]
    position_m: NDArray[np.float64]
    area: NDArray[np.int64]


@by_name
def sees(of: Study | Placed | Rig, venue: Venue | None = None) -> Sight:
    """Find which cabinet sees which seat past the floors and surfaces of a venue.

    Parameters
    ----------
    of : Study, Placed or Rig
        The hangs. A study's hang hangs at its site with its given pins, in the middle of the ranges
        of tilt and height; its twin and the hangs beside it are left out.
    venue : Venue, optional
        The seats, the floors and the surfaces; a study's own when left out.

    Returns
    -------
    Sight

    Raises
    ------
    InputError
        An argument of the wrong type, a rig without a venue, a cabinet that hangs in a surface or
        in another cabinet.

    Examples
    --------
    >>> import hangarc as ha
    >>> placed = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> sight = ha.sees(placed, ha.demo.study().venue)
    >>> sight.seen.sum(axis=1).min().item()  # cabinets seen by the seat that sees fewest
    6
    """
    if isinstance(of, Study):
        venue = of.venue if venue is None else venue
        middle = [float(np.mean(ends)) for ends in (of.tilt_range_deg, of.top_range_m)]
        site = of.site
        hung = Placed(hang=of.hang, tilt_deg=middle[0], top_m=middle[1],
                      position_m=site.position_m, pan_deg=site.pan_deg)  # fmt: skip
        of = Rig(hangs=[hung])
    if not isinstance(of, Placed | Rig):
        raise InputError("of", of, "a Study, a Placed or a Rig")
    fields = _core.sees(
        placed_rig(of)._fields_for(np.ones(1)), instance("venue", venue, Venue).handle
    )
    return Sight(hidden=np.asarray(~fields["seen"].any(axis=1)), **fields)


@dataclasses.dataclass(frozen=True, eq=False)
class SightLines(Result):
    """What straight lines meet.

    Attributes
    ----------
    clear : ndarray of bool, shape (n,)
        Whether nothing is in the way.
    surface : list of str or None
        The first floor or surface in the way, by name.
    met_m : ndarray, shape (n, 3)
        Where; NaN where nothing is.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> seats_m = [(20.0, 0.0, 2.0), (42.0, 0.0, 4.0)]
    >>> lines = ha.acoustics.lines_of_sight(venue, [(0.0, 0.0, 11.0)] * 2, seats_m)
    >>> lines.clear.tolist(), list(lines.surface)
    ([True, True], [None, None])
    """

    clear: NDArray[np.bool_]
    surface: list[str | None]
    met_m: NDArray[np.float64]


@by_name
def lines_of_sight(venue: Venue, from_m: ArrayLike, to_m: ArrayLike) -> SightLines:
    """Follow straight lines to the first floor or surface that they go through.

    A surface is made of plane pieces. A line from a to b goes through one at
    t = s_a / (s_a − s_b), s the distance from its plane, where s_a and s_b have opposite signs and
    the point lies inside the piece's corners; one that ends on a surface does not.

    Parameters
    ----------
    venue : Venue
        The floors and surfaces.
    from_m, to_m : array_like, shape (n, 3) or (n, 2)
        Ends, (x, y, z), or (x, z) in the plane y = 0.

    Returns
    -------
    SightLines

    Raises
    ------
    InputError
        An argument of the wrong type or shape, or not finite.

    Examples
    --------
    >>> import hangarc as ha
    >>> venue = ha.demo.study().venue
    >>> under_the_balcony = (36.0, 0.0, 4.5)
    >>> ha.acoustics.lines_of_sight(venue, [(0.0, 0.0, 11.0)], [under_the_balcony]).clear.tolist()
    [True]
    """
    starts, ends = points("from_m", from_m), points("to_m", to_m)
    if starts.shape != ends.shape:
        raise InputError("to_m", ends.shape, f"as many points as from_m, {starts.shape}")
    found = _core.lines_of_sight(instance("venue", venue, Venue).handle, starts, ends)
    clear = found["surface"] < 0
    share = np.where(clear, np.nan, found["share"])[:, None]
    return SightLines(
        clear=clear,
        surface=[None if one < 0 else found["names"][one] for one in found["surface"].tolist()],
        met_m=starts + share * (ends - starts),
    )


@by_name
def edge_factor(detour_waves: ArrayLike) -> NDArray[np.complex128]:
    """What an edge leaves of the pressure of the straight path.

    F(ν) = (1 + j)/2 · ∫_ν^∞ e^{−jπt²/2} dt with ν = ±2 √(δ/λ): the incident wave's part of
    Sommerfeld's solution for a half plane (M. Born, E. Wolf, Principles of Optics, 7th ed., 8.7.3
    and 11.5; from memory), time factor e^{+jωt}. −6.02 dB at grazing. Where the path is free by
    more than ν = −3, 1 − F is faded out until F is 1 at ν = −4.

    Parameters
    ----------
    detour_waves : float or array_like, shape (n,)
        Detour round the edge over the wavelength, δ/λ; negative where the path is free.

    Returns
    -------
    ndarray of complex128, shaped as `detour_waves`

    Examples
    --------
    >>> import hangarc as ha
    >>> factor = ha.acoustics.edge_factor([-1.0, 0.0, 1.0])  # in sight, on the edge, in the shade
    >>> abs(factor).round(2).tolist()
    [0.92, 0.5, 0.11]
    """
    waves = real_array("detour_waves", detour_waves, 1)
    factor: NDArray[np.complex128] = _core.edge_factor(waves.ravel())
    return factor.reshape(np.shape(detour_waves))
