"""What a hang sheet says, apart from how it looks: two pages for the crew, one about the sound.

Cabinets count from 1 at the top; joint j lies below cabinet j, joint 0 below the fly frame.
"""

from __future__ import annotations

from itertools import groupby

from hangarc._answers import Answer
from hangarc._core import __version__
from hangarc._keywords import by_name
from hangarc._words import LanguageCode, Units
from hangarc.report.blocks import Beside, Block, Facts, Page, PictureAt, Sheet, SignOff, Text
from hangarc.report.figures import Rich, plain
from hangarc.report.limits import (
    case_words,
    joint_table,
    limit_table,
    limit_text,
    part_words,
)
from hangarc.report.loads import above
from hangarc.report.objections import objections, remedies, sentences
from hangarc.report.sound import sound
from hangarc.report.spread import stated
from hangarc.report.steps import Steps, closing_table, reading_table
from hangarc.report.telling import Telling, joined
from hangarc.report.wording import Words
from hangarc.second_opinion import Verification
from hangarc.uncertainty import Uncertainty

# In English; `compose` takes it from the catalogue of its language.
CAUTION = Words("en").word("sheet.caution")


# Steps of building and closing that a page has room for, in the longest language.
MOST_STEPS_ON_ONE_PAGE = 9


@by_name
def title(answer: Answer, *, language: LanguageCode = "en") -> str:
    """Give the sheet's title.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.report.title(ha.evaluate(ha.demo.study(cabinets=4)), language="de")
    'Hängeblatt: Demo hang (demo data)'
    """
    return plain(Words(language).say("sheet.title", name=answer.study.name))


@by_name
def compose(
    answer: Answer,
    *,
    units: Units = "metric",
    language: LanguageCode = "en",
    opinion: Verification | None = None,
    uncertainty: Uncertainty | None = None,
    readings_file: str = "readings.csv",
) -> Sheet:
    """Put together everything the sheet says, in the order a crew needs it.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.
    units : {"metric", "tonnes", "us"}
        kg with kN, t with kN, or lb; m, or ft and in.
    language : str
        One of `languages()`.
    opinion : Verification, optional
        What `hangarc.verify` gave of the answer: a line on the sheet, or a reason not to hang.
    uncertainty : Uncertainty, optional
        What `hangarc.uncertainty.uncertainty_of` gave of the answer: ± beside hoist loads, closing
        force, stop forces, tilt, trim and levels.
    readings_file : str
        Name of the form for the readings.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        Other units, or a language without a catalogue.

    Examples
    --------
    >>> import hangarc as ha
    >>> sheet = ha.report.compose(ha.evaluate(ha.demo.study(cabinets=4)), units="us")
    >>> type(sheet).__name__
    'Sheet'
    """
    tell = Telling(answer, units, language, opinion, readings_file, uncertainty)
    reasons = objections(tell)
    crew = _stopped(tell, reasons) if reasons else _crew(tell)
    head = running(tell, answer.study.name)
    return Sheet(
        language=language,
        title=title(answer, language=language),
        running=f"{tell.word('stop.head')} · {head}" if reasons else head,
        caution_head=tell.word("sheet.caution_head"),
        caution=tell.word("sheet.caution"),
        pages=[*crew, Page(tell.word("page.sound"), [*sound(tell), assumed(tell, sound=True)])],
        read=tell.word("read.head"),
        page_words=tell.word("sheet.page"),
        by_hand=tell.word("sheet.by_hand"),
    )


def running(tell: Telling, name: str) -> str:
    """What stands at the head of every page, after a name."""
    job = tell.answer.job
    parts = [name, job.project]
    if name == tell.answer.study.name:
        parts += [job.hang, tell.word(f"side.{job.side}") if job.side else ""]
    if job.revision:
        parts.append(f"{tell.word('who.revision')} {job.revision}")
    return " · ".join(part for part in [*parts, tell.figures.date(job.date)] if part)


