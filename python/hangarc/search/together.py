"""Hangs that play together: their rigs, what the seats hear of all, and whether they have room."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import instance, listed
from hangarc.acoustics import (
    Placed,
    Rig,
    SeatLevels,
    Unevenness,
    seat_levels,
    sees,
)
from hangarc.acoustics.spread import unevenness_of
from hangarc.model import Air, Hang, Neighbour, Site, Study, Venue


@by_name
def rigs_of(hung: Sequence[Neighbour]) -> dict[str, Rig]:
    """Give the rig of each feed: pressures add within it, energies of several do.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main",
    ...     hang=ha.demo.hang(),
    ...     tilt_deg=2.0,
    ...     top_m=11.0,
    ...     site=ha.model.Site(feed="left"),
    ... )
    >>> list(ha.search.rigs_of([main]))
    ['left']
    """
    feeds: dict[str, list[Placed]] = {}
    for one in neighbours_of(hung):
        feeds.setdefault(one.site.feed, []).append(placed_of(one))
    return {feed: Rig(hangs=placed) for feed, placed in feeds.items()}


def neighbours_of(hung: Sequence[Neighbour]) -> list[Neighbour]:
    """Accept a list of hangs, or raise `InputError`."""
    given = listed("hung", hung, "a list of Neighbour")
    if not given:
        raise InputError("hung", hung, "at least one Neighbour")
    return [instance(f"hung[{index}]", one, Neighbour) for index, one in enumerate(given)]


def placed_of(one: Neighbour) -> Placed:
    """Where a hang stands, as rigs have it."""
    site = one.site
    return Placed(
        hang=one.hang,
        tilt_deg=one.tilt_deg,
        top_m=one.top_m,
        position_m=site.position_m,
        pan_deg=site.pan_deg,
        delay_s=site.delay_s,
        gain_db=site.gain_db,
    )


@by_name
def system_levels(
    hung: Sequence[Neighbour],
    venue: Venue,
    *,
    air: Air | None = None,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 5,
) -> SeatLevels:
    """Levels at the seats of all hangs together.

    ``|p|² = Σ over the feeds of |Σ over the feed's hangs of p|²``. `cabinets_seen` counts those of
    all feeds; a greatest level is not stated, as the feeds can be driven one by one.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    venue, air, lowest_hz, highest_hz, lines_per_band
        As in `seat_levels`.

    Raises
    ------
    InputError
        Hangs that hang in each other, in a floor or in a surface; else as `seat_levels`.

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> levels = ha.search.system_levels([main], ha.demo.study().venue)
    >>> round(levels.evenness_db, 1)
    4.2
    """
    check_space(hung, venue)
    heard = [
        seat_levels(
            rig,
            venue=venue,
            air=air,
            lowest_hz=lowest_hz,
            highest_hz=highest_hz,
            lines_per_band=lines_per_band,
        )
        for rig in rigs_of(hung).values()
    ]
    if len(heard) == 1:
        return heard[0]
    band_energy = sum(10.0 ** (levels.band_level_db / 10.0) for levels in heard)
    level_db = 10.0 * np.log10(np.mean(band_energy, axis=0))
    counts = [one.cabinets_seen for one in heard if one.cabinets_seen is not None]
    seen: NDArray[np.int64] = np.sum(counts, axis=0)
    # With hidden seats left out, one counts that any feed's cabinets see.
    weight = np.max([levels.weight for levels in heard], axis=0)
    mean_db = np.average(level_db, weights=weight)
    return SeatLevels(
        position_m=heard[0].position_m,
        weight=weight,
        area=heard[0].area,
        band_hz=heard[0].band_hz,
        band_level_db=10.0 * np.log10(band_energy),
        level_db=level_db,
        evenness_db=math.sqrt(np.average((level_db - mean_db) ** 2, weights=weight)),
        greatest_level_db=None,
        cabinets_seen=seen,
    )


@by_name
def system_unevenness(
    hung: Sequence[Neighbour],
    venue: Venue,
    *,
    air: Air | None = None,
    lowest_hz: float = 250.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 6,
) -> Unevenness:
    """How unevenly the seats are served by all hangs together, as `hangarc.unevenness`.

    Parameters
    ----------
    hung, venue, air, lowest_hz, highest_hz, lines_per_band
        As in `system_levels`.

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
    >>> round(ha.search.system_unevenness([main], ha.demo.study().venue).unevenness_db, 1)
    4.4
    """
    levels = system_levels(
        hung,
        venue,
        air=air,
        lowest_hz=lowest_hz,
        highest_hz=highest_hz,
        lines_per_band=lines_per_band,
    )
    return unevenness_of(levels)


@by_name
def check_space(hung: Sequence[Neighbour], venue: Venue) -> None:
    """Refuse hangs that hang in each other, in a floor or in a surface.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    venue : Venue
        The room.

    Raises
    ------
    InputError
        The first cabinet that does, by the names of the hangs.

    Examples
    --------
    >>> import hangarc as ha
    >>> main = ha.model.Neighbour(
    ...     name="main", hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0, site=ha.model.Site()
    ... )
    >>> ha.search.check_space([main], ha.demo.study().venue) is None  # raises where hangs meet
    True
    """
    hung = neighbours_of(hung)
    instance("venue", venue, Venue)
    rig = Rig(hangs=[placed_of(one) for one in hung])
    try:
        sees(rig, venue)
    except InputError as error:
        field, value = error.field, str(error.value)
        for index, one in enumerate(hung):
            field = field.replace(f"hangs[{index}]", f"{one.name}")
            value = value.replace(f"hangs[{index}]", f"{one.name}")
        raise InputError(field, value, error.allowed) from None


def sited(study: Study, hang: Hang, tilt_deg: float, top_m: float) -> list[Neighbour]:
    """Give a study's hang at its site, and at its twin's where there is one."""
    sites = {study.name: study.site}
    if study.twin is not None:
        sites[f"{study.name} (twin)"] = study.twin
    return [
        Neighbour(name=name, hang=hang, tilt_deg=tilt_deg, top_m=top_m, site=site)
        for name, site in sites.items()
    ]


def study_levels(study: Study, hang: Hang, tilt_deg: float, top_m: float) -> SeatLevels:
    """Levels at the seats of a study, whose hang plays with its twin and those beside it."""
    goals = study.goals
    hung = [*sited(study, hang, tilt_deg, top_m), *study.beside]
    if len(hung) == 1 and study.site == Site():
        return seat_levels(
            hang,
            tilt_deg,
            top_m,
            study.venue,
            study.air,
            lowest_hz=goals.lowest_hz,
            highest_hz=goals.highest_hz,
            lines_per_band=study.lines_per_band,
        )
    return system_levels(
        hung,
        study.venue,
        air=study.air,
        lowest_hz=goals.lowest_hz,
        highest_hz=goals.highest_hz,
        lines_per_band=study.lines_per_band,
    )
