"""The hang sheet as one HTML file that needs nothing else, for screens and for paper."""

from __future__ import annotations

import base64
import dataclasses
from collections.abc import Sequence
from html import escape

from hangarc.answers import Answer
from hangarc.report.content import CAUTION, Section, Table, sections, title

STYLE = """
:root { color-scheme: light; }
body { font: 15px/1.45 system-ui, sans-serif; color: #1d2b36; background: #fff;
  max-width: 62rem; margin: 0 auto; padding: 1.5rem; }
h1 { font-size: 1.6rem; margin: 0 0 .75rem; }
h2 { font-size: 1.15rem; margin: 2rem 0 .5rem; border-bottom: 2px solid #174f8a; }
p { margin: .35rem 0; max-width: 46rem; }
.caution { border: 2px solid #1d2b36; padding: .6rem .8rem; font-weight: 600; max-width: none; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; margin: .6rem 0; font-variant-numeric: tabular-nums; }
caption { text-align: left; font-size: .85rem; color: #44535f; padding-bottom: .2rem; }
th, td { text-align: left; vertical-align: top; padding: .2rem .9rem .2rem 0;
  border-bottom: 1px solid #c9d1d6; }
th { font-weight: 600; }
.figure { text-align: right; white-space: nowrap; }
figure { margin: 1rem 0; }
figure img { max-width: 100%; height: auto; }
figcaption { font-size: .85rem; color: #44535f; }
@media print {
  body { font-size: 10.5pt; padding: 0; max-width: none; }
  h2 { break-after: avoid; }
  tr, figure, .caution { break-inside: avoid; }
  .scroll { overflow: visible; }
}
"""


@dataclasses.dataclass(frozen=True)
class Picture:
    """A picture of the sheet: what it shows, in words, and as SVG text."""

    caption: str
    alt: str
    svg: str


def html(answer: Answer, pictures: Sequence[Picture] = ()) -> str:
    """Write the sheet as a page of HTML that loads nothing from elsewhere.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.
    pictures : sequence of Picture
        Pictures to be set at the end of the sheet.

    Returns
    -------
    str
    """
    head = escape(title(answer))
    body = "".join(_section(section) for section in sections(answer))
    return (
        "<!doctype html>\n"
        f'<html lang="en"><head><meta charset="utf-8"><title>{head}</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<style>{STYLE}</style></head>\n<body><main>\n<h1>{head}</h1>\n"
        f'<p class="caution" role="note">Caution. {escape(CAUTION)}</p>\n'
        f"{body}{_pictures(pictures)}</main></body></html>\n"
    )


def _section(section: Section) -> str:
    sentences = "".join(f"<p>{escape(sentence)}</p>\n" for sentence in section.sentences)
    tables = "".join(_table(table) for table in section.tables)
    return f"<section><h2>{escape(section.title)}</h2>\n{sentences}{tables}</section>\n"


def _table(table: Table) -> str:
    def cell(column: int, text: str, tag: str, extra: str = "") -> str:
        figure = ' class="figure"' if column in table.figures else ""
        return f"<{tag}{extra}{figure}>{escape(text)}</{tag}>"

    head = "".join(
        cell(column, name, "th", ' scope="col"') for column, name in enumerate(table.columns)
    )
    rows = "".join(
        "<tr>"
        + cell(0, row[0], "th", ' scope="row"')
        + "".join(cell(column, text, "td") for column, text in enumerate(row[1:], start=1))
        + "</tr>\n"
        for row in table.rows
    )
    return (
        f'<div class="scroll"><table><caption>{escape(table.caption)}</caption>\n'
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody></table></div>\n"
    )


def _pictures(pictures: Sequence[Picture]) -> str:
    if not pictures:
        return ""
    figures = "".join(
        f'<figure><img alt="{escape(picture.alt)}" src="data:image/svg+xml;base64,'
        f'{base64.b64encode(picture.svg.encode()).decode()}">'
        f"<figcaption>{escape(picture.caption)}</figcaption></figure>\n"
        for picture in pictures
    )
    return f"<section><h2>Pictures</h2>\n{figures}</section>\n"
