"""The hang sheet as plain text for a terminal or a printer."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from hangarc._answers import Answer
from hangarc._keywords import by_name
from hangarc._words import LanguageCode, Units
from hangarc.report.blocks import (
    Beside,
    Block,
    Facts,
    PictureAt,
    Sheet,
    SignOff,
    Step,
    Table,
    Text,
)
from hangarc.report.content import compose
from hangarc.report.figures import plain
from hangarc.second_opinion import Verification
from hangarc.uncertainty import Uncertainty

WIDTH = 96
GAP = "  "
BOX = "[ ]"
BLANK = "______"
LEAST_LAST_COLUMN = 14


@by_name
def text(
    answer: Answer,
    *,
    units: Units = "metric",
    language: LanguageCode = "en",
    opinion: Verification | None = None,
    uncertainty: Uncertainty | None = None,
) -> str:
    """Write the sheet as plain text.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.
    units, language, opinion, uncertainty
        As in `compose`.

    Returns
    -------
    str
        Lines of at most 96 characters, unless names are long.

    Raises
    ------
    InputError
        As `compose`.

    Examples
    --------
    >>> import hangarc as ha
    >>> sheet = ha.report.text(ha.evaluate(ha.demo.study(cabinets=4)), units="metric")
    >>> sheet.splitlines()[0]
    'Hang sheet: Demo hang (demo data)'
    """
    return text_of(
        compose(answer, units=units, language=language, opinion=opinion, uncertainty=uncertainty)
    )


def text_of(sheet: Sheet) -> str:
    """Write what was composed as plain text."""
    parts = [sheet.title, "=" * len(sheet.title), ""]
    parts.append(_wrapped(f"{sheet.caution_head.upper()}. {sheet.caution}"))
    for page in sheet.pages:
        parts += ["", page.title, "-" * len(page.title)]
        parts += [told for block in page.blocks for told in _block(block, sheet)]
    return "\n".join(parts) + "\n"


def _block(block: Block, sheet: Sheet) -> list[str]:
    match block:
        case Text():
            head = [f"{block.title}:"] if block.title else []
            return [*head, *(_wrapped(plain(sentence)) for sentence in block.sentences)]
        case Facts():
            pairs = [[name, plain(value)] for name, value in block.rows]
            return ["", f"{block.title}:", rows_of(pairs, ())]
        case Table():
            return ["", _table(block)]
        case Step():
            return _step(block, sheet)
        case SignOff():
            lines = [f"{name}: {BLANK * 3}  {' '.join(block.columns)}" for name in block.rows]
            return ["", *lines]
        case Beside():
            return [told for part in (*block.left, *block.right) for told in _block(part, sheet)]
        case PictureAt():
            return []


def _step(step: Step, sheet: Sheet) -> list[str]:
    lines = ["", f"{BOX} {step.number}. {plain(step.title)}"]
    indent = " " * 4
    if step.ticks:
        lines.append(_wrapped(plain(step.first), indent))
        lines += [f"{indent}{BOX} {plain(tick)}" for tick in step.ticks]
    lines += [_wrapped(plain(sentence), indent) for sentence in step.sentences]
    if step.readings:
        fields = f"{GAP}".join(f"{plain(read)} {BLANK}" for read in step.readings)
        lines.append(_wrapped(f"{sheet.read}: {fields}", indent))
    return lines


def _wrapped(sentence: str, indent: str = "") -> str:
    return textwrap.fill(sentence, WIDTH, initial_indent=indent, subsequent_indent=indent)


def _table(table: Table) -> str:
    heads = [plain(name) for name in table.columns]
    blanks = [BOX if name == "□" else BLANK for name in table.blanks]
    names = [BOX if name == "□" else name for name in table.blanks]
    rows = [[*(plain(cell) for cell in row), *blanks] for row in table.rows]
    lines: list[Sequence[str]] = [[*heads, *names], *rows]
    return f"{table.caption}:\n" + rows_of(lines, table.figures)


def rows_of(lines: Sequence[Sequence[str]], figures: Sequence[int]) -> str:
    """Set rows of text in columns, those of figures to the right."""
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    before = sum(widths[:-1]) + len(GAP) * (len(widths) - 1)
    widths[-1] = max(1, min(widths[-1], max(WIDTH - before, LEAST_LAST_COLUMN)))
    return "\n".join(_row(line, widths, before, figures) for line in lines)


def _row(line: Sequence[str], widths: Sequence[int], before: int, figures: Sequence[int]) -> str:
    """One row; a last cell that is too wide goes on below itself."""
    first, *rest = textwrap.wrap(line[-1], widths[-1]) or [""]
    padded = [
        cell.rjust(width) if column in figures else cell.ljust(width)
        for column, (cell, width) in enumerate(zip([*line[:-1], first], widths, strict=True))
    ]
    return "\n".join([GAP.join(padded).rstrip(), *(" " * before + part for part in rest)])
