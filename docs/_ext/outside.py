"""The table of outside checks, from what the tests wrote while they held each figure."""

import json
from pathlib import Path
from typing import Any

from sphinx.application import Sphinx
from sphinx.util import logging

HERE = Path(__file__).parents[1]
ROWS = HERE / "build" / "outside.jsonl"
PAGE = HERE / "verified.md"

KINDS = {
    "PRINTED": "Printed figures and worked examples, as another package carries them",
    "LIBRARY": "Other libraries, run in the test",
    "MEMORY": "Printed figures from memory, not compared with the page",
}

HEAD = """# How it was verified

Each calculation is held against something outside the project: a published standard or handbook,
or a general-purpose library that goes another way. The table below is written by the tests while
they run; each row gives the figure that came nearest to what is allowed, and why that much is
allowed. A test that fails stops the build.

The table does not hold every such check yet: pull-backs, many hoists, lines that stretch, floor
plans, balloons and the search are held against other libraries by tests that do not write into
it. No handbook lay open: printed figures stand here as the named package carries them, among them
results that a package states in its own tests, and what is from memory says so.

What is not in it either: closed forms, symmetries, limits and balances that the tests work out
themselves; the [second opinion](hangarc.second_opinion), which works a whole answer out again by
other routes; and earlier results of our own, which prove nothing but sameness.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.
"""


def _number(value: float) -> str:
    return f"{value:.6g}"


def _cells(row: dict[str, Any]) -> str:
    figures = "1 figure" if row["figures"] == 1 else f"{row['figures']} figures"
    source = row["source"].removesuffix("; from memory")
    held = f"{source}; {row['package']}" if row["package"] else source
    cells = [
        f"{row['what']} ({figures})", held, _number(row["theirs"]), _number(row["ours"]),
        f"{row['difference']:.1g}", f"{row['allowed']:.1g}: {row['why']}", row["unit"],
    ]  # fmt: skip
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def write(app: Sphinx) -> None:
    """Write the page before Sphinx looks for it."""
    text = [HEAD]
    rows = []
    if ROWS.exists():
        rows = [json.loads(line) for line in ROWS.read_text(encoding="utf-8").splitlines()]
    elif app.builder.name != "dummy":
        logging.getLogger(__name__).warning("no outside checks were recorded; see `make docs`")
    count = {kind: sum(row["kind"] == kind for row in rows) for kind in KINDS}
    if count["MEMORY"] > count["PRINTED"]:
        logging.getLogger(__name__).warning("more printed figures from memory than at hand")
    if rows and count["MEMORY"] + count["PRINTED"] < 25:
        logging.getLogger(__name__).warning("fewer than 25 printed tables and worked examples")
    text += ["", f"{len(rows)} checks of {sum(row['figures'] for row in rows)} figures:", ""]
    text += [f"- {count[kind]}: {words.lower()}" for kind, words in KINDS.items()]
    for topic in dict.fromkeys(row["topic"] for row in rows):
        text += ["", f"## {topic.capitalize()}"]
        for kind, words in KINDS.items():
            of_kind = [row for row in rows if (row["topic"], row["kind"]) == (topic, kind)]
            if of_kind:
                text += ["", f"**{words}**", ""]
                text += ["| what | source | theirs | ours | difference | allowed | unit |"]
                text += ["|---|---|---:|---:|---:|---|---|", *map(_cells, of_kind)]
    PAGE.write_text("\n".join(text) + "\n", encoding="utf-8")


def setup(app: Sphinx) -> dict[str, Any]:
    """Write the page before Sphinx looks for it."""
    app.connect("builder-inited", write)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
