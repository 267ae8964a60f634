"""Families of venues: rooms of one kind, their measures drawn from ranges, made as they are needed.

The draws follow a scrambled Halton sequence (`scipy.stats.qmc`): venue i of a seed is the same
however many are asked for, and any number of them fills the ranges evenly. The ranges are our own
(demo data), from memory of what such rooms measure: `common practice, no source`.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Literal

from scipy.stats import qmc

from hangarc._errors import InputError
from hangarc._frozen import frozen
from hangarc._keywords import by_name
from hangarc._record import FaceType, instance, real, whole
from hangarc.model import SeatArea, Study, Venue

Measures = Mapping[str, float]
FamilyKind = Literal["shoebox", "fan", "arena", "field", "theatre"]
Range = tuple[float, float]

#: Draws made at a time.
_BATCH = 256


def _area(name: str, *profile_m: tuple[float, float], width_m: Any, **fields: Any) -> SeatArea:
    return SeatArea(name=name, profile_m=profile_m, width_m=width_m, **fields)


def _risen(from_m: tuple[float, float], depth_m: float, rake_deg: float) -> tuple[float, float]:
    return (from_m[0] + depth_m, from_m[1] + depth_m * math.tan(math.radians(rake_deg)))


def _shoebox(m: Measures) -> list[SeatArea]:
    front = (m["first_row_m"], 0.0)
    return [_area("Floor", front, _risen(front, m["depth_m"], m["rake_deg"]), width_m=m["width_m"])]


def _fan(m: Measures) -> list[SeatArea]:
    """Rows as arcs about a point on the stage; the room opens by an angle to either side."""
    front = (m["first_row_m"], 0.0)
    back = _risen(front, m["depth_m"], m["rake_deg"])
    centre_m = -m["stage_m"]
    half = math.radians(m["opening_deg"]) / 2
    widths = [2 * (x - centre_m) * half for x, _ in (front, back)]
    return [_area("Fan", front, back, width_m=widths, row_centre_x_m=centre_m)]


def _arena(m: Measures) -> list[SeatArea]:
    floor_end = m["first_row_m"] + m["floor_m"]
    lower = (floor_end + 2.0, 1.5)
    lower_end = _risen(lower, m["lower_m"], m["lower_rake_deg"])
    upper = (lower_end[0] + 1.0, lower_end[1] + m["upper_rise_m"])
    upper_end = _risen(upper, m["upper_m"], m["upper_rake_deg"])
    return [
        _area("Floor", (m["first_row_m"], 0.0), (floor_end, 0.0), width_m=m["width_m"]),
        _area("Lower tier", lower, lower_end, width_m=m["width_m"] + 10.0),
        _area("Upper tier", upper, upper_end, width_m=m["width_m"] + 15.0),
    ]


def _field(m: Measures) -> list[SeatArea]:
    front = (m["first_row_m"], 0.0)
    middle = _risen(front, m["depth_m"] / 3, m["near_slope_deg"])
    far = _risen(middle, m["depth_m"] * 2 / 3, m["far_slope_deg"])
    return [_area("Field", front, middle, far, width_m=m["width_m"])]


def _theatre(m: Measures) -> list[SeatArea]:
    """Stalls under one, two or three balconies that stand out over them."""
    front = (m["first_row_m"], 0.0)
    back = _risen(front, m["stalls_m"], m["stalls_rake_deg"])
    areas = [_area("Stalls", front, back, width_m=m["width_m"])]
    height = back[1] + m["balcony_rise_m"]
    for balcony in range(int(m["balconies"])):
        edge = (back[0] - m["overhang_m"] + 1.5 * balcony, height)
        end = _risen(edge, m["balcony_m"], m["balcony_rake_deg"])
        areas.append(_area(f"Balcony {balcony + 1}", edge, end, width_m=m["width_m"]))
        height += m["balcony_rise_m"] + 0.5
    return areas


@dataclasses.dataclass(frozen=True)
class Kind:
    """How a kind of venue is made, and the ranges its measures are drawn from."""

    areas: Callable[[Measures], list[SeatArea]]
    ranges: Mapping[str, Range]
    whole: frozenset[str] = frozenset()


#: Kinds of venue by name. `highest_top_m` is how high the roof lets a hang's top go.
FAMILIES: dict[str, Kind] = {
    "shoebox": Kind(
        _shoebox,
        {
            "first_row_m": (5.0, 10.0),
            "depth_m": (15.0, 45.0),
            "width_m": (12.0, 30.0),
            "rake_deg": (0.0, 8.0),
            "highest_top_m": (7.0, 12.0),
        },
    ),
    "fan": Kind(
        _fan,
        {
            "first_row_m": (5.0, 9.0),
            "stage_m": (4.0, 12.0),
            "depth_m": (15.0, 40.0),
            "opening_deg": (60.0, 120.0),
            "rake_deg": (3.0, 14.0),
            "highest_top_m": (8.0, 14.0),
        },
    ),
    "arena": Kind(
        _arena,
        {
            "first_row_m": (8.0, 14.0),
            "floor_m": (25.0, 50.0),
            "width_m": (25.0, 45.0),
            "lower_m": (8.0, 18.0),
            "lower_rake_deg": (18.0, 28.0),
            "upper_rise_m": (3.0, 6.0),
            "upper_m": (8.0, 18.0),
            "upper_rake_deg": (26.0, 34.0),
            "highest_top_m": (12.0, 18.0),
        },
    ),
    "field": Kind(
        _field,
        {
            "first_row_m": (8.0, 15.0),
            "depth_m": (40.0, 110.0),
            "width_m": (30.0, 80.0),
            "near_slope_deg": (-1.0, 3.0),
            "far_slope_deg": (0.0, 8.0),
            "highest_top_m": (8.0, 14.0),
        },
    ),
    "theatre": Kind(
        _theatre,
        {
            "first_row_m": (4.0, 8.0),
            "stalls_m": (12.0, 28.0),
            "stalls_rake_deg": (2.0, 9.0),
            "width_m": (14.0, 28.0),
            "balconies": (1.0, 3.0),
            "balcony_rise_m": (3.0, 4.2),
            "overhang_m": (2.0, 7.0),
            "balcony_m": (5.0, 11.0),
            "balcony_rake_deg": (18.0, 30.0),
            "highest_top_m": (8.0, 14.0),
        },
        frozenset({"balconies"}),
    ),
}


@dataclasses.dataclass(frozen=True)
class Family(FaceType):
    """Venues of one kind; iterating makes them one after the other, as often as it is done.

    Attributes
    ----------
    kind : str
        One of `FAMILIES`.
    count : int
        How many.
    seed : int
        Chooses the draws.
    ranges : mapping of str to (float, float)
        Lowest and highest of each measure.

    Examples
    --------
    >>> import hangarc as ha
    >>> arenas = ha.sweeps.venues("arena", 1_000, seed=1)
    >>> arenas.kind, arenas.count
    ('arena', 1000)
    """

    kind: FamilyKind
    count: int
    seed: int
    ranges: Mapping[str, Range]

    def __post_init__(self) -> None:
        object.__setattr__(self, "ranges", frozen(dict(self.ranges)))

    def __len__(self) -> int:
        return self.count

    def __iter__(self) -> Iterator[tuple[dict[str, float], Venue]]:
        sequence = qmc.Halton(len(self.ranges), rng=self.seed)
        made = 0
        while made < self.count:
            shares = sequence.random(min(_BATCH, self.count - made))
            for row in shares:
                measures = self._measures(row.tolist())
                yield measures, self._venue(made, measures)
                made += 1

    def _measures(self, shares: list[float]) -> dict[str, float]:
        measures = {}
        for (name, (low, high)), share in zip(self.ranges.items(), shares, strict=True):
            if name in FAMILIES[self.kind].whole:
                measures[name] = float(min(int(low + share * (high - low + 1)), int(high)))
            else:
                # Centimetres and hundredths of a degree are what a drawing gives.
                measures[name] = round(low + share * (high - low), 2)
        return measures

    def _venue(self, index: int, measures: Measures) -> Venue:
        name = f"{self.kind} {index} of seed {self.seed} (demo data)"
        return Venue(name=name, areas=FAMILIES[self.kind].areas(measures))


@by_name
def venues(
    kind: FamilyKind, count: int, *, seed: int = 0, ranges: Mapping[str, Range] | None = None
) -> Family:
    """Make a family of venues.

    Parameters
    ----------
    kind : {"shoebox", "fan", "arena", "field", "theatre"}
        What rooms.
    count : int
        How many; they are made as they are needed, never stored.
    seed : int
        Chooses the draws; venue i is the same for any `count`.
    ranges : mapping of str to (float, float), optional
        Lowest and highest of measures that are to differ from those of `FAMILIES[kind].ranges`.

    Returns
    -------
    Family
        Iterates over (measures, `Venue`).

    Raises
    ------
    InputError
        An unknown kind or measure, or a range that falls.

    Examples
    --------
    >>> import hangarc as ha
    >>> halls = ha.sweeps.venues("theatre", 2, seed=1)
    >>> [ha.model.seat_count(venue) for measures, venue in halls]
    [1292, 1554]
    """
    if not isinstance(kind, str) or kind not in FAMILIES:
        raise InputError("kind", kind, f"one of {', '.join(FAMILIES)}")
    wanted = dict(FAMILIES[kind].ranges)
    if ranges is not None and not isinstance(ranges, Mapping):
        raise InputError("ranges", ranges, "a mapping of measures to (lowest, highest)")
    for name, given in (ranges or {}).items():
        if name not in wanted:
            raise InputError(f"ranges[{name!r}]", given, f"the measures {', '.join(wanted)}")
        try:
            low, high = given
        except (TypeError, ValueError):
            raise InputError(f"ranges[{name!r}]", given, "(lowest, highest)") from None
        low, high = real(f"ranges[{name!r}]", low), real(f"ranges[{name!r}]", high)
        if high < low:
            raise InputError(f"ranges[{name!r}]", given, "(lowest, highest)")
        wanted[name] = (low, high)
    return Family(kind, whole("count", count), whole("seed", seed), wanted)


@by_name
def ask(base: Study, families: Family | Iterable[Family]) -> Iterator[dict[str, Any]]:
    """Ask a study's question about every venue of families.

    The hang's top may go from 2 m under the room's `highest_top_m` to it; the rest is as in `base`.

    Parameters
    ----------
    base : Study
        Hang, air, tilts, goals and limits.
    families : Family or iterable of Family
        The venues.

    Yields
    ------
    dict
        ``study``; the keys ``family`` and ``venue`` (its number in the family); and, of a single
        family, its measures. A venue that makes no study has its error in ``study``.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study(cabinets=4)
    >>> rows = list(ha.sweeps.ask(study, ha.sweeps.venues("shoebox", 2, seed=1)))
    >>> sorted(rows[0])[:3]
    ['depth_m', 'family', 'first_row_m']
    """
    instance("base", base, Study)
    single = isinstance(families, Family)
    for family in [families] if isinstance(families, Family) else families:
        for index, (measures, venue) in enumerate(family):
            keys: dict[str, Any] = {"family": family.kind, "venue": index}
            if single:
                keys |= measures
            top_m = measures["highest_top_m"]
            study: Study | InputError
            try:
                study = dataclasses.replace(
                    base,
                    name=venue.name,
                    venue=venue,
                    top_range_m=(round(top_m - 2.0, 2), top_m),
                )
            except InputError as error:
                study = error
            yield {**keys, "study": study}
