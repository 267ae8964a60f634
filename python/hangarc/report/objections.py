"""What speaks against hanging it like this, and what would help.

The answer says it; nothing is weighed here. A sheet with an objection has no steps to follow.
"""

from __future__ import annotations

from hangarc._answers import Answer
from hangarc._keywords import by_name
from hangarc._words import LanguageCode, Units
from hangarc.closing.remedies import ClosingRemedies
from hangarc.report.figures import Rich, plain
from hangarc.report.limits import case_words, constraint_words, part_words
from hangarc.report.telling import Telling, joined


def objections(tell: Telling) -> list[Rich]:
    """Give a reason each, what the core says first."""
    return [*_missed(tell), *_limits(tell), *_hoists(tell), *_rear(tell), *_opinion(tell)]


# As what a constraint's value and bound are printed.
BOUNDS = {
    "trim_height": "length",
    "lowest_tilt": "tilt",
    "highest_tilt": "tilt",
    "closing_force": "force",
    "wanted_closing_force": "force",
    "mass": "mass",
    "building_load": "force",
    "sight_line": "length",
    "mean_level": "level",
    "reach": "level",
    "quiet_place": "level",
    "off_seats": "level",
    "limit": "force",
}


def _missed(tell: Telling) -> list[Rich]:
    search = tell.answer.search
    reasons = []
    for index, margin in enumerate(search.margins):
        if margin.margin >= 0.0:
            continue
        if margin.kind == "chain_closes":
            reasons.append(tell.say("why.chain_closes"))
            continue
        name = constraint_words(tell, margin)
        kind, path = BOUNDS[margin.kind], f"search.margins[{index}]"
        value, bound = tell.fig(kind, f"{path}.value"), tell.fig(kind, f"{path}.bound")
        key = "why.too_little" if margin.value < margin.bound else "why.too_much"
        reasons.append(tell.say(key, constraint=name, value=value, bound=bound))
    if search.ended == "infeasible" and not reasons:
        reasons.append(tell.say("why.search"))
    return reasons


def _limits(tell: Telling) -> list[Rich]:
    answer = tell.answer
    missed = {(row.part, row.number) for row in answer.search.margins if row.margin < 0.0}
    return [
        tell.say(
            "why.over_limit",
            part=part_words(tell, row.part, row.number),
            used=tell.fig("percent", f"limits[{index}].utilisation"),
            case=case_words(tell, row),
        )
        for index, row in enumerate(answer.limits)
        if (row.utilisation or 0.0) > 1.0 and (row.part, row.number) not in missed
    ]


def _hoists(tell: Telling) -> list[Rich]:
    answer = tell.answer
    reasons = [
        tell.say("why.slack", number=number)
        for number, slack in enumerate(answer.hoists.slack, 1)
        if slack
    ]
    for number, lift in enumerate(answer.work.lifts, 1):
        if (lift.hoist_load_n < 0.0).any():
            reasons.append(tell.say("why.holding", number=number))
    return reasons


# Ways to end in which the rear closes and nothing holds it.
NOT_HELD = ("the chain has no lever on a joint", "the chain opens another joint")


def _rear(tell: Telling) -> list[Rich]:
    answer, closing = tell.answer, tell.answer.closing
    if closing is None:
        return []
    reasons = []
    if closing.ended in NOT_HELD:
        reasons.append(tell.say("why.nothing_holds", state=tell.state("ended", closing.ended)))
    elif closing.ended not in ("closed", "both hoists go slack in turn"):
        reasons.append(tell.say("why.ended", ended=tell.state("ended", closing.ended)))
    if closing.slack_hoist != "none":
        which = tell.state("slack", closing.slack_hoist)
        reasons.append(tell.say("why.slack_on_way", which=which))
    if closing.closing_force_n is not None and closing.clutch not in ("closes", "not stated"):
        reasons.append(tell.say("why.clutch", clutch=tell.state("clutch", closing.clutch)))
    if answer.hang.gear is None:
        reasons.append(tell.say("why.no_gear"))
    elif answer.shortening is not None and answer.shortening.link is None:
        ended = tell.state("shortening", answer.shortening.ended)
        reasons.append(tell.say("why.no_link", ended=ended))
    return reasons + _pulled(tell)


