"""Demo data: an invented hall, invented hardware, and the question asked about them.

Nothing here describes a real product or building. `make.py` beside this file writes the data
files.

Examples
--------
>>> import hangarc as ha
>>> study = ha.demo.study()
>>> len(study.hang.cabinets), study.venue.name
(12, 'Demo hall (demo data)')
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import whole
from hangarc.model import Hang, Study

__all__ = [
    "ORIGIN_LAYER",
    "SECTION_DXF",
    "SECTION_LAYERS_JSON",
    "STUDY_JSON",
    "hang",
    "section_layers",
    "study",
]

HERE = Path(__file__).parent
STUDY_JSON = HERE / "study.json"
SECTION_DXF = HERE / "section.dxf"
SECTION_LAYERS_JSON = HERE / "section_layers.json"
ORIGIN_LAYER = "HANG"


@by_name
def study(*, cabinets: int = 12) -> Study:
    """Load the demo study: 12 cabinets, closed by a chain, in a hall of about 2,400 seats.

    Parameters
    ----------
    cabinets : int
        How many of them hang, 1 to 12; fewer make an answer quick.

    Raises
    ------
    InputError
        More than 12, or none.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.demo.study(cabinets=4).name
    'Demo hang (demo data)'
    """
    if not 1 <= whole("cabinets", cabinets) <= 12:
        raise InputError("cabinets", cabinets, "1 to 12")
    asked = Study.from_json(STUDY_JSON.read_text(encoding="utf-8"))
    kept = dataclasses.replace(
        asked.hang,
        cabinets=asked.hang.cabinets[:cabinets],
        splays_deg=asked.hang.splays_deg[: cabinets - 1],
    )
    return dataclasses.replace(asked, hang=kept)


@by_name
def hang(
    splays_deg: Sequence[float] = (2.0, 2.7, 3.4, 4.2, 5.1),
    *,
    rigging: Literal["tension", "compression"] = "compression",
) -> Hang:
    """Hang cabinets of the demo study at the given pins.

    Parameters
    ----------
    splays_deg : sequence of float
        Splay of each joint, top to bottom, each one of the cabinet's positions; one cabinet more
        hangs than there are joints.
    rigging : {"tension", "compression"}
        Two-sided rear links, or one-sided rear stops closed by a chain.

    Raises
    ------
    InputError
        A splay that the cabinet has no position for.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.0, 2.7, 4.2))
    >>> len(hang.cabinets), hang.rigging
    (4, 'compression')
    """
    rigged = study().hang
    return dataclasses.replace(
        rigged,
        cabinets=[rigged.cabinets[0]] * (len(splays_deg) + 1),
        splays_deg=splays_deg,
        rigging=rigging,
    )


@by_name
def section_layers() -> dict[str, dict[str, Any]]:
    """Load how the layers of `SECTION_DXF` are to be read, as `io.dxf.read_venue` takes it.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.demo.section_layers()["SEATS-STALLS"]["name"]
    'Stalls'
    """
    layers: dict[str, dict[str, Any]] = json.loads(SECTION_LAYERS_JSON.read_text("utf-8"))
    return layers
