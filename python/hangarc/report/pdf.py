"""The hang sheet as PDF, set by Typst.

Typst (Apache-2.0; on PyPI as `typst`, kept by the author of maturin) comes as one wheel without
anything to install beside it, takes the figures as data so that no name can carry markup, repeats
the heads of tables, numbers pages and draws SVG as vectors. WeasyPrint would print the HTML itself
but needs Pango from the system, which a fresh machine lacks; ReportLab and fpdf2 draw no SVG of
this kind.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from importlib import resources
from typing import Any

from hangarc._answers import Answer
from hangarc._keywords import by_name
from hangarc._words import LanguageCode, Units
from hangarc.report import fonts
from hangarc.report.blocks import Beside, Block, Facts, Sheet, Step, Table, Text
from hangarc.report.content import compose
from hangarc.report.figures import Figure, Rich
from hangarc.report.page import Picture
from hangarc.second_opinion import Verification
from hangarc.uncertainty import Uncertainty


@by_name
def pdf(
    answer: Answer,
    *,
    pictures: Sequence[Picture] = (),
    units: Units = "metric",
    language: LanguageCode = "en",
    opinion: Verification | None = None,
    uncertainty: Uncertainty | None = None,
) -> bytes:
    """Write the sheet as PDF on A4.

    Parameters
    ----------
    answer, pictures, units, language, opinion, uncertainty
        As in `html`.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        As `compose`.
    ModuleNotFoundError
        Typst is not installed.

    Examples
    --------
    >>> import hangarc as ha
    >>> file = ha.report.pdf(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> file[:5]
    b'%PDF-'
    """
    return pdf_of(
        compose(answer, units=units, language=language, opinion=opinion, uncertainty=uncertainty),
        pictures,
    )


def pdf_of(sheet: Sheet, pictures: Sequence[Picture] = ()) -> bytes:
    """Write what was composed as PDF."""
    try:
        import typst
    except ModuleNotFoundError as error:
        raise ModuleNotFoundError("PDF needs typst: pip install 'hangarc[sheet]'") from error
    folder = fonts.folder()
    made: bytes = typst.compile(
        str(resources.files("hangarc.report") / "sheet.typ"),
        format="pdf",
        font_paths=[] if folder is None else [str(folder)],
        sys_inputs={"sheet": json.dumps(_data(sheet, pictures))},
    )
    return made


def _data(sheet: Sheet, pictures: Sequence[Picture]) -> dict[str, Any]:
    fields = {f.name: getattr(sheet, f.name) for f in dataclasses.fields(sheet)}
    return {
        **fields,
        "font": fonts.BASE,
        "pages": [
            {"title": page.title, "blocks": [_block(block) for block in page.blocks]}
            for page in sheet.pages
        ],
        "pictures": {picture.name: dataclasses.asdict(picture) for picture in pictures},
    }


def _rich(parts: Rich) -> list[dict[str, Any]]:
    return [
        {"text": part.text, "figure": True}
        if isinstance(part, Figure)
        else {"text": part, "figure": False}
        for part in parts
    ]


def _block(block: Block) -> dict[str, Any]:
    """The block's fields with its name, its figures marked."""
    fields = {f.name: getattr(block, f.name) for f in dataclasses.fields(block)}
    match block:
        case Beside():
            fields["left"] = [_block(part) for part in block.left]
            fields["right"] = [_block(part) for part in block.right]
        case Text():
            fields["sentences"] = [_rich(sentence) for sentence in block.sentences]
        case Facts():
            fields["rows"] = [{"name": name, "value": _rich(value)} for name, value in block.rows]
        case Table():
            fields["columns"] = [_rich(name) for name in block.columns]
            fields["rows"] = [[_rich(cell) for cell in row] for row in block.rows]
        case Step():
            fields["title"], fields["first"] = _rich(block.title), _rich(block.first)
            for name in ("sentences", "ticks", "readings"):
                fields[name] = [_rich(part) for part in fields[name]]
    return {"block": type(block).__name__, **fields}
