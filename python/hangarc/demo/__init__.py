"""Demo data: an invented hall, invented hardware, and the question asked about them.

Nothing here describes a real product or building. `make.py` beside this file writes the data
files.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from hangarc._keywords import by_name
from hangarc.model import Study

__all__ = [
    "ORIGIN_LAYER",
    "SECTION_DXF",
    "SECTION_LAYERS_JSON",
    "STUDY_JSON",
    "section_layers",
    "study",
]

HERE = Path(__file__).parent
STUDY_JSON = HERE / "study.json"
SECTION_DXF = HERE / "section.dxf"
SECTION_LAYERS_JSON = HERE / "section_layers.json"
ORIGIN_LAYER = "HANG"


@by_name
def study() -> Study:
    """Load the demo study: 12 cabinets, closed by a chain, in a hall of about 2,400 seats."""
    return Study.from_json(STUDY_JSON.read_text(encoding="utf-8"))


@by_name
def section_layers() -> dict[str, dict[str, Any]]:
    """Load how the layers of `SECTION_DXF` are to be read, as `io.dxf.read_venue` takes it."""
    layers: dict[str, dict[str, Any]] = json.loads(SECTION_LAYERS_JSON.read_text("utf-8"))
    return layers
