"""Notes of the documentation run from top to bottom; each of their cells asserts what it shows."""

from __future__ import annotations

import ast
from pathlib import Path

import nbclient
import nbformat
import pytest

NOTES = sorted((Path(__file__).parents[2] / "docs" / "notes").glob("*.ipynb"))


def test_there_are_notes() -> None:
    assert {path.stem for path in NOTES} == {"five_venues", "splay_law"}


@pytest.mark.parametrize("path", NOTES, ids=lambda path: path.stem)
def test_the_note_runs(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    nbclient.NotebookClient(notebook, timeout=300, kernel_name="python3").execute()


@pytest.mark.parametrize("path", NOTES, ids=lambda path: path.stem)
def test_the_note_is_stored_as_it_ran_and_asserts_in_every_code_cell(path: Path) -> None:
    cells = [c for c in nbformat.read(path, as_version=4).cells if c.cell_type == "code"]
    assert [cell.execution_count for cell in cells] == list(range(1, len(cells) + 1))
    checks = asserting_functions(ast.parse("\n".join(cell.source for cell in cells)))
    for cell in cells:
        assert asserts(ast.parse(cell.source), checks), cell.source


def asserting_functions(tree: ast.AST) -> set[str]:
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    return {function.name for function in functions if asserts(function, set())}


def asserts(tree: ast.AST, checks: set[str]) -> bool:
    """Whether the code asserts something itself or calls one of `checks`."""
    return any(
        isinstance(node, ast.Assert)
        or (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in checks
        )
        for node in ast.walk(tree)
    )


def test_a_cell_that_checks_nothing_is_seen() -> None:
    checks = asserting_functions(ast.parse("def near(a, b):\n    assert a == b\ndef show(a): a"))
    assert checks == {"near"}
    assert asserts(ast.parse("near(1, 1)"), checks)
    assert not asserts(ast.parse("show(1)"), checks)
