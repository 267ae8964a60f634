"""The hang sheet as plain text for a terminal or a printer."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from hangarc.answers import Answer
from hangarc.report.content import CAUTION, Section, Table, sections, title

WIDTH = 96
GAP = "  "
LEAST_LAST_COLUMN = 16


def text(answer: Answer) -> str:
    """Write the sheet as plain text.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.

    Returns
    -------
    str
        Lines of at most 96 characters, unless names are long.
    """
    head = title(answer)
    parts = [head, "=" * len(head), "", _wrapped("CAUTION. " + CAUTION)]
    parts += [_section(section) for section in sections(answer)]
    return "\n".join(parts) + "\n"


def _wrapped(sentence: str) -> str:
    return textwrap.fill(sentence, WIDTH)


def _section(section: Section) -> str:
    parts = ["", section.title, "-" * len(section.title)]
    parts += [_wrapped(sentence) for sentence in section.sentences]
    for table in section.tables:
        parts += ["", _table(table)] if section.sentences else [_table(table)]
    return "\n".join(parts)


def _table(table: Table) -> str:
    lines = [table.columns, *table.rows]
    widths = [max(len(line[column]) for line in lines) for column in range(len(table.columns))]
    before = sum(widths[:-1]) + len(GAP) * (len(widths) - 1)
    widths[-1] = min(widths[-1], max(WIDTH - before, LEAST_LAST_COLUMN))
    if len(table.columns) == 2:
        lines = lines[1:]
    return "\n".join(_row(line, widths, before, table) for line in lines)


def _row(line: Sequence[str], widths: Sequence[int], before: int, table: Table) -> str:
    """One row; a last cell that is too wide goes on below itself."""
    first, *rest = textwrap.wrap(line[-1], widths[-1]) or [""]
    padded = [
        cell.rjust(width) if column in table.figures else cell.ljust(width)
        for column, (cell, width) in enumerate(zip([*line[:-1], first], widths, strict=True))
    ]
    return "\n".join([GAP.join(padded).rstrip(), *(" " * before + part for part in rest)])
