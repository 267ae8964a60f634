"""The fixture `outside` fails where a figure is off, and keeps what it held."""

from __future__ import annotations

import ast
import json
from pathlib import Path

import numpy as np
import pytest
from outside import Kind, Outside, Source, three_digits

PRINTED = Source("a table", Kind.PRINTED, "a package 1.0")


def test_a_figure_that_is_off_fails_and_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HANGARC_OUTSIDE", str(tmp_path / "rows.jsonl"))
    held = Outside("this test")
    with pytest.raises(AssertionError, match=r"2\.2 m, a table states 2\.0"):
        held.check(
            "lengths", "two", PRINTED, theirs=[1.0, 2.0], ours=[1.05, 2.2], unit="m",
            within=0.1, why="as printed",
        )  # fmt: skip
    held.finish()
    (row,) = map(json.loads, (tmp_path / "rows.jsonl").read_text("utf-8").splitlines())
    assert (row["theirs"], row["ours"], row["figures"]) == (2.0, 2.2, 2)
    assert row["difference"] == pytest.approx(0.2)


def test_a_check_that_cannot_fail_is_refused() -> None:
    held = Outside("this test")
    with pytest.raises(AssertionError, match="allows nothing"):
        held.check("lengths", "one", PRINTED, theirs=0.0, ours=0.0, unit="m", relative=1.0, why="")
    with pytest.raises(AssertionError, match="nothing was held"):
        held.finish()
    with pytest.raises(AssertionError, match="in a package"):
        Source("a table", Kind.PRINTED)


def test_a_nan_is_no_agreement() -> None:
    with pytest.raises(AssertionError):
        Outside("this test").check(
            "lengths", "one", PRINTED, theirs=1.0, ours=np.nan, unit="m", within=1.0, why="none"
        )


def test_half_a_unit_of_the_third_digit() -> None:
    np.testing.assert_allclose(three_digits([0.585, 21.6, 133.0]), [5e-4, 0.05, 0.5])


REFERENCES = {
    "Pynite", "closing_reference", "closing_simulation", "ezdxf", "fractions", "frame_model",
    "matplotlib.path", "moorpy", "mpmath", "mujoco", "networkx", "pycba", "pyfar", "pymvr",
    "scipy", "sfs", "shapely", "sofar", "sympy", "trimesh", "wind_reference",
}  # fmt: skip

#: Tests that use such a package and hold no figure of ours against it.
OTHERWISE = {
    "test_dxf_plan.py": "ezdxf draws what is read; whether places lie within is yes or no",
    "test_field_rig.py": "sofar writes the file that is read",
    "test_numerical_honesty.py": "fractions show that sums are not lost to rounding",
}


def imported(path: Path) -> set[str]:
    """Modules that a file imports anywhere, with the packages they are in."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
    return names | {name.split(".")[0] for name in names}


def test_what_is_held_against_another_library_is_in_the_table() -> None:
    without = set()
    for path in sorted(Path(__file__).parent.glob("test_*.py")):
        if imported(path) & REFERENCES and "outside.check(" not in path.read_text("utf-8"):
            without.add(path.name)
    assert without == set(OTHERWISE)
