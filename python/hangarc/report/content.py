"""What a hang sheet says, apart from how it looks: titled sections of sentences and tables.

Cabinets count from 1 at the top; joint j lies below cabinet j, joint 0 below the fly frame.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from hangarc._core import __version__
from hangarc.answers import Answer
from hangarc.report.figures import angle, kilo, length, level, percent, ranges
from hangarc.seating import seat_counts
from hangarc.statics import LimitRow
from hangarc.words import JOINT_PARTS

CAUTION = (
    "This sheet is an aid to qualified persons. It does not declare anything safe. The "
    "manufacturers' manuals, local codes and licensed engineers prevail. Check every figure "
    "before lifting."
)

NOT_STATED = "not stated"


@dataclasses.dataclass(frozen=True)
class Table:
    """A caption, one heading a column, and rows of text; the first column names the row."""

    caption: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    # Columns of figures are set to the right.
    figures: Sequence[int] = ()


@dataclasses.dataclass(frozen=True)
class Section:
    """A titled part of the sheet: sentences, then tables."""

    title: str
    sentences: Sequence[str] = ()
    tables: Sequence[Table] = ()


def title(answer: Answer) -> str:
    """Give the sheet's title."""
    return f"Hang sheet: {answer.study.name}"


def sections(answer: Answer) -> list[Section]:
    """Give everything the sheet says, in the order a crew needs it."""
    return [
        _summary(answer),
        _building(answer),
        _lifting(answer),
        _rear(answer),
        _joints(answer),
        _limits(answer),
        _seats(answer),
        _assumptions(answer),
    ]


def _summary(answer: Answer) -> Section:
    search, closing = answer.search, answer.closing
    facts = [
        ("Hang", f"{len(answer.hang.cabinets)} cabinets, {answer.hang.rigging} rigging"),
        ("Total mass", f"{answer.pose.mass_kg:.1f} kg, fly frame included, hoists not"),
        ("Tilt of the fly frame", angle(search.tilt_deg, sign=True)),
        ("Top hinge of cabinet 1", f"{length(search.top_m)} above the floor"),
        ("Trim height, lowest point", f"{length(answer.pose.trim_m)} above the floor"),
        ("Picks", _pick_words(answer)),
        ("Hoist loads", ", ".join(kilo(load) for load in answer.hoists.load_n)),
    ]
    if closing is not None:
        facts.append(("Closing force", _closing_words(answer)))
    greatest = max((row for row in answer.limits if row.utilisation is not None),
                   key=lambda row: row.utilisation or 0.0, default=None)  # fmt: skip
    if greatest is not None:
        used = f"{percent(greatest.utilisation)}: {greatest.item}, {greatest.case}"
        facts.append(("Greatest use of a stated limit", used))
    facts.append(
        (
            "Unevenness over seats and bands",
            f"{level(search.unevenness_db)}, best straight hang "
            f"{level(search.straight_sound.unevenness_db)}",
        )
    )
    facts.append(("Search", f"{search.status}, {search.evaluations} hangs computed"))
    return Section("In short", _unmet(answer), [Table("Main figures", ("What", "Value"), facts)])


def _unmet(answer: Answer) -> list[str]:
    """What speaks against hanging it like this, one sentence each."""
    missed = [margin for margin in answer.search.margins if margin.margin < 0.0]
    unmet = [f"{m.constraint} is {m.value:.4g}, its bound {m.bound:.4g}" for m in missed]
    known = {(margin.part, margin.number) for margin in missed if margin.part is not None}
    unmet += [
        f"{row.item}: {percent(row.utilisation)} of the stated limit, {row.case}"
        for row in answer.limits
        if (row.utilisation or 0.0) > 1.0 and (row.part, row.number) not in known
    ]
    unmet += [
        f"hoist {number} is slack" for number, slack in enumerate(answer.hoists.slack, 1) if slack
    ]
    closing, chain = answer.closing, answer.shortening
    if closing is not None and closing.ended != "closed":
        unmet.append(f"the rear does not close: {closing.ended}")
    if closing is not None and closing.slack_hoist != "none":
        unmet.append(f"a hoist goes slack while the rear closes: {closing.slack_hoist}")
    if closing is not None and closing.closing_force_n is None:
        unmet.append(f"nothing holds the rear closed: {closing.closed_state}")
    elif closing is not None and closing.clutch not in ("closes", NOT_STATED):
        unmet.append(f"the slip clutch {closing.clutch}")
    if chain is not None and chain.link is None:
        unmet.append(f"no link of the closing chain fits: {chain.ended}")
    return [f"DO NOT HANG LIKE THIS: {reason}." for reason in unmet]


