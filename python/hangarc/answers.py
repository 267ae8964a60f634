"""A study's whole question answered: pins, picks, hoists, chain, seats."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from hangarc._core import __version__
from hangarc._record import Result, instance
from hangarc.acoustics import AreaLevels, SeatLevels, area_levels, seat_levels
from hangarc.closing import Closing, Shortening, close, shortening
from hangarc.kinematics import Pose, Throw, pose, throws
from hangarc.model import Cabinet, Hang, Study
from hangarc.search import SearchResult, optimise_splays
from hangarc.statics import HoistLoads, JointLoads, LimitRow, hoist_loads, joint_loads

ANSWER_VERSION = 1


@dataclasses.dataclass(frozen=True, eq=False)
class Answer(Result):
    """What the crew needs to know about one hang.

    An aid to qualified persons; manufacturers' manuals, local codes and licensed engineers prevail.

    Attributes
    ----------
    study : Study
        The question.
    search : SearchResult
        The pins, tilt, height and picks found.
    pose : Pose
        The hang at the found pins, tilt and height.
    throws : list of Throw or None
        Where each cabinet's axis meets the seats.
    hoists : HoistLoads
        What each hoist carries.
    joints : JointLoads or None
        Forces at the joints of a tension hang.
    closing : Closing or None
        How a compression hang closes.
    shortening : Shortening or None
        Which link of its chain is taken, where there is closing gear.
    limits : list of LimitRow
        Every part of the hang, its lifting and its closing, against its stated limit.
    seats, straight_seats : SeatLevels
        Levels at the seats from the found hang, and from the best straight one.
    areas, straight_areas : list of AreaLevels
        The same area by area.
    """

    study: Study
    search: SearchResult
    pose: Pose
    throws: list[Throw | None]
    hoists: HoistLoads
    joints: JointLoads | None
    closing: Closing | None
    shortening: Shortening | None
    limits: list[LimitRow]
    seats: SeatLevels
    straight_seats: SeatLevels
    areas: list[AreaLevels]
    straight_areas: list[AreaLevels]

    @property
    def hang(self) -> Hang:
        """The hang with the found pins."""
        return self.search.hang

    def to_json(self) -> str:
        """Write the study and its answer as versioned JSON.

        ``value.study`` holds the fields of the `Study`; figures that are not finite become null.
        """
        document = {
            "kind": "answer",
            "version": ANSWER_VERSION,
            "hangarc": __version__,
            "value": _finite(self.to_dict()),
        }
        return json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False) + "\n"


def _finite(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_finite(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def answer(
    study: Study,
    seed: int = 0,
    prove: bool = False,
    progress: Callable[[int], object] | None = None,
) -> Answer:
    """Search for the pins and calculate everything a hang sheet states about them.

    Parameters
    ----------
    study : Study
        The question.
    seed, prove, progress
        As in `optimise_splays`.

    Returns
    -------
    Answer

    Raises
    ------
    InputError
        As `optimise_splays`; or a compression hang lacks its bottom frame or chain anchors.
    """
    search = optimise_splays(instance("study", study, Study), seed, prove, progress=progress)
    hang, tilt_deg, top_m = search.hang, search.tilt_deg, search.top_m
    compression = hang.rigging == "compression"
    straight = dataclasses.replace(
        hang, splays_deg=[_positions_deg(hang, cabinet)[0] for cabinet in hang.cabinets[:-1]]
    )
    seats = _seats(study, hang, tilt_deg, top_m)
    straight_seats = _seats(study, straight, search.straight_tilt_deg, search.straight_top_m)
    closing = close(hang, tilt_deg) if compression else None
    return Answer(
        study=study,
        search=search,
        pose=pose(hang, tilt_deg, top_m),
        throws=throws(hang, tilt_deg, top_m, study.venue),
        hoists=hoist_loads(hang, tilt_deg, search.pick_x_m.tolist()),
        joints=None if compression else joint_loads(hang, tilt_deg),
        closing=closing,
        shortening=shortening(hang, tilt_deg) if compression and hang.gear else None,
        limits=_greatest(search.limits, closing),
        seats=seats,
        straight_seats=straight_seats,
        areas=area_levels(seats),
        straight_areas=area_levels(straight_seats),
    )


def _positions_deg(hang: Hang, cabinet: Cabinet) -> Sequence[float]:
    positions = cabinet.splay_positions_deg
    return positions[hang.rigging] if isinstance(positions, Mapping) else positions


def _greatest(limits: Sequence[LimitRow], closing: Closing | None) -> list[LimitRow]:
    """Each part once, with its most loaded case hanging or closing."""
    rows = {row.item: row for row in limits}
    for row in closing.limits if closing is not None else ():
        if row.item not in rows or row.force_n > rows[row.item].force_n:
            rows[row.item] = row
    return list(rows.values())


def _seats(study: Study, hang: Hang, tilt_deg: float, top_m: float) -> SeatLevels:
    return seat_levels(
        hang, tilt_deg, top_m, study.venue, study.air, lines_per_band=study.lines_per_band
    )
