"""The hang sheet as one HTML file that needs nothing else, for screens and for A4 paper."""

from __future__ import annotations

import base64
import dataclasses
from collections.abc import Mapping, Sequence
from html import escape

from hangarc._answers import Answer
from hangarc._keywords import by_name
from hangarc._record import FaceType
from hangarc._words import LanguageCode, Units
from hangarc.report import fonts
from hangarc.report.blocks import (
    Beside,
    Block,
    Facts,
    Page,
    PictureAt,
    Sheet,
    SignOff,
    Step,
    Table,
    Text,
)
from hangarc.report.content import compose
from hangarc.report.figures import Rich
from hangarc.second_opinion import Verification
from hangarc.uncertainty import Uncertainty

STYLE = """
:root { color-scheme: light; --ink: #16222c; --pale: #c2cbd1; --soft: #eef1f3; }
* { box-sizing: border-box; }
body { font: 10pt/1.28 %(family)s; color: var(--ink); background: #fff; margin: 0 auto;
  padding: 1rem; max-width: 200mm; font-variant-numeric: tabular-nums; }
h1 { font-size: 1.5em; margin: 0 0 .2em; }
h2 { font-size: 1.2em; margin: .1em 0 .3em; border-bottom: 1.5pt solid var(--ink); }
h3 { font-size: 1em; margin: .45em 0 .1em; }
p { margin: .1em 0; }
.caution { border: 1pt solid var(--ink); padding: .2em .5em; font-weight: 600;
  margin: .2em 0 .5em; }
.stop { border: 3pt solid var(--ink); padding: .4em .7em; margin: .3em 0; font-weight: 600; }
.stop h3 { font-size: 2em; margin: 0; }
dl { display: flex; flex-wrap: wrap; gap: .1em 1.4em; margin: .1em 0 .3em; }
dl div { display: flex; gap: .4em; }
dt { color: #43525e; white-space: nowrap; }
dd { margin: 0; font-weight: 600; }
.beside { display: flex; gap: 5mm; align-items: flex-start; }
.beside > div { min-width: 0; }
.step { display: grid; grid-template-columns: 6.5mm 1fr; break-inside: avoid; margin: .25em 0;
  padding-top: .2em; border-top: .5pt solid var(--pale); }
.step > .number { font-weight: 700; font-size: 1.15em; }
.step h3 { margin: 0; }
.step p data, .step .ticks data { font-weight: 600; }
.reads > li:first-child { font-weight: 600; }
.ticks, .reads { display: flex; flex-wrap: wrap; align-items: baseline; gap: .1em .9em;
  margin: .1em 0; padding: 0; list-style: none; }
.reads { margin-top: .45em; }
.box { display: inline-block; width: .8em; height: .8em; border: .8pt solid var(--ink);
  vertical-align: -.08em; margin-right: .3em; }
.blank { display: inline-block; min-width: 14mm; border-bottom: .8pt solid var(--ink);
  margin-left: .3em; }
table { border-collapse: collapse; margin: .3em 0; width: 100%%; }
caption { text-align: left; font-weight: 600; padding-bottom: .1em; }
th, td { text-align: left; vertical-align: top; padding: .1em .8em .1em 0;
  border-bottom: .5pt solid var(--pale); font-weight: 400; }
thead th { font-weight: 600; vertical-align: bottom; }
tbody tr { break-inside: avoid; }
.figure { text-align: right; }
data, td.figure { white-space: nowrap; }
th.figure, td.figure, .empty { width: 1px; }
tbody th.figure { white-space: nowrap; }
figure { margin: 0; break-inside: avoid; }
figure img { width: 100%%; height: auto; display: block; object-fit: contain; }
figcaption { text-align: center; }
.sign td { height: 8mm; }
.sign tbody th { vertical-align: bottom; }
.page + .page { margin-top: 2rem; }
@page { size: A4; margin: 13mm 11mm 14mm 11mm;
  @top-left { content: "%(running)s"; font: 600 8pt %(family)s; }
  @top-right { content: %(counter)s; font: 8pt %(family)s; }
  @bottom-left { content: "%(caution)s"; font: 8pt/1.15 %(family)s; width: 100%%; }
}
@media print {
  body { font: 8.1pt/1.2 %(family)s; padding: 0; max-width: none; }
  th, td { padding: .04em .8em .04em 0; }
  .step { margin: .12em 0; padding-top: .12em; }
  .reads { margin-top: .3em; gap: .1em .6em; }
  .blank { min-width: 12mm; }
  .page + .page { margin-top: 0; break-before: page; }
  h2, h3, caption, thead { break-after: avoid; }
}
@media (max-width: 600px) { .beside { display: block; } .beside > div { width: auto !important; }
  table { display: block; overflow-x: auto; } }
"""


