"""When hangs arrive at a place, and the delays and gains between them."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, real, real_array, whole
from hangarc.acoustics import (
    Rig,
    pressure,
    seat_levels,
    sound_speed_m_s,
)
from hangarc.model import Air, Neighbour, Site, Venue
from hangarc.search.together import (
    check_space,
    neighbours_of,
    placed_of,
)
from hangarc.statics import pose


@by_name
def arrivals_s(
    hung: Sequence[Neighbour], places_m: NDArray[np.float64], *, air: Air | None = None
) -> NDArray[np.float64]:
    """When the sound of each hang first arrives at some places, its delay included.

    t = d/c + delay, with d from the nearest point of its line elements, or of the fronts of its
    measured cabinets. On a column that bulges towards the seats that is also where its phases
    agree (stationary phase), so later parts follow within its own thickness.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    places_m : array_like, shape (n, 3)
        The places.
    air : Air, optional
        Left out, 20 °C, 50 %, 101.325 kPa.

    Returns
    -------
    ndarray, shape (hangs, n)

    Raises
    ------
    InputError
        Places that are not points in space.

    Examples
    --------
    >>> import hangarc as ha
    >>> import numpy as np
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> seats_m = np.array([(10.0, 0.0, 1.2), (30.0, 0.0, 3.5)])
    >>> (1000.0 * ha.search.arrivals_s([main], seats_m)).round(1).tolist()  # ms
    [[37.1, 89.1]]
    """
    places = np.atleast_2d(real_array("places_m", places_m, 2))
    if places.shape[1] != 3:
        raise InputError("places_m", places_m, "finite points (x, y, z)")
    speed_m_s = sound_speed_m_s(air) if air is not None else sound_speed_m_s()
    rows = [_nearest_m(one, places) / speed_m_s + one.site.delay_s for one in neighbours_of(hung)]
    return np.array(rows)


def _nearest_m(one: Neighbour, places_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance of the nearest line element or measured front."""
    placed = pose(one.hang, one.tilt_deg, one.top_m)
    pan = math.radians(one.site.pan_deg)
    x_m, y_m = one.site.position_m

    def in_room(point: complex) -> NDArray[np.float64]:
        across = (x_m + point.real * math.cos(pan), y_m + point.real * math.sin(pan))
        return np.array([*across, point.imag])

    nearest = np.full(len(places_m), np.inf)
    for cabinet, front, axis_deg in zip(
        one.hang.cabinets, placed.front_m, placed.axis_deg, strict=True
    ):
        turn = np.exp(1j * math.radians(axis_deg))
        middle = complex(*front)
        elements = cabinet.source.elements if cabinet.source else ()
        lines = [(complex(e.x_m, e.z_m), 0.5j * e.height_m) for e in elements] or [(0j, 0j)]
        for centre, half in lines:
            lower, upper = (in_room(middle + (centre + end) * turn) for end in (-half, half))
            along = upper - lower
            square = max(float(along @ along), 1e-30)
            share = (places_m - lower) @ along / square
            foot = lower + np.clip(share, 0.0, 1.0)[:, None] * along
            nearest = np.minimum(nearest, np.linalg.norm(places_m - foot, axis=1))
    return nearest


@by_name
def aligned(
    hung: Sequence[Neighbour],
    moved: str,
    to: str,
    place_m: Sequence[float],
    *,
    air: Air | None = None,
    later_s: float = 0.0,
) -> list[Neighbour]:
    """Delay one hang so that it arrives at a place with another one, or so much later.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    moved, to : str
        Name of the hang whose delay is set, and of the one it is set to.
    place_m : (float, float, float)
        Where both shall arrive together.
    air : Air, optional
        As in `arrivals_s`.
    later_s : float
        How much later `moved` shall arrive.

    Returns
    -------
    list of Neighbour
        The same with that delay; where `moved` would have to be early, all others are delayed.

    Raises
    ------
    InputError
        A name that no hang has.

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> delay = ha.model.Neighbour(
    ...     name="delay",
    ...     hang=ha.demo.hang((2.0, 2.7)),
    ...     tilt_deg=-4.0,
    ...     top_m=9.0,
    ...     site=ha.model.Site(position_m=(22.0, 0.0), feed="delay"),
    ... )
    >>> late = ha.search.aligned([main, delay], "delay", "main", (30.0, 0.0, 3.5), later_s=0.005)
    >>> round(1000.0 * late[1].site.delay_s, 1)  # ms
    67.2
    """
    hung = neighbours_of(hung)
    names = [one.name for one in hung]
    for field, name in (("moved", moved), ("to", to)):
        if not isinstance(name, str) or name not in names:
            raise InputError(field, name, f"one of {', '.join(names)}")
    times = arrivals_s(hung, real_array("place_m", place_m, 1)[None, :], air=air)[:, 0]
    more_s = times[names.index(to)] + real("later_s", later_s) - times[names.index(moved)]
    delays = [one.site.delay_s + (more_s if one.name == moved else 0.0) for one in hung]
    early_s = min(0.0, *delays)
    return [
        dataclasses.replace(one, site=dataclasses.replace(one.site, delay_s=delay_s - early_s))
        for one, delay_s in zip(hung, delays, strict=True)
    ]


