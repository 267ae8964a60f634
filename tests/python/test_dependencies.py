"""Every dependency stands in `docs/dependencies.md` with the reason why it is there."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

HOUSE = Path(__file__).parents[2]


def rows(title: str) -> dict[str, list[str]]:
    """Cells of a section's table by the name in its first."""
    page = (HOUSE / "docs" / "dependencies.md").read_text(encoding="utf-8")
    section = page.split(f"\n## {title}\n")[1].split("\n## ")[0]
    lines = [line.strip("|\n ").split(" | ") for line in section.splitlines() if "| `" in line]
    assert all(cell.strip() for line in lines for cell in line)
    return {line[0].strip("` "): line for line in lines}


def test_every_crate_is_on_the_page() -> None:
    crates = tomllib.loads((HOUSE / "Cargo.toml").read_text(encoding="utf-8"))
    assert list(rows("Compiled in")) == sorted(crates["dependencies"])
    assert list(rows("Rust, for tests and benches")) == sorted(crates["dev-dependencies"])


def test_every_package_is_on_the_page_under_its_extra() -> None:
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]

    def names(needed: list[str]) -> list[str]:
        found = [re.split(r"[<>=\[ ]", one)[0] for one in needed]
        return [name for name in found if name != "hangarc"]

    assert list(rows("Python, always")) == names(project["dependencies"])
    told = rows("Python, by extra")
    extras = project["optional-dependencies"]
    assert set(told) == {name for needed in extras.values() for name in names(needed)}
    for name, line in told.items():
        for extra in line[1].split(", "):
            assert name in names(extras[extra]), (name, extra)
