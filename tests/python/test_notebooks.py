"""Every notebook runs from top to bottom; its cells assert what they show."""

from __future__ import annotations

from pathlib import Path

import nbclient
import nbformat
import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_notebook_runs(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    nbclient.NotebookClient(notebook, timeout=300, kernel_name="python3").execute()


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_the_notebook_is_stored_without_outputs_and_asserts_in_every_code_cell(path: Path) -> None:
    cells = [c for c in nbformat.read(path, as_version=4).cells if c.cell_type == "code"]
    assert cells
    for cell in cells:
        assert not cell.outputs
        assert cell.execution_count is None
        assert "assert " in cell.source, cell.source
