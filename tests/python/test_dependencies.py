"""Every dependency stands in `docs/dependencies.md` with the reason why it is there."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

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


@pytest.fixture(scope="module")
def packages() -> list[dict[str, Any]]:
    """All crates that any feature brings, as cargo has resolved them."""
    if shutil.which("cargo") is None:
        pytest.skip("no cargo")
    command = ["cargo", "metadata", "--locked", "--all-features", "--format-version", "1"]
    run = subprocess.run(command, cwd=HOUSE, capture_output=True, text=True, check=True)
    found = json.loads(run.stdout)["packages"]
    return [package for package in found if package["name"] != "hangarc"]


@pytest.fixture(scope="module")
def allowed() -> dict[str, Any]:
    return tomllib.loads((HOUSE / "deny.toml").read_text(encoding="utf-8"))


def test_every_crate_has_a_licence_that_is_allowed(
    packages: list[dict[str, Any]], allowed: dict[str, Any]
) -> None:
    licences = set(allowed["licenses"]["allow"])
    for package in packages:
        # One of several joined by OR, every one of those joined by AND.
        stated = package["license"].replace("/", " OR ")
        for needed in re.split(r"\s+AND\s+", stated):
            choice = re.split(r"\s+OR\s+", needed.strip("() "))
            assert licences & {one.strip("() ") for one in choice}, (package["name"], stated)


def test_every_crate_comes_from_the_registry(
    packages: list[dict[str, Any]], allowed: dict[str, Any]
) -> None:
    registries = {f"registry+{url}" for url in allowed["sources"]["allow-registry"]}
    assert {package["source"] for package in packages} <= registries


def test_no_crate_is_there_twice_but_those_named(
    packages: list[dict[str, Any]], allowed: dict[str, Any]
) -> None:
    count = Counter(package["name"] for package in packages)
    for_unix = {name for name in count if not name.startswith(("windows", "wasm", "wasi", "r-efi"))}
    twice = {name for name in for_unix if count[name] > 1}
    assert twice <= set(allowed["bans"]["skip"])