def _pick_words(answer: Answer) -> str:
    holes = list(answer.hang.frame.pick_x_m)
    words = [f"hole {holes.index(x) + 1} (x {x:+.3f} m)" for x in answer.search.pick_x_m.tolist()]
    return " and ".join(words)


def _closing_words(answer: Answer) -> str:
    closing = answer.closing
    if closing is None or closing.closing_force_n is None:
        return "none: " + (closing.closed_state if closing else "no chain")
    return kilo(closing.closing_force_n)


def _building(answer: Answer) -> Section:
    hang = answer.hang
    rows = [
        (
            "0",
            "fly frame",
            f"1 {hang.cabinets[0].name}",
            f"fixed, {angle(hang.frame_splay_deg)}",
            "",
            *_aim(answer, 0),
        )
    ]
    for joint, splay_deg in enumerate(hang.splays_deg, start=1):
        upper, lower = hang.cabinets[joint - 1], hang.cabinets[joint]
        positions = list(upper.splay_positions_deg[hang.rigging])  # type: ignore[call-overload]
        nearest = int(np.argmin(np.abs(np.subtract(positions, splay_deg))))
        rows.append(
            (
                str(joint),
                f"{joint} {upper.name}",
                f"{joint + 1} {lower.name}",
                angle(splay_deg),
                f"{nearest + 1} of {len(positions)}",
                *_aim(answer, joint),
            )
        )
    if hang.bottom is not None:
        count = len(hang.cabinets)
        rows.append(
            (
                str(count),
                f"{count} {hang.cabinets[-1].name}",
                "bottom frame",
                f"fixed, {angle(hang.bottom.fixed_splay_deg)}",
                "",
                "",
                "",
                "",
            )
        )
    return Section(
        "Build, top to bottom",
        ["Joints in the order of building; how a joint is pinned is for the manual to say."],
        [
            Table(
                "Joints in building order",
                ("Joint", "Above", "Below", "Pin at", "Position", "Axis below", "Throw", "Meets"),
                rows,
                figures=(0, 3, 4, 5, 6),
            )
        ],
    )


def _aim(answer: Answer, cabinet: int) -> tuple[str, str, str]:
    axis = angle(answer.pose.axis_deg[cabinet], sign=True)
    throw = answer.throws[cabinet]
    if throw is None:
        return axis, "", "no seats"
    return axis, f"{throw.length_m:.1f} m", answer.study.venue.areas[throw.area].name


def _lifting(answer: Answer) -> Section:
    study, hoists = answer.study, answer.hoists
    holes = list(answer.hang.frame.pick_x_m)
    rows = []
    picks = zip(answer.search.pick_x_m.tolist(), hoists.load_n, hoists.slack, strict=True)
    for number, (x, load_n, slack) in enumerate(picks, start=1):
        rows.append(
            (
                str(number),
                str(holes.index(x) + 1),
                f"{x:+.3f} m",
                f"{answer.pose.mass_kg * load_n / hoists.load_n.sum():.0f} kg",
                kilo(load_n),
                "SLACK" if slack else "loaded",
            )
        )
    low, high = hoists.tilt_range_deg
    reach = (
        f"Both hoists stay loaded from {angle(low, sign=True)} to {angle(high, sign=True)} tilt."
        if len(rows) == 2
        else "On one hoist the hang turns until its centre of gravity is plumb under the pick."
    )
    trim = (
        f"Lift until the top hinge of cabinet 1 is at {length(answer.search.top_m)}; the lowest "
        f"point is then at {length(answer.pose.trim_m)}, {length(study.min_trim_m)} or more asked."
    )
    columns = ("Hoist", "Hole", "Hole at", "Carries", "Load", "State")
    table = Table("Hoists", columns, rows, figures=(0, 1, 2, 3, 4))
    return Section("Lift", [trim, reach], [table])