def _opinion(tell: Telling) -> list[Rich]:
    """Figures that a second calculation does not confirm."""
    differing = () if tell.opinion is None else tell.opinion.differing
    return [tell.say("why.opinion", quantity=row.quantity) for row in differing]


def _pulled(tell: Telling) -> list[Rich]:
    answer = tell.answer
    rear, closing, gear = answer.work.closing, answer.closing, answer.hang.gear
    if rear is None or closing is None or gear is None:
        return []
    reasons = []
    wanted = tell.fig("force", "job.stop_force_n")
    pulled = tell.fig("force", "work.closing.pulled_n")
    if rear.least_stop_n < answer.job.stop_force_n - 1e-6:
        reasons.append(
            tell.say(
                "why.stop_force",
                joint=rear.least_stop_joint,
                least=tell.fig("force", "work.closing.least_stop_n"),
                wanted=wanted,
            )
        )
    if closing.most_force_n is not None and closing.most_force_n < rear.pulled_n:
        most = tell.fig("force", "closing.most_force_n")
        reasons.append(tell.say("why.opens_again", wanted=wanted, pulled=pulled, most=most))
    clutch = gear.clutch_n
    if clutch is not None and rear.closing_force_n <= clutch[0] < rear.pulled_n:
        low = tell.fig("force", "hang.gear.clutch_n[0]")
        reasons.append(tell.say("why.preload_clutch", low=low, pulled=pulled, wanted=wanted))
    if rear.hoist_open_m > gear.hoist_max_m:
        reasons.append(
            tell.say(
                "why.stroke",
                length=tell.fig("length", "work.closing.hoist_open_m"),
                most=tell.fig("length", "hang.gear.hoist_max_m"),
            )
        )
    return reasons


@by_name
def reasons_against(
    answer: Answer, *, units: Units = "metric", language: LanguageCode = "en"
) -> list[str]:
    """Give what speaks against hanging it like this; nothing of a hang with steps to follow.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.
    units, language
        As in `compose`.

    Returns
    -------
    list of str

    Raises
    ------
    InputError
        As `compose`.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = dataclasses.replace(ha.demo.study(cabinets=4), hoist_limit_n=1_000.0)
    >>> for reason in ha.report.reasons_against(ha.evaluate(study))[:2]:
    ...     print(reason)
    ...
    hoist 1 is 2.12 kN, 1.00 kN or less is asked
    hoist 2 is 1.55 kN, 1.00 kN or less is asked
    """
    return [plain(reason) for reason in objections(Telling(answer, units, language))]


def remedies(tell: Telling) -> list[Rich]:
    """What would close a hang that the chain does not close; nothing for any other objection."""
    answer = tell.answer
    lines = [] if answer.remedies is None else _closing_remedies(tell, answer.remedies)
    if answer.search.nearest_study is not None:
        lines.append(tell.say("help.study"))
    return lines


def _closing_remedies(tell: Telling, found: ClosingRemedies) -> list[Rich]:
    lines = []
    if found.tilt is not None and found.tilt["tilt_deg"] != tell.answer.search.tilt_deg:
        tilt = tell.fig("tilt", "remedies.tilt[tilt_deg]")
        force = tell.fig("force", "remedies.tilt[closing_force_n]")
        lines.append(tell.say("help.tilt", tilt=tilt, force=force))
    if found.most_cabinets is not None and found.most_cabinets < len(tell.answer.hang.cabinets):
        count = tell.fig("count", "remedies.most_cabinets")
        lines.append(tell.say("help.cabinets", count=count))
    if found.staged.ok and len(found.staged.stages) > 1:
        counts = [
            tell.cell("count", f"remedies.staged.stages[{index}].cabinets")
            for index in range(len(found.staged.stages))
        ]
        lines.append(tell.say("help.stages", stages=joined(counts)))
    if found.landing is not None and found.landing["landed_share"] > 0.0:
        landed = tell.fig("percent", "remedies.landing[landed_share]")
        force = tell.fig("force", "remedies.landing[closing_force_n]")
        lines.append(tell.say("help.landing", landed=landed, force=force))
    return lines or [tell.say("help.nothing")]


def sentences(tell: Telling, reasons: list[Rich]) -> list[Rich]:
    """Each reason as the sentence that stops the crew."""
    return [tell.say("stop.reason", reason=joined([reason])) for reason in reasons]