@dataclasses.dataclass(frozen=True)
class Picture(FaceType):
    """A picture of the sheet: its name, what it shows in words, and as SVG text.

    Examples
    --------
    >>> import hangarc as ha
    >>> picture = ha.report.Picture(
    ...     name="column", caption="The column", alt="Four cabinets", svg="<svg/>"
    ... )
    >>> picture.name
    'column'
    """

    name: str
    caption: str
    alt: str
    svg: str


@by_name
def html(
    answer: Answer,
    *,
    pictures: Sequence[Picture] = (),
    units: Units = "metric",
    language: LanguageCode = "en",
    opinion: Verification | None = None,
    uncertainty: Uncertainty | None = None,
) -> str:
    """Write the sheet as a page of HTML that loads nothing from elsewhere and prints on A4.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.
    pictures : sequence of Picture
        What `hangarc.report.pictures.draw` gave; a picture that is missing leaves no gap.
    units, language, opinion, uncertainty
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
    >>> page = ha.report.html(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> page[:15]
    '<!doctype html>'
    """
    return html_of(
        compose(answer, units=units, language=language, opinion=opinion, uncertainty=uncertainty),
        pictures,
    )


def html_of(sheet: Sheet, pictures: Sequence[Picture] = ()) -> str:
    """Write what was composed as a page of HTML."""
    named = {picture.name: picture for picture in pictures}
    head = escape(sheet.title)
    body = "".join(_page(page, index, sheet, named) for index, page in enumerate(sheet.pages))
    style = STYLE % {
        "family": fonts.FAMILY,
        "running": _css(sheet.running),
        "caution": _css(f"{sheet.caution_head}. {sheet.caution}"),
        "counter": _counter(sheet.page_words),
    }
    return (
        "<!doctype html>\n"
        f'<html lang="{escape(sheet.language)}"><head><meta charset="utf-8"><title>{head}</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<style>{fonts.face()}{style}</style></head>\n<body><main>\n<h1>{head}</h1>\n"
        f'<p class="caution" role="note">{escape(sheet.caution_head)}. {escape(sheet.caution)}</p>'
        f"\n{body}</main></body></html>\n"
    )


def _css(text: str) -> str:
    """Text inside a string of a style sheet."""
    return "".join(c if c.isalnum() or c in " .,:·-'" else f"\\{ord(c):x} " for c in text)


def _counter(words: str) -> str:
    """Words about page numbers as the content of a margin box."""
    parts = []
    for piece in words.replace("{", "\0{").replace("}", "}\0").split("\0"):
        name = {"{number}": "counter(page)", "{count}": "counter(pages)"}.get(piece)
        parts.append(name or f'"{_css(piece)}"')
    return " ".join(parts)


def _page(page: Page, index: int, sheet: Sheet, pictures: Mapping[str, Picture]) -> str:
    body = "".join(_block(block, sheet, pictures) for block in page.blocks)
    title = escape(page.title)
    return f'<section class="page" id="page-{index + 1}"><h2>{title}</h2>\n{body}</section>\n'


def _block(block: Block, sheet: Sheet, pictures: Mapping[str, Picture]) -> str:
    match block:
        case Text():
            return _text(block)
        case Facts():
            return _facts(block)
        case Table():
            return _table(block)
        case Step():
            return _step(block, sheet)
        case PictureAt():
            return _picture(pictures.get(block.name), block.height_mm)
        case SignOff():
            return _sign(block)
        case Beside():
            return _beside(block, sheet, pictures)


