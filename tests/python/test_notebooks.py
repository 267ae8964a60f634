"""Every lesson runs from top to bottom, says what it calculates, and is stored as it ran."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import nbclient
import nbformat
import pytest
from hangarc.lesson import exercises

TESTS = Path(__file__).parent
NOTEBOOKS = sorted((TESTS.parents[1] / "notebooks").glob("*.ipynb"))
#: A tag of cells that print what follows from the search or from the sheet's wording, which may
#: change for the better; what the text states of them is checked all the same.
CHANGES = "may-change"
LARGEST_BYTES = 300_000


def source(cells: list[Any], kind: str) -> str:
    return "\n\n".join(cell.source for cell in cells if cell.cell_type == kind)


def test_there_are_twelve_lessons_each_with_its_checks() -> None:
    assert [path.stem[:2] for path in NOTEBOOKS] == [f"{n:02}" for n in range(1, 13)]
    checks = {path.stem for path in (TESTS / "lessons").glob("*.py")}
    assert checks == {path.stem for path in NOTEBOOKS}


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_lesson_runs_and_states_what_it_calculates(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    stored = [cell for cell in notebook.cells if cell.cell_type == "code"]
    outputs = [printed(cell) for cell in stored]
    text = source(notebook.cells, "markdown")
    notebook.cells.append(nbformat.v4.new_code_cell(checks_of(path, text)))
    nbclient.NotebookClient(notebook, timeout=120, kernel_name="python3").execute()
    for cell, before in zip(stored, outputs, strict=True):
        if CHANGES not in cell.metadata.get("tags", []):
            assert printed(cell) == before, "run `make lessons`: this is not what is stored"


def checks_of(path: Path, text: str) -> str:
    """What runs after the lesson's own cells, out of the reader's sight."""
    checks = (TESTS / "lessons" / path.name).with_suffix(".py").read_text(encoding="utf-8")
    return (
        f"import sys\nsys.path.insert(0, {str(TESTS)!r})\n"
        f"from lesson_figures import Text\nsaid = Text({text!r})\n"
        f"given, states = said.given, said.states\n{checks}\nsaid.nothing_is_left()\n"
    )


def printed(cell: Any) -> str:
    return "".join(out.text for out in cell.outputs if out.output_type == "stream")


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_lesson_is_stored_as_it_ran_and_small(path: Path) -> None:
    assert path.stat().st_size < LARGEST_BYTES
    cells = [c for c in nbformat.read(path, as_version=4).cells if c.cell_type == "code"]
    assert [cell.execution_count for cell in cells] == list(range(1, len(cells) + 1))
    kinds = {kind for cell in cells for out in cell.outputs for kind in out.get("data", {})}
    assert not any(out.output_type == "error" for cell in cells for out in cell.outputs)
    pictures = "".join(
        out.data.get("text/html", "") for cell in cells for out in cell.outputs if "data" in out
    )
    assert "image/png" in kinds or "svg+xml" in pictures, "a lesson has a picture"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_lesson_has_its_parts(path: Path) -> None:
    cells = nbformat.read(path, as_version=4).cells
    text, code = source(cells, "markdown"), source(cells, "code")
    assert text.startswith(f"# {int(path.stem[:2])} · ")
    for part in (
        "**Aim.**",
        "**One idea.**",
        "**Predict",
        "## ",
        "**Source",
        "An aid to qualified",
    ):
        assert part in text, part
    # Asked before it is shown: code follows the first prediction.
    kinds = [(cell.cell_type, "**Predict" in cell.source) for cell in cells]
    assert ("code", False) in kinds[kinds.index(("markdown", True)) :]
    assert re.search(r"lesson\.check\(\"", code), "an exercise"
    assert max(map(len, code.splitlines())) <= 100, "a line that a laptop's window cuts off"
    assert "def " not in code, "helper code belongs in the package"
    assert "assert" not in code, "checks stand in tests/python/lessons"


def test_every_exercise_is_asked_in_a_lesson_and_none_that_is_not_there() -> None:
    asked = [
        name
        for path in NOTEBOOKS
        for cell in nbformat.read(path, as_version=4).cells
        if cell.cell_type == "code"
        for name in re.findall(r'check\("([^"]+)", \.\.\.\)', cell.source)
    ]
    assert tuple(asked) == exercises()


def test_a_figure_that_nobody_checks_is_seen() -> None:
    from lesson_figures import Text

    text = Text("The chain pulls with 571 N over −2.5° and `12 mm` of code.")
    text.states("571 N")
    with pytest.raises(AssertionError, match=r"-2\.5°"):
        text.nothing_is_left()
    text.given("−2.5°")
    text.nothing_is_left()
    with pytest.raises(AssertionError, match="does not say"):
        text.states("71 N")
