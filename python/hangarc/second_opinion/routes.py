"""The figures of an answer that a second calculation confirms, and those it does not."""

from __future__ import annotations

import cmath
import dataclasses
import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from hangarc._answers import Answer
from hangarc._keywords import by_name
from hangarc._record import Result, instance
from hangarc._tables import columns_of
from hangarc._words import Part, part_words
from hangarc.acoustics.bands import band_lines_hz
from hangarc.acoustics.places import point_levels
from hangarc.acoustics.rig import Placed, Rig
from hangarc.model import Hang, Site, Study
from hangarc.second_opinion import closing, forces, sound
from hangarc.second_opinion.bodies import (
    as_points,
    joint_angles_deg,
    place,
)

# The core's far field may leave out 1 % of a sub-element's pressure, 0.09 dB, and more of a sum in
# which elements cancel. How much, the core says itself: by how far its levels change with a
# tolerance that leaves next to nothing out.
NEXT_TO_NOTHING = 1e-5
LEVEL_DB = 0.01
SPREAD_DB = 0.1
LENGTH_M = 1e-8
ANGLE_DEG = 1e-6
# Forces are held against this share of the weight hung.
FORCE_SHARE = 1e-6

# A part, and which one of its kind.
PartKey = tuple[Part, int | None]
JOINT: tuple[Part, ...] = ("hinge", "rear_link", "stop")


@dataclasses.dataclass(frozen=True, eq=False)
class VerifiedRow(Result):
    """One quantity of an answer, calculated again by another route.

    Attributes
    ----------
    quantity : str
        What, with its unit; of many alike, the one that differs by most.
    answer, recomputed : float
        Its value in the answer, and by the other route.
    difference : float
        The answer less the other; NaN where one of them is none.
    allowed : float
        Greatest size of the difference that both routes' rounding and models explain.

    Examples
    --------
    >>> import hangarc as ha
    >>> opinion = ha.verify(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> row = max(opinion, key=lambda row: abs(row.answer))
    >>> round(row.answer) == round(row.recomputed), row.agrees
    (True, True)
    """

    quantity: str
    answer: float
    recomputed: float
    difference: float
    allowed: float

    @property
    def agrees(self) -> bool:
        """Whether the difference is explained."""
        return abs(self.difference) <= self.allowed


@dataclasses.dataclass(frozen=True, eq=False)
class Verification(Result):
    """Every quantity that was calculated again; a sequence of its rows.

    Agreement means that two calculations agree, not that a hang is safe. An aid to qualified
    persons; manufacturers' manuals, local codes and licensed engineers prevail.

    Attributes
    ----------
    rows : tuple of VerifiedRow
        One a quantity.

    Examples
    --------
    >>> import hangarc as ha
    >>> opinion = ha.verify(ha.answer(ha.demo.study(cabinets=4)))
    >>> opinion.differing, len(opinion.rows) > 50
    ((), True)
    """

    rows: tuple[VerifiedRow, ...]

    def _picture(self) -> str:
        from hangarc import _pictures

        share = [row.difference / row.allowed for row in self.rows if row.allowed > 0.0]
        return _pictures.agreement(np.asarray(share))

    def _columns(self) -> dict[str, Any]:
        return columns_of(self.rows)

    def _summary(self) -> list[tuple[str, Any]]:
        return [("found", self.line), ("differing", self.differing), ("rows", self.rows)]

    def __iter__(self) -> Iterator[VerifiedRow]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def __getitem__(self, index: int) -> VerifiedRow:
        return self.rows[index]

    @property
    def differing(self) -> tuple[VerifiedRow, ...]:
        """The rows whose difference is not explained."""
        return tuple(row for row in self.rows if not row.agrees)

    @property
    def line(self) -> str:
        """One line for a sheet."""
        count = len(self.differing)
        found = "all agree" if count == 0 else f"{count} DIFFER"
        return f"{len(self.rows)} figures calculated again by other routes: {found}"

    def __str__(self) -> str:
        """Give the table."""
        wide = max((len(row.quantity) for row in self.rows), default=0)
        head = f"{'':{wide}}  {'answer':>14} {'recomputed':>14} {'difference':>11} {'allowed':>9}"
        lines = [
            f"{row.quantity:{wide}}  {row.answer:14.7g} {row.recomputed:14.7g} "
            f"{row.difference:11.2e} {row.allowed:9.1e}{'' if row.agrees else '  DIFFERS'}"
            for row in self.rows
        ]
        return "\n".join([self.line, head, *lines])