def _rear(answer: Answer) -> Section:
    closing = answer.closing
    if closing is None:
        return Section("Rear links", ["Rear links are two-sided; no chain closes this hang."])
    hang = answer.hang
    facts = [
        ("Chain force to close", _closing_words(answer)),
        ("State when closed", closing.closed_state),
        ("Greatest chain force on the way", kilo(closing.peak_force_n)),
        ("Chain length free, closed", f"{length(closing.chain_free_m)}, "
         f"{length(closing.chain_closed_m)}"),
    ]  # fmt: skip
    if closing.governing_joint is not None:
        facts.insert(1, ("Joint that asks for it", str(closing.governing_joint)))
    clutch = hang.gear.clutch_n if hang.gear else None
    if clutch is None:
        facts.append(("Slip clutch", NOT_STATED))
    else:
        facts.append(("Slip clutch", f"{kilo(clutch[0])} to {kilo(clutch[1])}: {closing.clutch}"))
    facts += _chain_facts(answer)
    facts.append(("Joints close in the order", ", ".join(map(str, closing.order))))
    sentences = []
    chain = answer.shortening
    closes = closing.ended == "closed" and closing.closing_force_n is not None
    if chain is not None and chain.link is not None and closes:
        sentences.append(
            f"Shorten the chain to {chain.link} links, draw the lever hoist out to "
            f"{length(chain.hoist_open_m)} and hook it in. Pull until the hoist is "
            f"{length(chain.hoist_closed_m)} long; the last joint closes at "
            f"{kilo(closing.closing_force_n)}."
        )
    free = [event.joint for event in closing.events if event.contact == "on stop when free"]
    if free:
        sentences.append(f"Already on their stops before the chain pulls: joints {ranges(free)}.")
    returns = [event.joint for event in closing.events if event.contact == "leaves stop"]
    if returns:
        sentences.append(
            f"These leave their stops on the way and return: joints {ranges(returns)}."
        )
    for snap in closing.snaps:
        sentences.append(
            f"SNAP at {length(snap.chain_m)} of chain: joints turn by up to "
            f"{angle(snap.greatest_turn_deg)} at once. Keep clear of the rear."
        )
    return Section(
        "Close the rear", sentences, [Table("Chain and hoist", ("What", "Value"), facts)]
    )


def _chain_facts(answer: Answer) -> list[tuple[str, str]]:
    found = answer.shortening
    if found is None:
        return [("Shortening clutch", "no closing gear stated")]
    if found.link is None:
        return [("Shortening clutch", f"NO LINK FITS: {found.ended}")]
    return [
        ("Links in the load path", f"{found.link} (also fit: {ranges(found.links_feasible)})"),
        ("Links left slack", str(found.slack_links)),
        (
            "Lever hoist open, closed",
            f"{length(found.hoist_open_m)}, {length(found.hoist_closed_m)}",
        ),
        (
            "Stroke left open, closed",
            f"{length(found.spare_open_m)}, {length(found.spare_closed_m)}",
        ),
    ]


def _joints(answer: Answer) -> Section:
    if answer.closing is not None:
        forces = answer.closing.at_closing
        if forces is None:
            return Section("Forces at the joints", ["No closed state, so no forces to give."])
        hinge, rear, rear_name = forces.hinge_force_n, forces.stop_force_n, "Rear stop, pressed"
        when = "Closed, at the closing force. A negative stop force is tension in the rear link."
    elif answer.joints is not None:
        hinge, rear = answer.joints.hinge_force_n, answer.joints.rear_link_n
        rear_name = "Rear link, pulled"
        when = "Hanging at rest. A negative link force is compression."
    else:
        raise AssertionError("a hang is of tension or compression kind")
    rows = [
        (str(joint), kilo(float(np.hypot(*hinge[joint]))), kilo(rear[joint], sign=True))
        for joint in range(len(rear))
    ]
    columns = ("Joint", "Front hinge", rear_name)
    return Section(
        "Forces at the joints", [when], [Table("Joints", columns, rows, figures=(0, 1, 2))]
    )