@dataclasses.dataclass(frozen=True, eq=False)
class Balance(Result):
    """Gains between hangs.

    Attributes
    ----------
    gain_db : dict of str to float
        Change of each hang's gain; the first one's is 0.
    unevenness_before_db, unevenness_db : float
        Without and with them.

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> fill = ha.model.Neighbour(
    ...     name="fill",
    ...     hang=ha.demo.hang((7.2,)),
    ...     tilt_deg=-25.0,
    ...     top_m=5.0,
    ...     site=ha.model.Site(position_m=(0.5, 0.0), feed="fill"),
    ... )
    >>> found = ha.search.balanced([main, fill], ha.demo.study().venue)
    >>> round(found.unevenness_before_db, 1), round(found.unevenness_db, 1)
    (2.9, 2.9)
    """

    gain_db: dict[str, float]
    unevenness_before_db: float
    unevenness_db: float


@by_name
def balanced(
    hung: Sequence[Neighbour],
    venue: Venue,
    *,
    air: Air | None = None,
    lowest_hz: float = 250.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 2,
    most_db: float = 12.0,
) -> Balance:
    """Gains between hangs that leave the least unevenness, by least squares over the seats.

    Minimises Σ_b Σ_r w_r (L_rb − M_b)² over one gain a hang, the first one's kept: Gauss-Newton
    steps, damped where one does not better (Levenberg, Quarterly of Applied Mathematics 2, 1944).

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    venue, air, lowest_hz, highest_hz, lines_per_band
        As in `system_levels`.
    most_db : float
        Greatest change of a gain.

    Raises
    ------
    InputError
        As `system_levels`.

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> delay = ha.model.Neighbour(
    ...     name="delay",
    ...     hang=ha.demo.hang((2.0, 2.7)),
    ...     tilt_deg=-4.0,
    ...     top_m=9.0,
    ...     site=ha.model.Site(position_m=(22.0, 0.0), feed="delay"),
    ... )
    >>> found = ha.search.balanced([main, delay], ha.demo.study().venue)
    >>> {name: round(gain_db, 1) for name, gain_db in found.gain_db.items()}
    {'main': 0.0, 'delay': -12.0}
    """
    hung = neighbours_of(hung)
    lines_per_band = whole("lines_per_band", lines_per_band, 24)
    check_space(hung, venue)
    seats = seat_levels(
        Rig(hangs=[placed_of(one) for one in hung]),
        venue=venue,
        air=air,
        lowest_hz=lowest_hz,
        highest_hz=highest_hz,
        lines_per_band=1,
    )
    numbers = [round(10 * math.log10(f / 1000.0)) for f in seats.band_hz]
    lines_hz = np.asarray(_core.band_lines_hz(numbers, lines_per_band))
    counted = seats.weight > 0.0
    weight = seats.weight[counted] / seats.weight[counted].sum()
    places = np.ascontiguousarray(seats.position_m[counted])
    pressures = [
        pressure(
            Rig(hangs=[placed_of(one)]),
            receivers_m=places,
            frequency_hz=lines_hz,
            air=air,
            venue=venue,
        )
        for one in hung
    ]
    feeds = [one.site.feed for one in hung]

    def off(gains_db: NDArray[np.float64]) -> NDArray[np.float64]:
        energy: NDArray[np.float64] = np.zeros(pressures[0].shape)
        for feed in dict.fromkeys(feeds):
            parts = [
                10 ** (gain / 20) * p
                for gain, p, of in zip(gains_db, pressures, feeds, strict=True)
                if of == feed
            ]
            energy += np.abs(sum(parts)) ** 2
        bands = energy.reshape(len(numbers), lines_per_band, -1).mean(axis=1)
        level = 10 * np.log10(bands)
        level -= (level @ weight)[:, None]
        miss: NDArray[np.float64] = (level * np.sqrt(weight / len(numbers))).ravel()
        return miss

    most = real("most_db", most_db)
    gains, step, damping = np.zeros(len(hung)), 0.01, 1e-3
    miss = off(gains)
    before_db = float(np.linalg.norm(miss))
    for _ in range(50):
        if len(hung) == 1:
            break
        slope = np.column_stack(
            [(off(gains + step * unit) - miss) / step for unit in np.eye(len(hung))[1:]]
        )
        normal = slope.T @ slope
        damped = normal + damping * np.diag(np.diag(normal) + 1e-12)
        change = np.linalg.solve(damped, -slope.T @ miss)
        tried = gains.copy()
        tried[1:] = np.clip(gains[1:] + change, -most, most)
        next_miss = off(tried)
        if np.linalg.norm(next_miss) < np.linalg.norm(miss) - 1e-9:
            gains, miss, damping = tried, next_miss, damping / 3
        elif damping > 1e6:
            break
        else:
            damping *= 4
    return Balance(
        gain_db={one.name: float(gain) for one, gain in zip(hung, gains, strict=True)},
        unevenness_before_db=before_db,
        unevenness_db=float(np.linalg.norm(miss)),
    )


@by_name
def with_gains(hung: Sequence[Neighbour], gain_db: dict[str, float]) -> list[Neighbour]:
    """Give the hangs with their gains changed.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    gain_db : dict of str to float
        Change by name; a hang that is not named keeps its gain.

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> ha.search.with_gains([main], {"main": -2.0})[0].site.gain_db
    -2.0
    """

    def louder(site: Site, more_db: float) -> Site:
        return dataclasses.replace(site, gain_db=site.gain_db + more_db)

    if not isinstance(gain_db, Mapping):
        raise InputError("gain_db", gain_db, "a mapping of names to decibels")
    more_db = {name: real(f"gain_db[{name!r}]", value) for name, value in gain_db.items()}
    return [
        dataclasses.replace(one, site=louder(one.site, more_db.get(one.name, 0.0)))
        for one in neighbours_of(hung)
    ]