@by_name
def verify(answer: Answer) -> Verification:
    """Calculate an answer's loads, closing, limits and levels again by independent routes.

    Bodies are placed by complex numbers from the *study's* hardware and the answer's pins; hoist
    loads follow from virtual work and one pick's tilt from the lowest centre of gravity; joint
    forces from one matrix of all bodies' equilibrium; the closing force from differences of the
    energy Σ m g z + T L, stop forces from the same matrix with the chain's pulls; the free hang
    from the energy made least joint by joint; the link by trying each; levels from a plain complex
    sum over points of every line element. Straight Python, slow: seconds to minutes.

    Not calculated again: the search (whether better pins exist), the closing path between free and
    closed, levels at seats that a floor or surface shades, all levels where other hangs
    sound beside or the hang is not at the origin, the straight hang's levels, the work
    plan.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` or `hangarc.evaluate` gave, or read back from its JSON.

    Returns
    -------
    Verification
        Rows with `quantity`, `answer`, `recomputed`, `difference`, `allowed`.

    Raises
    ------
    InputError
        `answer` is no `Answer`.

    Examples
    --------
    >>> import hangarc as ha
    >>> opinion = ha.verify(ha.answer(ha.demo.study(cabinets=4)))
    >>> all(row.agrees for row in opinion.rows)
    True
    """
    instance("answer", answer, Answer)
    table = _Table(answer)
    table.hardware()
    table.pose()
    table.hoists()
    table.joints()
    table.closing()
    table.shortening()
    table.limits()
    table.levels()
    return Verification(tuple(table.rows))


