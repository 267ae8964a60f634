"""What hangs from where, and what the roof carries."""

from __future__ import annotations

from hangarc.report.blocks import Block, Table, Text
from hangarc.report.figures import Rich
from hangarc.report.limits import case_words
from hangarc.report.roof import greatest_row
from hangarc.report.telling import Telling, joined


def above(tell: Telling) -> list[Block]:
    """Hoists, roof points and what the hoists read with the rear open."""
    return [_hoist_table(tell), *_point_table(tell), Text(_notes(tell))]


def _place(tell: Telling, path: str) -> Rich:
    return joined((tell.cell("place", f"{path}[{axis}]") for axis in range(3)), ", ")


def _hoist_table(tell: Telling) -> Table:
    """Each hoist's hook and its place on the roof: at rest, with the factor, and the greatest."""
    factored = tell.answer.study.dynamic_factor != 1.0
    names: list[Rich] = [(tell.word(f"above.{name}"),) for name in ("hoist", "hole", "at", "rest")]
    if factored:
        names.append(tell.say("above.factored", factor=tell.fig("factor", "study.dynamic_factor")))
    names += [(tell.word("above.greatest"),), (tell.word("above.case"),)]
    rows: list[list[Rich]] = []
    for index in range(len(tell.answer.work.hoists)):
        path = f"work.hoists[{index}]"
        number, hole = (tell.cell("count", f"{path}.{name}") for name in ("number", "hole"))
        place, none = _place(tell, f"{path}.place_m"), ("",)
        for part, word, load, where in (
            ("hoist", "on_hook", "load_n", (hole, place)),
            ("roof_point", "on_roof", "roof_n", (none, none)),
        ):
            row: list[Rich] = [tell.say(f"above.{word}", number=number), *where]
            row.append(tell.spread("load", f"{path}.{load}"))
            row += [tell.cell("load", f"{path}.factored_{load}")] if factored else []
            rows.append([*row, *_greatest(tell, part, index)])
    return Table(tell.word("above.caption"), names, rows, figures=tuple(range(2, len(names) - 1)))


def _greatest(tell: Telling, part: str, index: int) -> list[Rich]:
    """The greatest load of all states, and the state, from the table of limits."""
    place, row = greatest_row(tell.answer, part, index)
    return [tell.cell("load", f"limits[{place}].force_n"), (case_words(tell, row),)]


def _point_table(tell: Telling) -> list[Block]:
    rows: list[list[Rich]] = []
    for index, hoist in enumerate(tell.answer.work.hoists):
        for place, leg in enumerate(hoist.legs):
            path = f"work.hoists[{index}].legs[{place}]"
            length: Rich = (tell.word("above.plumb"),)
            if leg.length_m is not None:
                length = tell.cell("length", f"{path}.length_m")
            rows.append(
                [
                    (leg.name,),
                    tell.cell("count", f"work.hoists[{index}].number"),
                    _place(tell, f"{path}.place_m"),
                    length,
                    tell.cell("force", f"{path}.force_n"),
                    tell.cell("load", f"{path}.vertical_n"),
                    tell.cell("force", f"{path}.horizontal_n"),
                ]
            )
    if not rows:
        return []
    columns: list[Rich] = [
        (tell.word(f"above.{name}"),)
        for name in ("point", "hoist", "point_at", "leg", "pull", "vertical", "horizontal")
    ]
    return [Table(tell.word("above.points"), columns, rows, figures=(2, 3, 4, 5, 6))]


def _notes(tell: Telling) -> list[Rich]:
    answer = tell.answer
    own = list(tell.say("above.own", mass=tell.fig("mass", "study.hoist_mass_kg")))
    if answer.job.above_kg:
        parts = [
            tell.say("above.own_part", name=name, mass=tell.fig("mass", f"job.above_kg[{name}]"))
            for name in answer.job.above_kg
        ]
        own += tell.say("above.own_parts", parts=joined(parts))
    else:
        own.append(tell.word("above.own_end"))
    notes: list[Rich] = [tuple(own)]
    if not answer.job.suspensions:
        notes.append(tell.say("above.not_stated"))
    for index, hoist in enumerate(answer.work.hoists):
        if hoist.off_plumb_m >= 0.005:
            notes.append(
                tell.say(
                    "above.off_plumb",
                    number=tell.fig("count", f"work.hoists[{index}].number"),
                    off=tell.fig("length", f"work.hoists[{index}].off_plumb_m"),
                )
            )
    if len(answer.work.hoists) == 2:
        low, high = (tell.fig("tilt", f"hoists.tilt_range_deg[{end}]") for end in (0, 1))
        notes.append(tell.say("above.reach", low=low, high=high))
        return [*_nearly_slack(tell), joined(notes, " ")]
    return [joined(notes, " ")]


def _nearly_slack(tell: Telling) -> list[Rich]:
    """A hoist that goes slack within the tolerance of tilt."""
    trim, ends_deg = tell.answer.work.trim, tell.answer.hoists.tilt_range_deg
    notes = []
    for end, end_deg in enumerate(ends_deg):
        if abs(end_deg - trim.tilt_deg) <= trim.tilt_tolerance_deg:
            number = 1 + int(trim.hoist_load_n.argmin())
            tilt = tell.fig("tilt", f"hoists.tilt_range_deg[{end}]")
            notes.append(tell.say("above.nearly_slack", number=number, tilt=tilt))
    return notes
