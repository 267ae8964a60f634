"""The sheet's typeface, so that it takes the same room in every engine.

Fira Sans Condensed (SIL Open Font License 1.1), from PyPI. Without it the page falls back to what
the reader's machine has.
"""

from __future__ import annotations

import base64
import functools
import io
from importlib import resources
from pathlib import Path

NAME = "Fira Sans Condensed"
# Typst takes the width for a property of the family.
BASE = "Fira Sans"
FAMILY = f"'{NAME}', 'Arial Narrow', 'Roboto Condensed', system-ui, sans-serif"
WEIGHTS = {400: "Regular", 600: "SemiBold"}
# What languages written in Latin letters, units and the sheet's signs need.
LETTERS = (*range(0x20, 0x7F), *range(0xA0, 0x250), *range(0x2010, 0x2030), 0x2212, 0x2264, 0x2265)


def folder() -> Path | None:
    """Where the files of the typeface are, if they are installed."""
    try:
        return Path(str(resources.files("fontpkg_fira_sans_condensed"))) / "files"
    except ModuleNotFoundError:
        return None


@functools.cache
def face() -> str:
    """Give the typeface as rules of a style sheet, with the letters the sheet needs."""
    files = folder()
    if files is None:
        return ""
    return "".join(
        f"@font-face {{ font-family: '{NAME}'; font-weight: {weight}; src: "
        f"url(data:font/ttf;base64,{_subset(files / f'FiraSansCondensed-{style}.ttf')}); }}\n"
        for weight, style in WEIGHTS.items()
    )


def _subset(file: Path) -> str:
    from fontTools import subset
    from fontTools.ttLib import TTFont

    font = TTFont(file)
    options = subset.Options(layout_features=["kern", "tnum", "lnum"], hinting=False)
    cut = subset.Subsetter(options)
    cut.populate(unicodes=LETTERS)
    cut.subset(font)
    out = io.BytesIO()
    font.save(out)
    return base64.b64encode(out.getvalue()).decode()
