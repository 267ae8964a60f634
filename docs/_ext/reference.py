"""The reference: a page for each room and for each public name, from the docstrings."""

import dataclasses
import inspect
import re
import shutil
from pathlib import Path
from typing import Any

import hangarc
from docutils import nodes
from hangarc._record import Result
from sphinx import addnodes
from sphinx.application import Sphinx
from sphinx.domains.python import PyObject
from sphinx.environment import BuildEnvironment

PAGES = Path(__file__).parents[1] / "reference"

#: Names that share a line of a docstring's attributes.
SHARED = re.compile(r"^\w+(, \w+)+ : ")

HEAD = """# Reference

Each room of the library answers one question. The types and the calls of every day also stand at
the top level: `import hangarc as ha`, then `ha.pose`, `ha.Hang` and so on. The core in Rust has a
<a href="../rust/hangarc/index.html">reference of its own</a>.

"""


class Pages:
    """Writes the pages and keeps which full name each public name has."""

    def __init__(self) -> None:
        self.full: dict[str, str] = {}
        self._where: dict[int, str] = {}
        shutil.rmtree(PAGES, ignore_errors=True)
        PAGES.mkdir()
        home = {name: getattr(hangarc, name) for name in hangarc.__all__}
        rooms = {name: value for name, value in home.items() if inspect.ismodule(value)}
        # First, since other rooms show some of its types too.
        rooms = {"model": rooms.pop("model"), **rooms}
        for name, module in rooms.items():
            self._room(f"hangarc.{name}", module)
        alone = [n for n, v in home.items() if callable(v) and id(v) not in self._where]
        for name in alone:
            self._name("hangarc", name, home[name])
        self._contents(rooms, [n for n in home if n in self.full], alone)

    def _contents(self, rooms: dict[str, Any], top: list[str], alone: list[str]) -> None:
        rows = [f"| {{py:mod}}`hangarc.{n}` | {first_line(v)} |" for n, v in rooms.items()]
        every_day = ", ".join(f"{{py:obj}}`{name} <{self.full[name]}>`" for name in top)
        tree = [f"{name} <hangarc.{name}>" for name in rooms]
        tree += [f"{name} <{place('hangarc', name)}>" for name in alone]
        text = "\n".join([HEAD, "| room | what it answers |", "|---|---|", *rows, "",
                          "## At the top level", "", every_day, "",
                          "```{toctree}", ":hidden:", "", *tree, "```", ""])  # fmt: skip
        (PAGES / "index.md").write_text(text, encoding="utf-8")

    def _room(self, path: str, module: Any) -> None:
        public = {name: getattr(module, name) for name in public_names(module)}
        inner = {n: v for n, v in public.items() if inspect.ismodule(v)}
        calls = {n: v for n, v in public.items() if inspect.isroutine(v)}
        types = {n: v for n, v in public.items() if inspect.isclass(v)}
        values = {n: v for n, v in public.items() if n not in {*inner, *calls, *types}}
        tree = []
        for name, value in {**calls, **types}.items():
            if id(value) not in self._where:
                self._name(path, name, value)
                tree.append(f"{name} <{place(path, name)}>")
        for name, value in inner.items():
            self._room(f"{path}.{name}", value)
            tree.append(f"{name} <{path}.{name}>")
        text = [heading(path.removeprefix("hangarc.")), f".. automodule:: {path}\n   :no-members:"]
        text += self._table("Calls", calls) + self._table("Types", types)
        if values:
            text.append(heading("Values", "-"))
        for name, value in values.items():
            shown = "" if str(value).startswith(("/", "{")) else f"\n   :value: {value!r}"
            text.append(f".. py:data:: {path}.{name}{shown}")
        if tree:
            text.append(".. toctree::\n   :hidden:\n\n   " + "\n   ".join(tree))
        (PAGES / f"{path}.rst").write_text("\n\n".join(text) + "\n", encoding="utf-8")

    def _table(self, title: str, names: dict[str, Any]) -> list[str]:
        if not names:
            return []
        rows = [
            f"   * - :py:obj:`{name} <{self._where[id(value)]}>`\n     - {first_line(value)}"
            for name, value in names.items()
        ]
        return [heading(title, "-"), ".. list-table::\n   :widths: 30 70", "\n".join(rows)]

    def _name(self, path: str, name: str, value: Any) -> None:
        self._where[id(value)] = f"{path}.{name}"
        # `hang` in a sentence is a hang, not the call of the demo data.
        key = f"demo.{name}" if path == "hangarc.demo" else name
        self.full.setdefault(key, f"{path}.{name}")
        kind = "autofunction" if inspect.isroutine(value) else "autoclass"
        options = "   :members:\n" if kind == "autoclass" and not issubclass(value, dict) else ""
        page = PAGES / f"{place(path, name)}.rst"
        page.parent.mkdir(parents=True, exist_ok=True)
        text = f"{heading(name)}\n\n.. currentmodule:: {path}\n\n.. {kind}:: {name}\n{options}"
        page.write_text(text, encoding="utf-8")


