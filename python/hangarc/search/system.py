"""Several hangs that share seats, searched in turns."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Literal

from hangarc import _core
from hangarc._document import build, read, write
from hangarc._ending import Ended, Ending
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import FaceType, Result, instance, whole
from hangarc.acoustics import (
    Rig,
)
from hangarc.model import Air, Hang, Neighbour, Study, Venue
from hangarc.search.together import (
    check_space,
    rigs_of,
    sited,
    system_unevenness,
)

if TYPE_CHECKING:
    from hangarc._fields import TurnFields

VERSION = 1

SystemEnd = Literal["settled", "rounds spent"]

SYSTEM_ENDINGS: Mapping[str, Ending] = {
    "settled": Ending(True, "Another round betters nothing."),
    "rounds spent": Ending(
        False,
        "The last round still bettered the system, and no more were asked for.",
        "More rounds.",
    ),
}

# A turn that betters the objective by less ends nothing and starts nothing.
BETTER_DB = 1e-3


@dataclasses.dataclass(frozen=True, kw_only=True)
class System(FaceType):
    """Hangs that share one room: one study per hang, all of one venue, air and goals.

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

    Examples
    --------
    >>> import hangarc as ha
    >>> from hangarc.demo import theatre
    >>> system = theatre.system()
    >>> [study.name for study in system.hangs]
    ['mains', 'outfill', 'delays']
    >>> ha.search.System.from_json(system.to_json()) == system
    True
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

    def _picture(self) -> str:
        from hangarc import _plans

        places = [
            (study.name, study.hang, site.position_m, site.pan_deg)
            for study in self.hangs
            for site in (study.site, study.twin)
            if site is not None
        ]
        return _plans.plan(places, self.venue)

    @property
    def venue(self) -> Venue:
        """The seats they share."""
        return self.hangs[0].venue

    @property
    def air(self) -> Air:
        """The air they share."""
        return self.hangs[0].air

    def to_json(self) -> str:
        """Write as versioned JSON.

        Examples
        --------
        >>> from hangarc.demo import theatre
        >>> theatre.system().to_json()[:60]
        '{"kind": "system", "version": 1, "hangarc": "0.1.0", "value"'
        """
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

        Examples
        --------
        >>> import hangarc as ha
        >>> from hangarc.demo import theatre
        >>> text = theatre.system().to_json()
        >>> ha.search.System.from_json(text).name
        'Theatre, three systems (demo data)'
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

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = dataclasses.replace(ha.demo.study(cabinets=2), lines_per_band=1)
    >>> found = ha.search.optimise_system(ha.search.System(name="one", hangs=[study]), rounds=1)
    >>> for turn in found.turns:
    ...     print(turn.round, turn.name, turn.after_db <= turn.before_db)
    ...
    0 Demo hang (demo data) True
    1 Demo hang (demo data) True
    """

    round: int
    name: str
    before_db: float
    after_db: float


@dataclasses.dataclass(frozen=True, eq=False)
class SystemResult(Ended):
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
    ended : str
        ``settled``: a last round bettered nothing; or ``rounds spent``.
    one_by_one_db : float
        Unevenness of the hangs as each was searched by itself, all sounding.
    unevenness_db : float
        That of the answer.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = dataclasses.replace(ha.demo.study(cabinets=2), lines_per_band=1)
    >>> found = ha.search.optimise_system(ha.search.System(name="one", hangs=[study]), rounds=1)
    >>> [place.name for place in found.hung], found.unevenness_db <= found.one_by_one_db
    (['Demo hang (demo data)'], True)
    """

    _endings = SYSTEM_ENDINGS

    hung: list[Neighbour]
    studies: dict[str, Study]
    turns: list[Turn]
    ended: SystemEnd
    one_by_one_db: float
    unevenness_db: float

    def _picture(self) -> str:
        from hangarc import _plans

        venue = next(iter(self.studies.values())).venue
        return _plans.plan(
            [(one.name, one.hang, one.site.position_m, one.site.pan_deg) for one in self.hung],
            venue,
        )

    @property
    def rigs(self) -> dict[str, Rig]:
        """One rig a feed."""
        return rigs_of(self.hung)


