"""Parts against their stated limits, like joints in one row."""

from __future__ import annotations

from collections.abc import Sequence

from hangarc._words import JOINT_PARTS
from hangarc.report.blocks import Table, Text, halved
from hangarc.report.figures import Rich, plain, ranges
from hangarc.report.telling import Telling, joined
from hangarc.search.result import Constraint, Margin
from hangarc.statics.limits import LimitRow


def part_words(tell: Telling, part: str, number: int | None) -> str:
    """Name a part; joints keep their numbers, all else counts from 1."""
    if number is None:
        return tell.word(f"part.{part}")
    if part == "bridle_leg":
        hoists = tell.answer.work.hoists
        legs = [leg for hoist in hoists for leg in hoist.legs if leg.length_m is not None]
        return plain(tell.say("part.bridle_leg", name=legs[number].name))
    shown = number if part in JOINT_PARTS else number + 1
    return plain(tell.say(f"part.{part}", number=str(shown)))


def constraint_words(tell: Telling, missed: Constraint | Margin) -> str:
    """Name a hard constraint of the search."""
    if missed.part is not None:
        return part_words(tell, missed.part, missed.number)
    number = "" if missed.number is None else str(missed.number + 1)
    return plain(tell.say(f"constraint.{missed.kind}", number=number))


def case_words(tell: Telling, row: LimitRow) -> str:
    """Name the state in which a part is loaded most, and whether the dynamic factor is in it."""
    state = tell.word(f"state.{row.state}")
    if tell.answer.study.dynamic_factor == 1.0:
        return state
    return f"{state}; {tell.word(f'factor.{row.factor_use}')}"


def worst_of_each_kind(limits: Sequence[LimitRow]) -> list[tuple[int, list[int]]]:
    """Put joints with the same kind of force and the same limit into one row, the most loaded.

    Gives the index of that row, and the joints it stands for.
    """
    kinds: dict[tuple[str, int | None, float | None], list[int]] = {}
    for index, row in enumerate(limits):
        number = None if row.part in JOINT_PARTS else row.number
        kinds.setdefault((row.part, number, row.limit_n), []).append(index)
    gathered = []
    for rows in kinds.values():
        joints = [limits[i].number for i in rows if limits[i].part in JOINT_PARTS]
        worst = max(rows, key=lambda index: limits[index].force_n)
        gathered.append((worst, [joint for joint in joints if joint is not None]))
    return gathered


def limit_table(tell: Telling) -> Table:
    """The table of limits."""
    rows: list[list[Rich]] = []
    for index, joints in worst_of_each_kind(tell.answer.limits):
        row = tell.answer.limits[index]
        name, case = part_words(tell, row.part, row.number), case_words(tell, row)
        if len(joints) > 1:
            name = plain(tell.say(f"parts.{row.part}", joints=ranges(joints)))
            case = plain(tell.say("limits.joint_case", joint=str(row.number), case=case))
        stated, none = (tell.word("sheet.not_stated"),), (tell.word("sheet.none"),)
        path = f"limits[{index}]"
        rows.append(
            [
                (name,),
                tell.cell("force", f"{path}.force_n"),
                stated if row.limit_n is None else tell.cell("force", f"{path}.limit_n"),
                none if row.utilisation is None else tell.cell("percent", f"{path}.utilisation"),
                (case,),
            ]
        )
    columns: list[Rich] = [
        (tell.word(f"limits.{name}"),) for name in ("part", "force", "limit", "used", "case")
    ]
    return Table(tell.word("limits.caption"), columns, rows, figures=(1, 2, 3))


def limit_text(tell: Telling) -> Text:
    """What the table of limits means."""
    held = tell.say("above.no_factor")
    if tell.answer.study.dynamic_factor != 1.0:
        held = tell.say("above.factor", factor=tell.fig("factor", "study.dynamic_factor"))
    job = tell.answer.job
    wind = tell.say("limits.no_wind")
    if job.wind_speed_m_s is not None:
        wind = tell.say("limits.wind", speed=tell.fig("speed", "job.wind_speed_m_s"))
    step = tell.say("limits.no_step")
    if job.out_of_step_m is not None:
        step = tell.say("limits.step", step=tell.fig("length", "job.out_of_step_m"))
    told = joined([tell.say("limits.text"), held, wind, step], " ")
    return Text([told], title=tell.word("limits.head"))


def joint_table(tell: Telling) -> Table | None:
    """Forces at the joints, in two halves beside each other; of a closed hang pulled on."""
    answer = tell.answer
    if answer.closing is None:
        path, rear, head = "joints", "rear_link_n", "joints.link"
        caption = tell.word("joints.rest")
    elif answer.closing.ended == "closed" and answer.closing.at_preload is not None:
        path, rear, head = "closing.at_preload", "stop_force_n", "joints.stop"
        caption = tell.word("joints.closed")
    else:
        return None
    rows: list[list[Rich]] = [
        [
            (str(joint),),
            tell.cell("force", f"work.hinge_n[{joint}]"),
            tell.spread("signed_force", f"{path}.{rear}[{joint}]"),
        ]
        for joint in range(len(tell.figures.value(f"{path}.{rear}")))
    ]
    columns: list[Rich] = [(tell.word(name),) for name in ("joints.joint", "joints.hinge", head)]
    return halved(Table(caption, columns, rows, figures=(0, 1, 2)))
