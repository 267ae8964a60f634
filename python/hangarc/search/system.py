"""Several hangs that share seats: searched in turns, aligned, balanced, heard together."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._document import build, read, write
from hangarc._errors import InputError
from hangarc._record import Result, instance, listed, real, real_array, whole
from hangarc.acoustics import (
    Placed,
    Rig,
    SeatLevels,
    Unevenness,
    rig_pressure,
    rig_seat_levels,
    sees,
    sound_speed_m_s,
)
from hangarc.acoustics.spread import unevenness_of
from hangarc.model import Air, Hang, Neighbour, Site, Study, Venue
from hangarc.statics import pose

VERSION = 1

# A turn that betters the objective by less ends nothing and starts nothing.
BETTER_DB = 1e-3


@dataclasses.dataclass(frozen=True, kw_only=True)
class System:
    """Hangs that share one room: a study each, of one venue, air and goals.

    Parameters
    ----------
    name : str
        Name printed on sheets.
    hangs : sequence of Study
        A study for each hang, or pair of twins, with its own name, site, hardware, picks and
        ranges; `Study.beside` is empty, as the others are here.
    given : sequence of str
        Names of those whose pins, tilt and height are given, not searched: their studies allow
        one tilt and one height.

    Raises
    ------
    InputError
        Names that are not unlike, other venues, airs or goals, a name that no hang has, or a given
        hang with more than one tilt or height.
    """

    name: str
    hangs: Sequence[Study]
    given: Sequence[str] = ()

    def __post_init__(self) -> None:
        hangs = tuple(
            instance(f"hangs[{index}]", study, Study) for index, study in enumerate(self.hangs)
        )
        object.__setattr__(self, "hangs", hangs)
        object.__setattr__(self, "given", tuple(self.given))
        if not hangs:
            raise InputError("hangs", "[]", "at least one study")
        names = [study.name for study in hangs]
        for index, study in enumerate(hangs):
            if names.index(study.name) != index:
                raise InputError(f"hangs[{index}].name", study.name, "a name of its own")
            if study.beside:
                allowed = "nothing: a system's hangs are beside each other"
                raise InputError(f"hangs[{index}].beside", len(study.beside), allowed)
            for field in ("venue", "air", "goals"):
                if getattr(study, field) != getattr(hangs[0], field):
                    raise InputError(
                        f"hangs[{index}].{field}", "another one", f"that of hangs[0], {field}"
                    )
        for index, name in enumerate(self.given):
            if name not in names:
                raise InputError(f"given[{index}]", name, f"one of {', '.join(names)}")
            study = hangs[names.index(name)]
            for field in ("tilt_range_deg", "top_range_m"):
                low, high = getattr(study, field)
                if low != high:
                    where = f"hangs[{names.index(name)}].{field}"
                    raise InputError(where, (low, high), "one value, as the hang is given")

    @property
    def venue(self) -> Venue:
        """The seats they share."""
        return self.hangs[0].venue

    @property
    def air(self) -> Air:
        """The air they share."""
        return self.hangs[0].air

    def to_json(self) -> str:
        """Write as versioned JSON."""
        value = {
            "name": self.name,
            "hangs": [study.to_dict() for study in self.hangs],
            "given": list(self.given),
        }
        return write("system", VERSION, value)

    @classmethod
    def from_json(cls, text: str) -> System:
        """Read what `to_json` wrote.

        Raises
        ------
        InputError
            Not JSON, another kind or version, or a field that is out of bounds.
        """
        value = read(text, "system", VERSION)
        hangs = [build(Study, data, f"hangs[{i}]") for i, data in enumerate(value["hangs"])]
        return cls(name=value["name"], hangs=hangs, given=value["given"])


@dataclasses.dataclass(frozen=True, eq=False)
class Turn(Result):
    """One hang searched with the others as they were.

    Attributes
    ----------
    round : int
        0 where each was searched by itself, else the number of the round.
    name : str
        The hang.
    before_db, after_db : float
        Objective with the hang as it was and as it is; the same where nothing better was found.
    """

    round: int
    name: str
    before_db: float
    after_db: float


@dataclasses.dataclass(frozen=True, eq=False)
class SystemResult(Result):
    """What was found for all hangs of a system.

    Attributes
    ----------
    hung : list of Neighbour
        Every hang with its pins, twins by themselves.
    studies : dict of str to Study
        By hang's name, its study with what was found: pins, one tilt, one height, and the others
        beside it. `hangarc.evaluate` gives its answer.
    turns : list of Turn
        What each turn bettered.
    settled : bool
        Whether a last round bettered nothing.
    one_by_one_db : float
        Unevenness of the hangs as each was searched by itself, all sounding.
    unevenness_db : float
        That of the answer.
    """

    hung: list[Neighbour]
    studies: dict[str, Study]
    turns: list[Turn]
    settled: bool
    one_by_one_db: float
    unevenness_db: float

    @property
    def rigs(self) -> dict[str, Rig]:
        """One rig a feed."""
        return rigs_of(self.hung)


def rigs_of(hung: Sequence[Neighbour]) -> dict[str, Rig]:
    """Give the rig of each feed: pressures add within it, energies of several do.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    """
    feeds: dict[str, list[Placed]] = {}
    for one in _neighbours(hung):
        feeds.setdefault(one.site.feed, []).append(_placed(one))
    return {feed: Rig(hangs=placed) for feed, placed in feeds.items()}


def _neighbours(hung: Sequence[Neighbour]) -> list[Neighbour]:
    given = listed("hung", hung, "a list of Neighbour")
    if not given:
        raise InputError("hung", hung, "at least one Neighbour")
    return [instance(f"hung[{index}]", one, Neighbour) for index, one in enumerate(given)]


def _placed(one: Neighbour) -> Placed:
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


def system_levels(
    hung: Sequence[Neighbour],
    venue: Venue,
    air: Air | None = None,
    lowest_hz: float = 1000.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 5,
) -> SeatLevels:
    """Levels at the seats of all hangs together.

    |p|² = Σ over the feeds of |Σ over the feed's hangs of p|². `cabinets_seen` counts those of all
    feeds; a greatest level is not stated, as the feeds can be driven one by one.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    venue, air, lowest_hz, highest_hz, lines_per_band
        As in `rig_seat_levels`.

    Raises
    ------
    InputError
        Hangs that hang in each other, in a floor or in a surface; else as `rig_seat_levels`.
    """
    check_space(hung, venue)
    options = (air, lowest_hz, highest_hz, lines_per_band)
    heard = [rig_seat_levels(rig, venue, *options) for rig in rigs_of(hung).values()]
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


def system_unevenness(
    hung: Sequence[Neighbour],
    venue: Venue,
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
    """
    levels = system_levels(hung, venue, air, lowest_hz, highest_hz, lines_per_band)
    return unevenness_of(levels)


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
    """
    hung = _neighbours(hung)
    instance("venue", venue, Venue)
    rig = Rig(hangs=[_placed(one) for one in hung])
    try:
        sees(rig, venue)
    except InputError as error:
        field, value = error.field, str(error.value)
        for index, one in enumerate(hung):
            field = field.replace(f"hangs[{index}]", f"{one.name}")
            value = value.replace(f"hangs[{index}]", f"{one.name}")
        raise InputError(field, value, error.allowed) from None


@dataclasses.dataclass(frozen=True)
class _Hanging:
    """How a hang hangs for now."""

    hang: Hang
    tilt_deg: float
    top_m: float


def optimise_system(
    system: System,
    seed: int = 0,
    rounds: int = 3,
    progress: Callable[[int], object] | None = None,
) -> SystemResult:
    """Search the hangs of a system in turns, each with the others as they are.

    First each hang, or pair of twins, is searched by itself for the blocks it serves. Then, hang
    after hang, it is searched for all seats with the others sounding as they hang: walks that cool,
    from how it hangs and from the law's best curve, among sketches, and descents with some hundred
    seats. What is found is taken where it betters the objective over all seats and frequencies, so
    no turn makes the system worse, and the rounds end when one betters nothing. The objective is
    that of `optimise_splays`, of the levels of all hangs together.

    Parameters
    ----------
    system : System
        The question.
    seed : int
        As in `optimise_splays`.
    rounds : int
        Rounds at the most, at least 1.
    progress : callable, optional
        As in `optimise_splays`, for each turn.

    Returns
    -------
    SystemResult

    Raises
    ------
    InputError
        A hang that hangs in another or in a surface, at its start or in the answer; else as
        `optimise_splays`.
    """
    instance("system", system, System)
    if whole("rounds", rounds) < 1:
        raise InputError("rounds", rounds, "at least 1")
    seed = whole("seed", seed)
    check_space([one for study in system.hangs for one in _as_it_starts(study)], system.venue)
    hanging: dict[str, _Hanging] = {}
    turns: list[Turn] = []
    for study in system.hangs:
        if study.name in system.given:
            (tilt_deg, _), (top_m, _) = study.tilt_range_deg, study.top_range_m
            hanging[study.name] = _Hanging(study.hang, tilt_deg, top_m)
            continue
        found = _core.turn(_for_its_own(study).handle, None, seed, progress)
        hanging[study.name] = _taken(found)
        turns.append(Turn(0, study.name, *found["objective_db"]))
    one_by_one_db = _unevenness_db(system, hanging)
    settled = False
    for number in range(1, rounds + 1):
        bettered = False
        for study in system.hangs:
            if study.name in system.given:
                continue
            now = hanging[study.name]
            asked = dataclasses.replace(
                study, hang=now.hang, beside=_others(system, study, hanging)
            )
            found = _core.turn(asked.handle, (now.tilt_deg, now.top_m), seed + number, progress)
            before_db, after_db = found["objective_db"]
            turns.append(Turn(number, study.name, before_db, after_db))
            hanging[study.name] = _taken(found)
            bettered |= before_db - after_db > BETTER_DB
        if not bettered:
            settled = True
            break
    hung = _hung(system, hanging)
    check_space(hung, system.venue)
    return SystemResult(
        hung=hung,
        studies={study.name: _pinned(system, study, hanging) for study in system.hangs},
        turns=turns,
        settled=settled,
        one_by_one_db=one_by_one_db,
        unevenness_db=_unevenness_db(system, hanging),
    )


def _taken(found: dict[str, Any]) -> _Hanging:
    return _Hanging(Hang.from_json(found["hang_json"]), found["tilt_deg"], found["top_m"])


def _as_it_starts(study: Study) -> list[Neighbour]:
    middle_deg, middle_m = (sum(ends) / 2 for ends in (study.tilt_range_deg, study.top_range_m))
    return sited(study, study.hang, middle_deg, middle_m)


def sited(study: Study, hang: Hang, tilt_deg: float, top_m: float) -> list[Neighbour]:
    """Give a study's hang at its site, and at its twin's where there is one."""
    sites = {study.name: study.site}
    if study.twin is not None:
        sites[f"{study.name} (twin)"] = study.twin
    return [
        Neighbour(name=name, hang=hang, tilt_deg=tilt_deg, top_m=top_m, site=site)
        for name, site in sites.items()
    ]


def _hung(system: System, hanging: dict[str, _Hanging]) -> list[Neighbour]:
    hung = []
    for study in system.hangs:
        now = hanging[study.name]
        hung += sited(study, now.hang, now.tilt_deg, now.top_m)
    return hung


def _unevenness_db(system: System, hanging: dict[str, _Hanging]) -> float:
    goals, lines = system.hangs[0].goals, system.hangs[0].lines_per_band
    bands = (goals.lowest_hz, goals.highest_hz, lines)
    hung = _hung(system, hanging)
    return system_unevenness(hung, system.venue, system.air, *bands).unevenness_db


def _others(system: System, study: Study, hanging: dict[str, _Hanging]) -> list[Neighbour]:
    beside = []
    for other in system.hangs:
        if other.name != study.name:
            now = hanging[other.name]
            beside += sited(other, now.hang, now.tilt_deg, now.top_m)
    return beside


def _for_its_own(study: Study) -> Study:
    """The study with the blocks alone that the hang is for."""
    if not study.serves:
        return study
    areas = [
        area if area.name in study.serves else dataclasses.replace(area, weight=0.0)
        for area in study.venue.areas
    ]
    return dataclasses.replace(study, venue=dataclasses.replace(study.venue, areas=areas))


def _pinned(system: System, study: Study, hanging: dict[str, _Hanging]) -> Study:
    """The study with its hang as it hangs, one tilt and height, the others beside it."""
    now = hanging[study.name]
    # On one pick the tilt follows from the hole: the range stays.
    held = bool(study.pick_x_m)
    return dataclasses.replace(
        study,
        hang=now.hang,
        tilt_range_deg=(now.tilt_deg, now.tilt_deg) if held else study.tilt_range_deg,
        top_range_m=(now.top_m, now.top_m),
        goals=dataclasses.replace(study.goals, cabinet_range=None, gains_db=()),
        beside=_others(system, study, hanging),
    )


def arrivals_s(
    hung: Sequence[Neighbour], places_m: NDArray[np.float64], air: Air | None = None
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
    """
    places = np.atleast_2d(real_array("places_m", places_m, 2))
    if places.shape[1] != 3:
        raise InputError("places_m", places_m, "finite points (x, y, z)")
    speed_m_s = sound_speed_m_s(air) if air is not None else sound_speed_m_s()
    rows = [_nearest_m(one, places) / speed_m_s + one.site.delay_s for one in _neighbours(hung)]
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


