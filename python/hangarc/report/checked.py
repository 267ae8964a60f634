"""What the readings of a sheet say, as text."""

from __future__ import annotations

import textwrap

from hangarc._answers import Answer
from hangarc._keywords import by_name
from hangarc._words import LanguageCode, Units
from hangarc.report.figures import plain
from hangarc.report.telling import Telling
from hangarc.report.terminal import WIDTH, rows_of
from hangarc.survey import BuiltCheck, ReadingCheck

KINDS = {
    "frame tilt": "tilt",
    "cabinet tilt": "tilt",
    "hoist load": "load",
    "trim": "length",
    "chain force": "force",
}


@by_name
def checked(
    answer: Answer, check: BuiltCheck, *, units: Units = "metric", language: LanguageCode = "en"
) -> str:
    """Say whether what hangs is what was planned.

    Parameters
    ----------
    answer : Answer
        The plan.
    check : BuiltCheck
        What `check_readings` gave.
    units, language
        As in `compose`.

    Returns
    -------
    str

    Raises
    ------
    InputError
        As `compose`.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> tilt = ha.survey.Reading(kind="frame tilt", number=0, value=answer.search.tilt_deg)
    >>> read = ha.survey.Readings(hang=answer.study.name, at_trim=[tilt])
    >>> text = ha.report.checked(answer, ha.survey.check_readings(answer, read))
    >>> text.splitlines()[0]
    'Readings of Demo hang (demo data)'
    """
    tell = Telling(answer, units, language)
    title = plain(tell.say("verdict.title", name=answer.study.name))
    verdict = check.verdict
    if verdict == "stop" and check.comparison.ended in ("accepted", "nothing tested"):
        verdict_words = tell.say("verdict.stop_tolerance")
    else:
        verdict_words = tell.say(f"verdict.{verdict}", joints=", ".join(map(str, check.joints)))
    fit = tell.say(
        "verdict.fit",
        tilt=tell.text("tilt", check.tilt_deg),
        uncertainty=tell.text("angle", check.tilt_uncertainty_deg),
        planned=tell.fig("tilt", "search.tilt_deg"),
        chi=tell.text("bare_level", check.comparison.chi_square),
        limit=tell.text("bare_level", check.comparison.chi_square_limit),
    )
    lines = [textwrap.fill(plain(verdict_words), WIDTH), textwrap.fill(plain(fit), WIDTH)]
    if verdict == "look":
        lines += [
            plain(tell.say("verdict.other", joint=joint + 1, splay=tell.text("angle", splay_deg)))
            for joint, splay_deg, _ in check.comparison.other_pins
        ]
    heads = [tell.word(f"verdict.{name}") for name in ("what", "planned", "read", "accepted")]
    table = [[*heads, ""], *(_row(tell, row) for row in check.readings)]
    caution = f"{tell.word('sheet.caution_head').upper()}. {tell.word('sheet.caution')}"
    parts = [title, "=" * len(title), "", *lines, "", rows_of(table, (1, 2, 3)), ""]
    return "\n".join([*parts, textwrap.fill(caution, WIDTH)]) + "\n"


def _row(tell: Telling, row: ReadingCheck) -> list[str]:
    kind = KINDS[row.kind]
    what = tell.word("verdict.chain force")
    if row.kind != "chain force":
        what = plain(tell.say(f"check.{row.kind}", number=row.number))
    bounds = ""
    if row.least is not None:
        least = tell.text(kind, row.least)
        bounds = plain(tell.say("verdict.at_least", least=least))
        if row.most is not None:
            most = tell.text(kind, row.most)
            bounds = plain(tell.say("verdict.between", least=least, most=most))
    word = tell.word("verdict.inside" if row.within else "verdict.outside")
    return [what, tell.text(kind, row.planned), tell.text(kind, row.read), bounds, word]
