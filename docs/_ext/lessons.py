"""The lessons: every notebook of `notebooks/`, shown as it is stored."""

import json
import shutil
from pathlib import Path
from typing import Any

from sphinx.application import Sphinx

HERE = Path(__file__).parents[1]
NOTEBOOKS = HERE.parent / "notebooks"
PAGES = HERE / "lessons"

HEAD = """# Lessons

Numbered notebooks, shown as they last ran. Each has an aim and one idea, asks for a prediction
before it shows the result, and ends with an exercise whose answer is checked, with a hint where it
is wrong. Sliders work on these pages too. Open them in Jupyter to change what they ask:

    pip install 'hangarc[notebooks]' jupyterlab
"""


def _title(notebook: Path) -> str:
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    text = "".join(cells[0]["source"])
    return text.split("\n", 1)[0].lstrip("# ")


def _page(notebook: Path) -> str:
    """Give a notebook without its widgets, which a page would load from far away.

    What they show stands beside them as plain HTML, which needs nothing.
    """
    page = json.loads(notebook.read_text(encoding="utf-8"))
    page["metadata"].pop("widgets", None)
    for cell in page["cells"]:
        for output in cell.get("outputs", ()):
            output.get("data", {}).pop("application/vnd.jupyter.widget-view+json", None)
    return json.dumps(page)


def write(app: Sphinx) -> None:
    """Copy the notebooks beside the pages and list them."""
    shutil.rmtree(PAGES, ignore_errors=True)
    PAGES.mkdir()
    entries = []
    for notebook in sorted(NOTEBOOKS.glob("*.ipynb")):
        (PAGES / notebook.name).write_text(_page(notebook), encoding="utf-8")
        entries.append(f"{_title(notebook)} <{notebook.stem}>")
    tree = "\n".join(["```{toctree}", ":maxdepth: 1", "", *entries, "```"])
    (PAGES / "index.md").write_text(f"{HEAD}\n{tree}\n", encoding="utf-8")


def setup(app: Sphinx) -> dict[str, Any]:
    """Write the pages before Sphinx looks for them."""
    app.connect("builder-inited", write)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