def _limits(answer: Answer) -> Section:
    sentences = [
        "Utilisation is force over the stated limit. Where no limit is stated, nothing is said "
        "about the part."
    ]
    columns = ("Part", "Force", "Stated limit", "Utilisation", "Governing case")
    factored = answer.study.dynamic_factor != 1.0
    rows = [_limit_cells(name, row, factored) for name, row in worst_of_each_kind(answer.limits)]
    table = Table("Limits; of like joints the most loaded", columns, rows, figures=(1, 2, 3))
    return Section("Limits", sentences, [table])


def _limit_cells(name: str, row: LimitRow, factored: bool) -> tuple[str, ...]:
    stated = NOT_STATED if row.limit_n is None else kilo(row.limit_n)
    used = NOT_STATED if row.utilisation is None else percent(row.utilisation)
    case = f"{row.case}; {row.factor_note}" if factored else row.case
    return name, kilo(row.force_n), stated, used, case


def worst_of_each_kind(limits: Sequence[LimitRow]) -> list[tuple[str, LimitRow]]:
    """Put joints with the same kind of force and the same limit into one row, the most loaded.

    The case of such a row names the joint.
    """

    def kind(row: LimitRow) -> tuple[str, int | None, float | None]:
        return row.part, None if row.part in JOINT_PARTS else row.number, row.limit_n

    groups: dict[tuple[str, int | None, float | None], list[LimitRow]] = {}
    for row in limits:
        groups.setdefault(kind(row), []).append(row)
    gathered = []
    for like in groups.values():
        worst = max(like, key=lambda row: row.force_n)
        name = worst.item
        if len(like) > 1:
            joints = [row.number for row in like if row.number is not None]
            name = f"joints {ranges(joints)}, {JOINT_PARTS[worst.part]}"
            worst = dataclasses.replace(worst, case=f"joint {worst.number}, {worst.case}")
        gathered.append((name, worst))
    return gathered


def _seats(answer: Answer) -> Section:
    venue, search = answer.study.venue, answer.search
    sentences = [
        f"Unevenness {level(search.unevenness_db)} at {angle(search.tilt_deg, sign=True)} and "
        f"{length(search.top_m)}; the best straight hang gives "
        f"{level(search.straight_sound.unevenness_db)} at "
        f"{angle(search.straight_tilt_deg, sign=True)} and "
        f"{length(search.straight_top_m)}. Smaller is more even.",
        "Levels are of the direct sound in the goals' third octaves at equal drive, over "
        "the level of one cabinet on its axis at 1 m.",
    ]
    counts = seat_counts(venue)
    rows = [
        (
            area.name,
            str(count),
            level(after.mean_db),
            f"{after.least_db:.1f} to {level(after.greatest_db)}",
            level(after.evenness_db),
            level(before.mean_db),
            level(before.evenness_db),
        )
        for area, count, after, before in zip(
            venue.areas, counts, answer.areas, answer.straight_areas, strict=True
        )
    ]
    columns = (
        "Area",
        "Seats",
        "Mean",
        "Least to greatest",
        "Evenness",
        "Straight: mean",
        "evenness",
    )
    table = Table("Areas", columns, rows, figures=(1, 2, 3, 4, 5, 6))
    return Section(f"At the {sum(counts)} seats of {venue.name}", sentences, [table])


def _assumptions(answer: Answer) -> Section:
    study, air = answer.study, answer.study.air
    factor = (
        "no dynamic factor (1.0)"
        if study.dynamic_factor == 1.0
        else f"dynamic factor {study.dynamic_factor:g} on all weights while hoists start and stop"
    )
    return Section(
        "Assumptions",
        [
            f"Static: rigid bodies at rest in one vertical plane, {factor}, no wind, hoists plumb.",
            "g = 9.80665 m/s² (ISO 80000-3).",
            f"Hoist and chain self weight: {study.hoist_mass_kg:g} kg each, on the roof points "
            "only. The closing chain and lever hoist weigh nothing.",
            f"Air: {air.temperature_c:g} °C, {air.humidity_percent:g} % relative humidity, "
            f"{air.pressure_kpa:g} kPa, at rest; absorption by ISO 9613-1.",
            "Sound: direct sound only; nothing shades or reflects it.",
            f"hangarc {__version__}.",
        ],
    )