@dataclasses.dataclass(frozen=True)
class _Hanging:
    """How a hang hangs for now."""

    hang: Hang
    tilt_deg: float
    top_m: float


@by_name
def optimise_system(
    system: System,
    *,
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

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = dataclasses.replace(ha.demo.study(cabinets=2), lines_per_band=1)
    >>> left, right = ha.model.Site(position_m=(0.0, 8.0)), ha.model.Site(position_m=(0.0, -8.0))
    >>> mains = dataclasses.replace(study, name="mains", site=left, twin=right)
    >>> system = ha.search.System(name="Two mains (demo data)", hangs=[mains])
    >>> found = ha.search.optimise_system(system, rounds=1)
    >>> len(found.hung), found.ended
    (2, 'settled')
    """
    instance("system", system, System)
    if whole("rounds", rounds) < 1:
        raise InputError("rounds", rounds, "at least 1")
    seed = whole("seed", seed)
    check_start(system.hangs)
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
    ended: SystemEnd = "rounds spent"
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
            ended = "settled"
            break
    hung = _hung(system, hanging)
    check_space(hung, system.venue)
    return SystemResult(
        hung=hung,
        studies={study.name: _pinned(system, study, hanging) for study in system.hangs},
        turns=turns,
        ended=ended,
        one_by_one_db=one_by_one_db,
        unevenness_db=_unevenness_db(system, hanging),
    )


def _taken(found: TurnFields) -> _Hanging:
    return _Hanging(Hang.from_json(found["hang_json"]), found["tilt_deg"], found["top_m"])


# Of the range of heights, where a hang is looked at before its search.
STARTS = (0.0, 0.5, 1.0)


def check_start(studies: Sequence[Study]) -> None:
    """Refuse hangs that are in a surface or in each other, high, low and in the middle alike.

    Raises
    ------
    InputError
        The first cabinet that is, and what it is in.
    """
    refused: list[InputError] = []
    for share in STARTS:
        hung: list[Neighbour] = []
        for study in studies:
            low_m, high_m = study.top_range_m
            tilt_deg = sum(study.tilt_range_deg) / 2.0
            hung += sited(study, study.hang, tilt_deg, low_m + share * (high_m - low_m))
            hung += study.beside
        try:
            _check_company(hung, studies[0].venue)
        except InputError as error:
            refused.append(error)
    if len(refused) == len(STARTS):
        raise refused[0]


def check_found(study: Study, hang: Hang, tilt_deg: float, top_m: float) -> None:
    """Refuse what a search found where it is in a surface or in another hang.

    Raises
    ------
    InputError
        The first cabinet that is, what it is in, and where it hangs.
    """
    try:
        _check_company([*sited(study, hang, tilt_deg, top_m), *study.beside], study.venue)
    except InputError as error:
        allowed = (
            f"{error.allowed}; found at a height of {top_m:g} m, one of the study's top_range_m, "
            f"and a tilt of {tilt_deg:g}°"
        )
        raise InputError(error.field, error.value, allowed) from None


def _check_company(hung: list[Neighbour], venue: Venue) -> None:
    """As `check_space`; a hang by itself in a hall without surfaces has nothing to be in."""
    if len(hung) > 1 or venue.surfaces:
        check_space(hung, venue)


def _hung(system: System, hanging: dict[str, _Hanging]) -> list[Neighbour]:
    hung = []
    for study in system.hangs:
        now = hanging[study.name]
        hung += sited(study, now.hang, now.tilt_deg, now.top_m)
    return hung


def _unevenness_db(system: System, hanging: dict[str, _Hanging]) -> float:
    goals = system.hangs[0].goals
    return system_unevenness(
        _hung(system, hanging),
        system.venue,
        air=system.air,
        lowest_hz=goals.lowest_hz,
        highest_hz=goals.highest_hz,
        lines_per_band=system.hangs[0].lines_per_band,
    ).unevenness_db


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