def aligned(
    hung: Sequence[Neighbour],
    moved: str,
    to: str,
    place_m: Sequence[float],
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
    """
    hung = _neighbours(hung)
    names = [one.name for one in hung]
    for field, name in (("moved", moved), ("to", to)):
        if not isinstance(name, str) or name not in names:
            raise InputError(field, name, f"one of {', '.join(names)}")
    times = arrivals_s(hung, real_array("place_m", place_m, 1)[None, :], air)[:, 0]
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
    """

    gain_db: dict[str, float]
    unevenness_before_db: float
    unevenness_db: float


def balanced(
    hung: Sequence[Neighbour],
    venue: Venue,
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
    """
    hung = _neighbours(hung)
    lines_per_band = whole("lines_per_band", lines_per_band)
    check_space(hung, venue)
    seats = rig_seat_levels(
        Rig(hangs=[_placed(one) for one in hung]), venue, air, lowest_hz, highest_hz, 1
    )
    numbers = [round(10 * math.log10(f / 1000.0)) for f in seats.band_hz]
    lines_hz = np.asarray(_core.band_lines_hz(numbers, lines_per_band))
    counted = seats.weight > 0.0
    weight = seats.weight[counted] / seats.weight[counted].sum()
    places = np.ascontiguousarray(seats.position_m[counted])
    pressures = [
        rig_pressure(Rig(hangs=[_placed(one)]), places, lines_hz, air, venue) for one in hung
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


def with_gains(hung: Sequence[Neighbour], gain_db: dict[str, float]) -> list[Neighbour]:
    """Give the hangs with their gains changed.

    Parameters
    ----------
    hung : sequence of Neighbour
        The hangs.
    gain_db : dict of str to float
        Change by name; a hang that is not named keeps its gain.
    """

    def louder(site: Site, more_db: float) -> Site:
        return dataclasses.replace(site, gain_db=site.gain_db + more_db)

    if not isinstance(gain_db, Mapping):
        raise InputError("gain_db", gain_db, "a mapping of names to decibels")
    more_db = {name: real(f"gain_db[{name!r}]", value) for name, value in gain_db.items()}
    return [
        dataclasses.replace(one, site=louder(one.site, more_db.get(one.name, 0.0)))
        for one in _neighbours(hung)
    ]