def place(path: str, name: str) -> str:
    """Where a name's page lies; types apart, as some file systems know no capitals."""
    kind = "types/" if name[0].isupper() else ""
    return f"{path.removeprefix('hangarc').lstrip('.') or 'top'}/{kind}{name}"


def public_names(module: Any) -> list[str]:
    """Names that a room shows."""
    return list(getattr(module, "__all__", [])) or [
        name
        for name, value in vars(module).items()
        if not name.startswith("_") and getattr(value, "__module__", "") == module.__name__
    ]


def first_line(value: Any) -> str:
    """Give the first sentence of a docstring."""
    return (inspect.getdoc(value) or "").split("\n\n", 1)[0].replace("\n", " ")


def heading(text: str, line: str = "=") -> str:
    """Underline a title."""
    return f"{text}\n{line * len(text)}"


def write(app: Sphinx) -> None:
    """Write the pages before Sphinx looks for them."""
    app.env.public_names = Pages().full  # type: ignore[attr-defined]


def find(
    app: Sphinx, env: BuildEnvironment, node: addnodes.pending_xref, content: nodes.TextElement
) -> nodes.reference | None:
    """Lead `Hang`, `ha.Hang` and `hangarc.Hang` to the room's page, wherever they are said."""
    if node.get("reftype") != "obj":
        return None
    known: dict[str, str] = env.public_names  # type: ignore[attr-defined]
    target = node["reftarget"].removeprefix("hangarc.").removeprefix("ha.")
    found = env.domains["py"].objects.get(known.get(target, f"hangarc.{target}"))
    if found is None:
        return None
    where = app.builder.get_relative_uri(node["refdoc"], found.docname)
    return nodes.reference("", "", content, internal=True, refuri=f"{where}#{found.node_id}")


def signature(
    app: Sphinx, what: str, name: str, value: Any, options: Any, shown: str, returned: str
) -> tuple[str, str] | None:
    """Show what a type is built from; a result is not built by its reader."""
    if what != "class" or not dataclasses.is_dataclass(value):
        return None
    if issubclass(value, Result):
        return "", ""
    fields = ["*"]
    for field in dataclasses.fields(value):
        if field.default is not dataclasses.MISSING:
            fields.append(f"{field.name}={field.default!r}")
        else:
            built = field.default_factory is not dataclasses.MISSING
            fields.append(f"{field.name}=…" if built else field.name)
    return f"({', '.join(fields)})", ""


def names_of_one_line(
    app: Sphinx, what: str, name: str, value: Any, options: Any, lines: list[str]
) -> None:
    """Keep attributes that share a line together: at a space Sphinx would take them apart."""
    for index, line in enumerate(lines):
        if SHARED.match(line):
            lines[index] = line.replace(", ", ",\u200b", line.partition(" : ")[0].count(", "))


def setup(app: Sphinx) -> dict[str, Any]:
    """Write the pages, and find names from everywhere."""
    app.connect("autodoc-process-signature", signature)
    app.connect("autodoc-process-docstring", names_of_one_line, priority=400)
    for field in PyObject.doc_field_types:
        if field.name == "variable":
            field.label = "Attributes"  # which Sphinx calls variables
    app.connect("builder-inited", write)
    app.connect("missing-reference", find)
    return {"parallel_read_safe": False, "parallel_write_safe": True}