class _Table:
    """The rows as they come together."""

    def __init__(self, answer: Answer) -> None:
        self.given = answer
        self.rows: list[VerifiedRow] = []
        self.study: Study = answer.study
        count = len(answer.search.splays_deg) + 1
        # The study's hardware with the answer's pins: whatever else the answer says of it.
        self.cabinets = self.study.hang.cabinets[:count]
        self.angles_deg = joint_angles_deg(self.study.hang, answer.search.splays_deg.tolist())
        self.hang: Hang = dataclasses.replace(
            self.study.hang,
            cabinets=self.cabinets,
            splays_deg=answer.search.splays_deg.tolist(),
        )
        self.tilt_deg, self.top_m = answer.search.tilt_deg, answer.search.top_m
        self.placed = place(self.hang, self.angles_deg, self.tilt_deg, self.top_m)
        self.weight_n = self.placed.weight_n
        self.pull_n: list[float] = []

    def add(self, quantity: str, given: Any, recomputed: Any, allowed: Any) -> None:
        """One number, or the one of many whose difference is most of what is allowed."""
        a, b = (
            np.atleast_1d(np.asarray(math.nan if v is None else v, dtype=float))
            for v in (given, recomputed)
        )
        if a.shape != b.shape:
            self.add(f"{quantity}, count", a.size, b.size, 0.0)
            return
        if a.size == 0:
            return
        bounds = np.broadcast_to(allowed, a.shape)
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.where(a == b, 0.0, np.abs(a - b) / bounds)
        index = int(np.argmax(np.where(np.isnan(share), np.inf, share)))
        at = np.unravel_index(index, a.shape)
        if a.size > 1:
            quantity += f" ({', '.join(str(i) for i in at)} of {'×'.join(map(str, a.shape))})"
        one, other = float(a[at]), float(b[at])
        self.rows.append(VerifiedRow(quantity, one, other, one - other, float(bounds[at])))

    def hardware(self) -> None:
        """The answer is of the study's hardware, but for pins and gains."""
        hang = self.given.search.hang

        def bare(one: Hang) -> dict[str, Any]:
            fields = one.to_dict()
            fields["splays_deg"] = None
            for cabinet in fields["cabinets"]:
                for element in (cabinet["source"] or {"elements": []})["elements"]:
                    element["gain_db"] = None
            return fields

        given, asked = bare(hang), bare(self.hang)
        differing = [name for name in asked if given[name] != asked[name]]
        named = f" ({', '.join(differing)})" if differing else ""
        self.add(f"hardware unlike the study's, fields{named}", len(differing), 0, 0.0)
        self.add("pins unlike the hang's, deg", hang.splays_deg, self.hang.splays_deg, 0.0)
        wrong = sum(
            splay not in _positions(self.hang, index)
            for index, splay in enumerate(self.hang.splays_deg)
        )
        self.add("pins in no hole", wrong, 0, 0.0)

    def pose(self) -> None:
        """Places, mass and centre of gravity."""
        pose = self.given.pose
        axes = [math.degrees(cmath.phase(body.turn)) for body in self._cabinets()]
        hinges = [body.hinge for body in self._cabinets()]
        hinges.append(self._cabinets()[-1].lower_hinge)
        self.add("cabinet axis, deg", pose.axis_deg, axes, ANGLE_DEG)
        self.add("hinge place, m", pose.hinge_m, as_points(hinges), LENGTH_M)
        self.add("mass hung, kg", pose.mass_kg, self.placed.mass_kg, 1e-9 * self.placed.mass_kg)
        self.add("centre of gravity, m", pose.cg_m, as_points([self.placed.cg])[0], LENGTH_M)
        low = [*self.placed.corners, *self.placed.anchors[1:]]
        self.add("trim height, m", pose.trim_m, min(point.imag for point in low), LENGTH_M)
        if pose.chain_m is not None:
            self.add("chain anchor, m", pose.chain_m, as_points(self.placed.anchors), LENGTH_M)

    def _cabinets(self) -> list[Any]:
        return self.placed.bodies[1 : 1 + len(self.cabinets)]

    def _picks(self) -> list[complex]:
        frame = self.placed.bodies[0]
        z = self.hang.frame.pick_z_m
        return [frame.hinge + complex(x, z) * frame.turn for x in self.given.search.pick_x_m]

    def hoists(self) -> None:
        """Loads of the hoists, which of them are slack, and one pick's tilt."""
        picks = self._picks()
        pulls = forces.hoist_loads_n(self.placed, picks)
        slack = [pull < 0.0 for pull in pulls]
        if any(slack):
            pulls = [0.0 if loose else self.weight_n for loose in slack]
        self.pull_n = pulls
        hoists = self.given.hoists
        self.add("hoist load, N", hoists.load_n, pulls, FORCE_SHARE * self.weight_n)
        self.add("hoist slack, 0 or 1", hoists.slack, slack, 0.0)
        if len(picks) == 1:
            turn = forces.hanging_turn_deg(self.placed, picks[0])
            # The lowest place is flat: a ten-millionth of a turn is a rounding of its height.
            self.add("tilt on one pick, deg", self.tilt_deg, self.tilt_deg + turn, 1e-4)

    def joints(self) -> None:
        """Forces of a tension hang's joints."""
        joints = self.given.joints
        if joints is None:
            return
        link, hinge = forces.joint_forces(self.placed)
        self.add("rear link force, N", joints.rear_link_n, link, FORCE_SHARE * self.weight_n)
        self.add("hinge force, N", joints.hinge_force_n, hinge, FORCE_SHARE * self.weight_n)

    def closing(self) -> None:
        """Chain lengths, closing force, and stop forces at it."""
        found = self.given.closing
        if found is None:
            return
        length_m = forces.chain_length_m
        self.add("chain closed, m", found.chain_closed_m, length_m(self.placed), LENGTH_M)
        flat = joint_angles_deg(self.hang, [0.0] * len(self.hang.splays_deg))
        straight = place(self.hang, flat, self.tilt_deg)
        self.add("chain straight, m", found.chain_straight_m, length_m(straight), LENGTH_M)
        if len(self.given.search.pick_x_m) == 2 and found.slack_hoist == "none":
            angles = closing.free_angles_deg(self.hang, self.angles_deg, self.tilt_deg)
            free = place(self.hang, angles, self.tilt_deg)
            self.add("chain free, m", found.chain_free_m, length_m(free), 1e-6)
            self.add("joint angle free, deg", found.free_angle_deg, angles, 1e-5)
        if found.closing_force_n is None:
            return
        force_n = closing.closing_force_n(self.hang, self.angles_deg, self.tilt_deg)
        self.add("closing force, N", found.closing_force_n, force_n, 1e-6 * self.weight_n)
        pulls = forces.chain_pulls(self.placed, force_n)
        link, _ = forces.joint_forces(self.placed, pulls)
        self.add("stop force when closed, N", found.stop_force_n, -link, 1e-5 * self.weight_n)

    def shortening(self) -> None:
        """The best link, by trying each."""
        found, gear = self.given.shortening, self.hang.gear
        if found is None or gear is None or found.link is None:
            return
        free_m, closed_m = found.chain_free_m, found.chain_closed_m
        self.add("chain closed for the link, m", closed_m,
                 forces.chain_length_m(self.placed), LENGTH_M)  # fmt: skip
        if self.given.closing is not None:
            angles = closing.free_angles_deg(self.hang, self.angles_deg, self.tilt_deg)
            free = forces.chain_length_m(place(self.hang, angles, self.tilt_deg))
            self.add("chain free for the link, m", free_m, free, 1e-6)
        taken = np.arange(1, gear.links + 1) * gear.pitch_m
        spare = np.minimum(gear.hoist_max_m - (free_m - taken), closed_m - taken - gear.hoist_min_m)
        best = int(np.argmax(spare)) + 1
        self.add("link taken", found.link, best, 0.0)
        self.add("hoist on the closed hang, m", found.hoist_closed_m,
                 closed_m - best * gear.pitch_m, LENGTH_M)  # fmt: skip

    def limits(self) -> None:
        """Each part's stated limit and utilisation, and the forces of what hangs at rest."""
        factor = self.study.dynamic_factor
        hoist_n = self.study.hoist_mass_kg * self.study.hang.gravity_m_s2
        at_rest: dict[PartKey, float] = {("fly_frame", None): self.weight_n * factor}
        for number, pull in enumerate(self.pull_n):
            at_rest["pick", number] = pull * factor
            at_rest["hoist", number] = pull * factor
            at_rest["roof_point", number] = (pull + hoist_n) * factor
        if self.given.closing is None:
            link, hinge = forces.joint_forces(self.placed)
            for joint, (pull, (x, z)) in enumerate(zip(link, hinge, strict=True)):
                at_rest["hinge", joint] = math.hypot(x, z) * factor
                at_rest["rear_link" if pull >= 0.0 else "stop", joint] = abs(pull) * factor
        stated = _stated_limits(self.study, self.hang)
        for row in self.given.limits:
            key = row.part, row.number
            if key in stated:
                limit = stated[key]
                # Not stated on both sides is agreement; 0 stands for it here.
                self.add(f"{row.item}: limit, N", row.limit_n or 0.0, limit or 0.0, 0.0)
                if limit is not None:
                    use = row.force_n / limit
                    self.add(f"{row.item}: utilisation", row.utilisation, use, 1e-12 * (1.0 + use))
            if key in at_rest:
                own = at_rest[key]
                # While closing it may carry more, never less.
                more = self.given.closing is not None and row.force_n > own
                expected = row.force_n if more else own
                allowed = FORCE_SHARE * self.weight_n * factor
                self.add(f"{row.item}: force, N", row.force_n, expected, allowed)
        listed = {(row.part, row.number) for row in self.given.limits}
        missing = [part_words(*key) for key in at_rest if key not in listed]
        named = f" ({', '.join(missing)})" if missing else ""
        self.add(f"loaded parts not in the table of limits{named}", len(missing), 0, 0.0)

    def levels(self) -> None:
        """Band levels at every seat, their mean over the bands, and how uneven they are."""
        seats, goals = self.given.seats, self.study.goals
        if self.study.beside or self.study.twin is not None or self.study.site != Site():
            # The seats hear other hangs too, or this one from elsewhere: not known here.
            return
        # The answer's gains belong to its sound alone.
        sounding = dataclasses.replace(
            self.hang,
            cabinets=[
                dataclasses.replace(own, source=found.source)
                for own, found in zip(self.cabinets, self.given.search.hang.cabinets, strict=True)
            ],
        )
        each = self.study.lines_per_band
        lines = band_lines_hz(goals.lowest_hz, goals.highest_hz, each)
        p = sound.pressure(sounding, self.placed, seats.position_m, lines, self.study.air)
        energy = (np.abs(p) ** 2).reshape(-1, each, len(seats.position_m)).mean(axis=1)
        band_db, level_db = 10.0 * np.log10(energy), 10.0 * np.log10(energy.mean(axis=0))
        free, band_left_out_db, left_out_db = self._in_the_open(sounding)
        given_db, allowed_db = seats.band_level_db[:, free], LEVEL_DB + band_left_out_db[:, free]
        self.add("band level at a seat, dB", given_db, band_db[:, free], allowed_db)
        allowed_db = LEVEL_DB + left_out_db[free]
        self.add("level at a seat, dB", seats.level_db[free], level_db[free], allowed_db)
        level_db = np.where(free, level_db, seats.level_db)
        weight = np.array(seats.weight)
        mean = weight @ level_db / weight.sum()
        spread = math.sqrt(weight @ (level_db - mean) ** 2 / weight.sum())
        self.add("spread of the seats' levels, dB", seats.evenness_db, spread, SPREAD_DB)

    def _in_the_open(self, sounding: Hang) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Seats at which floors and surfaces change nothing, as the core sees it.

        Beside them what the core's far field leaves out of levels there, by band and of all.
        """
        search, seats = self.given.search, self.given.seats
        placed = Placed(hang=sounding, tilt_deg=search.tilt_deg, top_m=search.top_m)
        rig = Rig(hangs=[placed])
        fine = Rig(hangs=[placed], far_field_tolerance=NEXT_TO_NOTHING)
        past, free, exact = (
            point_levels(
                rig,
                seats.position_m,
                air=self.study.air,
                lowest_hz=self.study.goals.lowest_hz,
                highest_hz=self.study.goals.highest_hz,
                lines_per_band=self.study.lines_per_band,
                venue=venue,
            )
            for rig, venue in ((rig, self.study.venue), (rig, None), (fine, None))
        )
        same: np.ndarray = (past.band_level_db == free.band_level_db).all(axis=0)
        band_left_out_db = np.abs(free.band_level_db - exact.band_level_db)
        return same, band_left_out_db, np.abs(free.level_db - exact.level_db)


def _positions(hang: Hang, index: int) -> Sequence[float]:
    positions: Any = hang.cabinets[index].splay_positions_deg
    found: Sequence[float] = positions[hang.rigging]
    return found


def _stated_limits(study: Study, hang: Hang) -> dict[PartKey, float | None]:
    """What the study's hardware states, by part."""
    frame: dict[str, Any] = dict(hang.frame.limits)
    gear: dict[str, Any] = {} if hang.gear is None else dict(hang.gear.limits)
    bottom: dict[str, Any] = {} if hang.bottom is None else dict(hang.bottom.limits)
    stated: dict[PartKey, float | None] = {
        ("fly_frame", None): frame.get("total_n"),
        ("upper_anchor", None): frame.get("chain_n"),
        ("lower_anchor", None): bottom.get("chain_n"),
        ("closing_chain", None): gear.get("chain_n"),
        ("lever_hoist", None): gear.get("hoist_n"),
    }
    for number in (0, 1):
        stated["pick", number] = frame.get("pick_n")
        stated["hoist", number] = study.hoist_limit_n
        stated["roof_point", number] = study.roof_point_limit_n
    for joint in range(len(hang.cabinets) + 1):
        above: dict[str, Any] = frame if joint == 0 else dict(hang.cabinets[joint - 1].limits)
        for part in JOINT:
            stated[part, joint] = above.get(f"{part}_n")
    return stated
