"""The Python of every page of the documentation runs as it stands, top to bottom."""

from __future__ import annotations

import re
from pathlib import Path

import matplotlib.pyplot as plt
import pytest

DOCS = Path(__file__).parents[2] / "docs"
MADE = {"build", "lessons", "reference"}
PAGES = sorted(
    page
    for page in DOCS.rglob("*.md")
    if not MADE & set(page.relative_to(DOCS).parts) and page.name != "verified.md"
)
LOAD_BEARING = {
    "index.md",
    "start.md",
    "limits.md",
    "howto/own_cabinet.md",
    "howto/sheet.md",
    "howto/sweeps.md",
    "howto/systems.md",
    "theory/balance.md",
    "theory/closing.md",
    "theory/suspension.md",
    "theory/wind.md",
    "theory/uncertainty.md",
}


BLOCK = re.compile(
    r"^```python\n(?P<code>.*?)^```(?:\n\n```text\n(?P<prints>.*?)^```)?", re.DOTALL | re.MULTILINE
)


def blocks(page: Path) -> list[str]:
    return [found["code"] for found in BLOCK.finditer(page.read_text("utf-8"))]


WITH_CODE = [page for page in PAGES if blocks(page)]


def test_there_are_pages_with_code() -> None:
    assert {"start.md", "own_cabinet.md", "own_room.md", "systems.md", "sweeps.md", "sheet.md"} <= {
        page.name for page in WITH_CODE
    }


@pytest.mark.parametrize("page", WITH_CODE, ids=lambda page: page.stem)
def test_the_code_of_a_page_runs(
    page: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """And prints what stands under it, where that is shown."""
    monkeypatch.chdir(tmp_path)
    names: dict[str, object] = {"__name__": "__main__"}
    for block in BLOCK.finditer(page.read_text("utf-8")):
        capsys.readouterr()
        exec(compile(block["code"], str(page), "exec"), names)
        if block["prints"] is not None:
            assert capsys.readouterr().out == block["prints"]
    plt.close("all")


@pytest.mark.parametrize("page", sorted(LOAD_BEARING))
def test_a_page_on_loads_carries_the_caution(page: str) -> None:
    text = " ".join((DOCS / page).read_text("utf-8").split())
    assert "An aid to qualified persons." in text
    assert "licensed engineers prevail" in text


def test_a_cabinet_of_ones_own_takes_about_forty_lines() -> None:
    first = blocks(DOCS / "howto" / "own_cabinet.md")[0]
    assert len([line for line in first.splitlines() if line.strip()]) <= 45