def _rich(parts: Rich) -> str:
    return "".join(
        escape(part)
        if isinstance(part, str)
        else f'<data value="{part.value!r}" data-kind="{part.kind}" data-of="{escape(part.path)}">'
        f"{escape(part.text)}</data>"
        for part in parts
    )


def _text(block: Text) -> str:
    head = f"<h3>{escape(block.title)}</h3>" if block.title else ""
    told = "".join(f"<p>{_rich(sentence)}</p>\n" for sentence in block.sentences)
    return f'<div class="stop" role="alert">{head}{told}</div>\n' if block.loud else head + told


def _facts(block: Facts) -> str:
    rows = "".join(
        f"<div><dt>{escape(name)}</dt><dd>{_rich(value)}</dd></div>" for name, value in block.rows
    )
    return f"<h3>{escape(block.title)}</h3><dl>{rows}</dl>\n"


def _step(block: Step, sheet: Sheet) -> str:
    told = f"<p>{' '.join(_rich(sentence) for sentence in block.sentences)}</p>"
    if block.ticks:
        boxes = "".join(f'<li><span class="box"></span>{_rich(tick)}</li>' for tick in block.ticks)
        told = f'<ul class="ticks"><li>{_rich(block.first)}</li>{boxes}</ul>{told}'
    if block.readings:
        fields = "".join(
            f'<li>{_rich(read)}<span class="blank"></span></li>' for read in block.readings
        )
        told += f'<ul class="reads"><li>{escape(sheet.read)}</li>{fields}</ul>'
    return (
        f'<div class="step"><span class="number">{block.number}</span><div>'
        f'<h3><span class="box"></span>{_rich(block.title)}</h3>{told}</div></div>\n'
    )


def _table(table: Table) -> str:
    def cell(column: int, content: Rich, tag: str, extra: str = "") -> str:
        figure = ' class="figure"' if column in table.figures else ""
        return f"<{tag}{extra}{figure}>{_rich(content)}</{tag}>"

    box, blank = '<span class="box"></span>', '<span class="blank"></span>'
    blanks = "".join(
        f'<th scope="col" class="empty">{box if name == "□" else escape(name)}</th>'
        for name in table.blanks
    )
    empty = "".join(f"<td>{box if name == '□' else blank}</td>" for name in table.blanks)
    head = "".join(
        cell(column, name, "th", ' scope="col"') for column, name in enumerate(table.columns)
    )
    rows = "".join(
        "<tr>"
        + cell(0, row[0], "th", ' scope="row"')
        + "".join(cell(column, part, "td") for column, part in enumerate(row[1:], start=1))
        + f"{empty}</tr>\n"
        for row in table.rows
    )
    return (
        f"<table><caption>{escape(table.caption)}</caption>\n"
        f"<thead><tr>{head}{blanks}</tr></thead>\n<tbody>\n{rows}</tbody></table>\n"
    )


def _sign(block: SignOff) -> str:
    columns: list[Rich] = [("",), *((name,) for name in block.columns)]
    rows: list[list[Rich]] = [[(name,), *[("",)] * len(block.columns)] for name in block.rows]
    return f'<div class="sign">{_table(Table(block.title, columns, rows))}</div>'


def _picture(picture: Picture | None, height_mm: float | None) -> str:
    if picture is None:
        return ""
    data = base64.b64encode(picture.svg.encode()).decode()
    size = "" if height_mm is None else f' style="height: {height_mm:g}mm"'
    return (
        f'<figure class="{picture.name}"><img alt="{escape(picture.alt)}"{size} '
        f'src="data:image/svg+xml;base64,{data}">'
        f"<figcaption>{escape(picture.caption)}</figcaption></figure>\n"
    )


def _beside(block: Beside, sheet: Sheet, pictures: Mapping[str, Picture]) -> str:
    sides = []
    for blocks, share in ((block.left, block.share), (block.right, 1.0 - block.share)):
        body = "".join(_block(item, sheet, pictures) for item in blocks)
        sides.append((body, share))
    (left, left_share), (right, right_share) = sides
    if not left or not right:
        return left + right
    return (
        f'<div class="beside"><div style="width: {100 * left_share:.0f}%">{left}</div>'
        f'<div style="width: {100 * right_share:.0f}%">{right}</div></div>\n'
    )