def _crew(tell: Telling) -> list[Page]:
    steps = Steps(tell)
    building, closing = steps.building(), steps.closing()
    first: list[Block] = [_who(tell), _counting(tell)]
    column, plan = PictureAt("column"), PictureAt("plan")
    table = [closing_table(tell)] if closing else []
    check = Beside(steps.lifting(), [reading_table(tell)], 0.5)
    if closing and len(building) + len(closing) > MOST_STEPS_ON_ONE_PAGE:
        return [
            Page(tell.word("page.build_only"), [*first, Beside([column, plan], building, 0.31)]),
            Page(tell.word("page.close_lift"), [Beside(table, closing, 0.31), check]),
            Page(tell.word("page.loads"), _loads(tell, sign=True)),
        ]
    first.append(Beside([column, *table, plan], [*building, *closing], 0.31))
    return [
        Page(tell.word("page.build" if closing else "page.build_only"), first),
        Page(
            tell.word("page.lift" if closing else "page.check"), [check, *_loads(tell, sign=True)]
        ),
    ]


def _stopped(tell: Telling, reasons: list[Rich]) -> list[Page]:
    """Why the hang is not to be hung; no steps to follow by mistake."""
    loud = Text([*sentences(tell, reasons), tell.say("stop.no_steps")],
                title=tell.word("stop.head"), loud=True)  # fmt: skip
    blocks: list[Block] = [loud]
    helps = remedies(tell)
    if helps:
        blocks.append(Text(helps, title=tell.word("stop.helps")))
    pictures = [PictureAt("column"), PictureAt("plan")]
    blocks.append(Beside(pictures, [_who(tell), _counting(tell)], 0.31))
    return [
        Page(tell.word("page.stopped"), blocks),
        Page(tell.word("page.loads"), _loads(tell, sign=False)),
    ]


def _loads(tell: Telling, sign: bool) -> list[Block]:
    joints = joint_table(tell)
    # A table whose forces carry their ± is wider.
    wide = 0.5 if tell.uncertainty is None else 0.62
    end: list[Block] = [*([_sign(tell)] if sign else []), assumed(tell)]
    return [
        Text([], title=tell.word("above.head")),
        *above(tell),
        limit_text(tell),
        limit_table(tell),
        *_opinion(tell),
        *stated(tell),
        *([Beside([joints], end, wide)] if joints is not None else end),
    ]


def _opinion(tell: Telling) -> list[Block]:
    """What a second calculation found, where one was asked."""
    if tell.opinion is None:
        return []
    count, differing = len(tell.opinion), len(tell.opinion.differing)
    told = tell.say("opinion.agree", count=count)
    if differing:
        told = tell.say("opinion.differ", count=count, differing=differing)
    return [Text([told], title=tell.word("opinion.head"))]


def _who(tell: Telling) -> Facts:
    answer, job = tell.answer, tell.answer.job
    side: Rich = tell.hand(tell.word(f"side.{job.side}") if job.side else "")
    if job.side in ("left", "right"):
        side = tell.say("who.side_seen", side=side)
    rows: list[tuple[str, Rich]] = [
        ("project", tell.hand(job.project)),
        ("hang", tell.hand(job.hang)),
        ("side", side),
        ("revision", tell.hand(job.revision)),
        ("date", tell.hand(tell.figures.date(job.date))),
        ("author", tell.hand(job.author)),
        ("place", _place(tell)),
        ("datum", tell.hand(job.datum)),
        ("cabinets", _cabinets(tell)),
        ("mass", tell.say("who.mass_value", mass=tell.fig("mass", "pose.mass_kg"))),
        ("rear", tell.say(f"who.rear_{answer.hang.rigging}")),
        ("tilt", tell.spread("tilt", "search.tilt_deg")),
        ("top", tell.cell("length", "search.top_m")),
        ("trim", tell.spread("length", "pose.trim_m")),
        ("factor", _factor(tell)),
        ("used", _most_used(tell)),
    ]
    named = [(tell.word(f"who.{name}"), value) for name, value in rows]
    return Facts(tell.word("who.head"), named)


