"""Every notebook runs from top to bottom; its cells assert what they show."""

from __future__ import annotations

import ast
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
    checks = asserting_functions(ast.parse("\n".join(cell.source for cell in cells)))
    for cell in cells:
        assert not cell.outputs
        assert cell.execution_count is None
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
