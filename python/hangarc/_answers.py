"""A study's whole question answered: pins, picks, hoists, chain, seats."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from hangarc import _document
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._pose import Pose, Throw, pose, throws
from hangarc._record import Result, instance, kilonewtons, real
from hangarc._tables import columns_of
from hangarc.acoustics.seats import AreaLevels, SeatLevels, area_levels
from hangarc.closing.links import Shortening, shortening
from hangarc.closing.path import Closing
from hangarc.closing.remedies import ClosingRemedies, closing_remedies
from hangarc.model import Cabinet, Hang, Study
from hangarc.search.result import SearchResult
from hangarc.search.splays import evaluate_pins, optimise_splays
from hangarc.search.together import study_levels
from hangarc.statics.balance import HoistLoads, hoist_loads
from hangarc.statics.joints import JointLoads, joint_loads
from hangarc.statics.limits import LimitRow, most_loaded, part_loads
from hangarc.wind import Wind, parts_in_wind
from hangarc.work.job import Job
from hangarc.work.plan import Work, plan_work, with_building, with_legs
from hangarc.work.rear import close_on_picks

ANSWER_VERSION = 4

# Rows of the closing path that are stored between its contacts.
STORED_ROWS = 40

# `closing_remedies` looks no farther.
MOST_TILT_DEG = 60.0


@dataclasses.dataclass(frozen=True, eq=False)
class Answer(Result):
    """What the crew needs to know about one hang.

    An aid to qualified persons; manufacturers' manuals, local codes and licensed engineers prevail.

    Attributes
    ----------
    study : Study
        The question.
    job : Job
        Who, where and with what.
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
        Every part against its stated limit, the greatest force of all states of the hang.
    seats, straight_seats : SeatLevels
        Levels at the seats in the goals' bands from the found hang, and from the best straight one.
    areas, straight_areas : list of AreaLevels
        The same area by area.
    work : Work
        The work of hanging it, in its order.
    remedies : ClosingRemedies or None
        What would close a compression hang that does not close with its clutch's least force.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> answer.search.tilt_deg, round(answer.closing.closing_force_n)
    (-4.0, 867)
    >>> ha.Answer.from_json(answer.to_json()).search.tilt_deg
    -4.0
    """

    study: Study
    job: Job
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
    work: Work
    remedies: ClosingRemedies | None

    @property
    def hang(self) -> Hang:
        """The hang with the found pins."""
        return self.search.hang

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.section(self.study.venue, self.pose, self.throws)

    def _columns(self) -> dict[str, Any]:
        return columns_of(self.limits)

    def _summary(self) -> list[tuple[str, Any]]:
        from hangarc.report import reasons_against

        against = reasons_against(self)
        used = [row for row in self.limits if row.utilisation is not None]
        rows: list[tuple[str, Any]] = [("study", self.study.name)]
        rows += [("DO NOT HANG", reason) for reason in against]
        left_out = ("missed", "margins", "limits")
        rows += [row for row in self.search._summary() if row[0] not in left_out]
        rows.append(("trim", f"{self.pose.trim_m:.2f} m"))
        rows.append(("hoists", ", ".join(map(kilonewtons, self.hoists.load_n))))
        if used:
            most = max(used, key=lambda row: row.utilisation or 0.0)
            rows.append(("most used stated limit", f"{most.item}: {most.utilisation:.0%}"))
        rows += [("limits", self.limits), ("areas", self.areas)]
        return rows

    def to_json(self) -> str:
        """Write the study and its answer as versioned JSON.

        ``value.study`` holds the fields of the `Study`. Of the closing path every contact is kept
        and some 40 rows between them. Numbers that are not finite stand as the words ``"inf"``,
        ``"-inf"`` and ``"nan"``.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.evaluate(ha.demo.study(cabinets=4)).to_json()
        >>> ha.Answer.from_json(text).search.top_m
        10.0
        """
        closing = None if self.closing is None else _thinned(self.closing)
        value = dataclasses.replace(self, closing=closing).to_dict()
        return _document.write("answer", ANSWER_VERSION, value)

    @classmethod
    def from_json(cls, text: str) -> Answer:
        """Read what `to_json` wrote; the same but for the rows left out of the closing path.

        Raises
        ------
        InputError
            Not JSON, another kind or version, or a missing or unknown field.

        Examples
        --------
        >>> import hangarc as ha
        >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
        >>> again = ha.Answer.from_json(answer.to_json())
        >>> again.search.splays_deg.tolist() == answer.search.splays_deg.tolist()
        True
        """
        return _document.build(cls, _document.read(text, "answer", ANSWER_VERSION))


def _thinned(closing: Closing) -> Closing:
    """The closing with every contact of its path and rows evenly between them."""
    chain_m = closing.path["chain_m"]
    at_contact = np.isin(chain_m, [event.chain_m for event in closing.events])
    if len(chain_m) <= STORED_ROWS + at_contact.sum():
        return closing
    evenly = np.linspace(0, len(chain_m) - 1, STORED_ROWS).round().astype(int)
    rows = np.union1d(np.flatnonzero(at_contact), evenly)
    return dataclasses.replace(
        closing, path={name: column[rows] for name, column in closing.path.items()}
    )


@by_name
def answer(
    study: Study,
    *,
    seed: int = 0,
    prove: bool = False,
    progress: Callable[[int], object] | None = None,
    job: Job | None = None,
    budget_evaluations: int | None = None,
    budget_s: float | None = None,
) -> Answer:
    """Search for the pins and calculate everything a hang sheet states about them.

    Parameters
    ----------
    study : Study
        The question.
    seed, prove, progress, budget_evaluations, budget_s
        As in `optimise_splays`.
    job : Job, optional
        Who, where and with what the hang is built; left out, as `Job()` has it.

    Returns
    -------
    Answer

    Raises
    ------
    KeyboardInterrupt
        Ctrl-C; during the search its attribute `best` is the `SearchResult` found by then.
    InputError
        As `optimise_splays`; or a compression hang lacks its bottom frame or chain anchors.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.answer(ha.demo.study(cabinets=3), seed=0)
    >>> len(answer.search.splays_deg), len(answer.limits) > 0
    (2, True)
    """
    search = optimise_splays(
        instance("study", study, Study),
        seed,
        prove,
        budget_evaluations=budget_evaluations,
        budget_s=budget_s,
        progress=progress,
    )
    return answer_of(study, search, job)


@by_name
def evaluate(
    study: Study,
    *,
    tilt_deg: float | None = None,
    top_m: float | None = None,
    job: Job | None = None,
) -> Answer:
    """Calculate everything a hang sheet states about the study's hang with its pins as they are.

    No pin is searched. Where tilt and height are left out, every one that the study lists is looked
    at, and the least objective that can be hung is the answer; on one pick the tilt follows from
    the hole.

    Parameters
    ----------
    study : Study
        The question, its hang with the pins in question.
    tilt_deg, top_m : float, optional
        Tilt of the fly frame on two picks, and height of cabinet 0's upper front hinge.
    job
        As in `answer`.

    Returns
    -------
    Answer
        Its `search.ended` is "given", or "infeasible" where a constraint is not met.

    Raises
    ------
    InputError
        As `answer`; a tilt asked of a hang on one pick.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))  # no search: the pins as they are
    >>> answer.search.splays_deg.tolist()
    [0.0, 0.0, 0.0]
    """
    fixed: dict[str, tuple[float, float]] = {}
    if tilt_deg is not None:
        if not instance("study", study, Study).pick_x_m:
            raise InputError("tilt_deg", tilt_deg, "left out; on one pick it follows from the hole")
        tilt = real("tilt_deg", tilt_deg)
        fixed["tilt_range_deg"] = (tilt, tilt)
    if top_m is not None:
        top = real("top_m", top_m)
        fixed["top_range_m"] = (top, top)
    asked = dataclasses.replace(instance("study", study, Study), **fixed)  # type: ignore[arg-type]
    return answer_of(study, evaluate_pins(asked), job)


def answer_of(study: Study, search: SearchResult, job: Job | None = None) -> Answer:
    """Calculate everything a hang sheet states about what a search of the study found."""
    job = instance("job", Job() if job is None else job, Job).at(study.site)
    hang, tilt_deg, top_m = search.hang, search.tilt_deg, search.top_m
    compression = hang.rigging == "compression"
    straight = dataclasses.replace(
        hang, splays_deg=[_positions_deg(hang, cabinet)[0] for cabinet in hang.cabinets[:-1]]
    )
    seats = study_levels(study, hang, tilt_deg, top_m)
    straight_seats = study_levels(study, straight, search.straight_tilt_deg, search.straight_top_m)
    pick_x_m = search.pick_x_m.tolist()
    closing, preload_n = (
        close_on_picks(hang, tilt_deg, pick_x_m, job) if compression else (None, 0.0)
    )
    placed, loads = pose(hang, tilt_deg, top_m), hoist_loads(hang, tilt_deg, pick_x_m)
    joints = None if compression else joint_loads(hang, tilt_deg)
    shortened = shortening(hang, tilt_deg) if compression and hang.gear else None
    work = plan_work(
        study,
        job,
        hang,
        tilt_deg,
        pick_x_m,
        placed,
        loads,
        joints,
        closing,
        preload_n,
        shortened,
    )
    limits = part_loads(
        hang,
        tilt_deg,
        pick_x_m,
        hoist_limit_n=study.hoist_limit_n,
        roof_point_limit_n=study.roof_point_limit_n,
        hoist_mass_kg=study.hoist_mass_kg,
        dynamic_factor=study.dynamic_factor,
        preload_n=preload_n,
        out_of_step_m=job.out_of_step_m or 0.0,
    )
    windy = most_loaded(limits, _in_wind(study, job, hang, tilt_deg, top_m, pick_x_m, preload_n))
    return Answer(
        study=study,
        job=job,
        search=search,
        pose=placed,
        throws=throws(
            hang,
            tilt_deg,
            top_m,
            study.venue,
            position_m=study.site.position_m,
            pan_deg=study.site.pan_deg,
        ),
        hoists=loads,
        joints=joints,
        closing=closing,
        shortening=shortened,
        limits=with_legs(study, with_building(study, windy, work), work),
        seats=seats,
        straight_seats=straight_seats,
        areas=area_levels(seats),
        straight_areas=area_levels(straight_seats),
        work=work,
        remedies=_remedies(hang, tilt_deg, closing),
    )


def _in_wind(
    study: Study,
    job: Job,
    hang: Hang,
    tilt_deg: float,
    top_m: float,
    pick_x_m: list[float],
    preload_n: float,
) -> list[LimitRow]:
    """Rows of the hang in the job's wind from the front and the rear; none where it states none."""
    rows: list[LimitRow] = []
    if job.wind_speed_m_s is None:
        return rows
    for wind_from in ("front", "rear"):
        found = parts_in_wind(
            hang,
            tilt_deg,
            pick_x_m,
            Wind(speed_m_s=job.wind_speed_m_s),
            top_m=top_m,
            wind_from=wind_from,
            preload_n=preload_n,
            hoist_limit_n=study.hoist_limit_n,
            roof_point_limit_n=study.roof_point_limit_n,
            hoist_mass_kg=study.hoist_mass_kg,
        )
        if found.ended == "no rest found":
            raise InputError(
                "wind_speed_m_s", job.wind_speed_m_s, "a speed at which the hang is found at rest"
            )
        if found.ok:
            rows = most_loaded(rows, found.limits)
    return rows


def _remedies(hang: Hang, tilt_deg: float, closing: Closing | None) -> ClosingRemedies | None:
    if closing is None or hang.gear is None or hang.gear.clutch_n is None:
        return None
    if closing.clutch == "closes" or abs(tilt_deg) > MOST_TILT_DEG:
        return None
    return closing_remedies(hang, tilt_deg)


def _positions_deg(hang: Hang, cabinet: Cabinet) -> Sequence[float]:
    positions = cabinet.splay_positions_deg
    return positions[hang.rigging] if isinstance(positions, Mapping) else positions