def _place(tell: Telling) -> Rich:
    study, job = tell.answer.study, tell.answer.job
    values = {
        "x": tell.fig("place", "job.position_m[0]"),
        "y": tell.fig("place", "job.position_m[1]"),
        "pan": tell.fig("tilt", "job.pan_deg"),
    }
    # The twin's place is known from the study alone, and so only in the study's axes.
    if study.twin is None or (job.position_m, job.pan_deg) != (
        study.site.position_m,
        study.site.pan_deg,
    ):
        return tell.say("who.place_value", **values)
    return tell.say(
        "who.place_twin",
        **values,
        twin_x=tell.fig("place", "study.twin.position_m[0]"),
        twin_y=tell.fig("place", "study.twin.position_m[1]"),
        twin_pan=tell.fig("tilt", "study.twin.pan_deg"),
    )


def _factor(tell: Telling) -> Rich:
    if tell.answer.study.dynamic_factor == 1.0:
        return tell.say("who.factor_none")
    return tell.cell("factor", "study.dynamic_factor")


def _cabinets(tell: Telling) -> Rich:
    names = [cabinet.name for cabinet in tell.answer.hang.cabinets]
    return joined(
        tell.say("who.cabinets_value", count=len(list(group)), name=name)
        for name, group in groupby(names)
    )


def _most_used(tell: Telling) -> Rich:
    used = [
        (row.utilisation, index)
        for index, row in enumerate(tell.answer.limits)
        if row.utilisation is not None
    ]
    if not used:
        return tell.say("who.no_limits")
    _, index = max(used)
    row = tell.answer.limits[index]
    return tell.say(
        "who.used_value",
        used=tell.fig("percent", f"limits[{index}].utilisation"),
        part=part_words(tell, row.part, row.number),
        case=case_words(tell, row),
    )


def _counting(tell: Telling) -> Block:
    told = [tell.say("count.text"), tell.say("count.heights")]
    if tell.answer.hang.rigging == "compression":
        told.append(tell.say("count.chain"))
    if tell.answer.job.steel_m:
        told.append(tell.say("count.hook", steel=tell.fig("length", "job.steel_m")))
    else:
        told.append(tell.say("count.hook_none"))
    return Text([tuple(part for rich in told for part in (*rich, " "))], tell.word("count.head"))


def _sign(tell: Telling) -> SignOff:
    rows = [tell.word(f"sign.{name}") for name in ("built", "checked")]
    columns = [tell.word(f"sign.{name}") for name in ("time", "signature")]
    return SignOff(tell.word("sign.head"), rows, columns)


def assumed(tell: Telling, sound: bool = False) -> Text:
    """What the figures of a page take for granted."""
    if sound:
        told = [
            tell.say(
                "assumed.air",
                temperature=tell.fig("plain", "study.air.temperature_c"),
                humidity=tell.fig("plain", "study.air.humidity_percent"),
                pressure=tell.fig("plain", "study.air.pressure_kpa"),
            ),
            tell.say("assumed.sound"),
        ]
    else:
        told = [
            tell.say("assumed.static"),
            tell.say("assumed.gravity", g=tell.fig("acceleration", "work.gravity_m_s2")),
            tell.say(
                "assumed.tolerances",
                stack=tell.fig("count", "job.stack"),
                cart=tell.fig("length", "job.cart_m"),
            ),
        ]
        if tell.answer.hang.rigging == "compression":
            told.append(tell.say("assumed.weightless"))
    told.append(tell.say("sheet.made_by", version=__version__))
    text = tuple(part for rich in told for part in (*rich, " "))
    return Text([text], tell.word("assumed.head"))
