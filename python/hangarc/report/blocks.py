"""What a sheet is made of, apart from how it looks and from what it says."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator, Sequence

from hangarc._words import LanguageCode
from hangarc.report.figures import Rich


@dataclasses.dataclass(frozen=True)
class Text:
    """Sentences; loud ones stop whoever reads them."""

    sentences: Sequence[Rich]
    title: str = ""
    loud: bool = False


@dataclasses.dataclass(frozen=True)
class Facts:
    """Short facts by name."""

    title: str
    rows: Sequence[tuple[str, Rich]]


@dataclasses.dataclass(frozen=True)
class Table:
    """A caption, one heading a column, and rows; the first column names the row."""

    caption: str
    columns: Sequence[Rich]
    rows: Sequence[Sequence[Rich]]
    # Columns of figures are set to the right.
    figures: Sequence[int] = ()
    # Headings of empty columns to write into; "□" stands for a box to tick.
    blanks: Sequence[str] = ()


def halved(table: Table) -> Table:
    """Give the table with the second half of its rows beside the first."""
    half, wide = (len(table.rows) + 1) // 2, len(table.columns)
    empty: list[Rich] = [("",)] * wide
    pairs = itertools.zip_longest(table.rows[:half], table.rows[half:], fillvalue=empty)
    return dataclasses.replace(
        table,
        columns=[*table.columns, *table.columns],
        rows=[[*left, *right] for left, right in pairs],
        figures=[*table.figures, *(wide + column for column in table.figures)],
    )


@dataclasses.dataclass(frozen=True)
class Step:
    """One step of the work: what to do, boxes to tick on the way, fields for what is read."""

    number: int
    title: Rich
    sentences: Sequence[Rich]
    # What the boxes are for.
    first: Rich = ()
    ticks: Sequence[Rich] = ()
    readings: Sequence[Rich] = ()


@dataclasses.dataclass(frozen=True)
class PictureAt:
    """Where a picture stands, as wide as there is room or of a given height."""

    name: str
    height_mm: float | None = None


@dataclasses.dataclass(frozen=True)
class Beside:
    """Blocks beside each other; the left ones take a share of the width."""

    left: Sequence[Block]
    right: Sequence[Block]
    share: float


@dataclasses.dataclass(frozen=True)
class SignOff:
    """Lines to sign on."""

    title: str
    rows: Sequence[str]
    columns: Sequence[str]


Block = Text | Facts | Table | Step | PictureAt | Beside | SignOff


@dataclasses.dataclass(frozen=True)
class Page:
    """A page of A4; what does not fit goes on to another."""

    title: str
    blocks: Sequence[Block]


@dataclasses.dataclass(frozen=True)
class Sheet:
    """The whole sheet."""

    language: LanguageCode
    title: str
    # What identifies the sheet, repeated on every page.
    running: str
    caution_head: str
    caution: str
    pages: Sequence[Page]
    read: str
    # "Page {number} of {count}" as the language has it.
    page_words: str
    by_hand: str


def walk(blocks: Sequence[Block]) -> Iterator[Block]:
    """Give every block, those beside each other one by one."""
    for block in blocks:
        if isinstance(block, Beside):
            yield from walk(block.left)
            yield from walk(block.right)
        else:
            yield block
