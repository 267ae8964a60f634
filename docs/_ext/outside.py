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
    "DERIVED": "Named results, worked out in the test",
    "MEMORY": "Printed figures from memory, not compared with the page",
}

HEAD = """# How it was verified

Each calculation is held against something outside the project: a published standard or handbook,
a general-purpose library that goes another way, or a named result that the test works out itself.
The table below is written by the tests while they run. Each row gives the figure that came nearest
to what is allowed, and why that much is allowed. A test that fails stops the build, and so does a
test that uses such a library and does not write into the table.

No handbook lay open. Printed figures stand here as the named package carries them, in its tables
or as results that its own tests quote. What is from memory says so.

Where a row says *yes or no*, 1 is yes, and none may differ. Rows of residuals, of what is left over
or off, have 0 as their figure.

What is not in the table: closed forms, symmetries, limits and balances that other tests work out;
the [second opinion](hangarc.second_opinion), which works a whole answer out again by other routes;
and earlier results of our own, which prove nothing but sameness. The core's own tests hold its
solvers against closed forms, and are not in it either.

An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.
"""


def _number(value: float) -> str:
    return f"{value:.6g}"


def _cells(row: dict[str, Any]) -> str:
    figures = "1 figure" if row["figures"] == 1 else f"{row['figures']:,} figures"
    source = row["source"].removesuffix("; from memory")
    held = f"{source}; {row['package']}" if row["package"] else source
    cells = [
        f"{row['what']} ({figures})", held, _number(row["theirs"]), _number(row["ours"]),
        f"{row['difference']:.1g}", f"{row['allowed']:.1g}: {row['why']}", row["unit"],
    ]  # fmt: skip
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def _merged(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """One row a comparison, of all its runs: how many figures, and the nearest to its bound."""
    merged: dict[tuple[str, ...], dict[str, Any]] = {}
    for row in rows:
        key = tuple(row[name] for name in ("topic", "what", "source", "package", "unit", "why"))
        known = merged.get(key)
        if known is None:
            merged[key] = dict(row)
            continue
        figures = known["figures"] + row["figures"]
        if _share(row) > _share(known):
            known.update(row)
        known["figures"] = figures
    return list(merged.values())


def _share(row: dict[str, Any]) -> float:
    return abs(float(row["difference"])) / float(row["allowed"])


def write(app: Sphinx) -> None:
    """Write the page before Sphinx looks for it."""
    text = [HEAD]
    rows = []
    if ROWS.exists():
        rows = _merged([json.loads(line) for line in ROWS.read_text(encoding="utf-8").splitlines()])
    elif app.builder.name != "dummy":
        logging.getLogger(__name__).warning("no outside checks were recorded; see `make docs`")
    count = {kind: sum(row["kind"] == kind for row in rows) for kind in KINDS}
    if count["MEMORY"] > count["PRINTED"]:
        logging.getLogger(__name__).warning("more printed figures from memory than at hand")
    if rows and count["MEMORY"] + count["PRINTED"] < 25:
        logging.getLogger(__name__).warning("fewer than 25 printed tables and worked examples")
    text += ["", f"{len(rows)} checks of {sum(row['figures'] for row in rows):,} figures:", ""]
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
