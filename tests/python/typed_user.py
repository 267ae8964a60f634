"""A user's scripts that touch each public name, for `mypy --strict` in `make lint`.

`python typed_user.py FOLDER` writes two: `names.py` names everything there is, and `examples.py` is
what the docstrings show. An example shows an answer that is there where a type also allows None, so
that mypy is told not to ask about None in it.
"""

from __future__ import annotations

import doctest
import inspect
import sys
import textwrap
from pathlib import Path

from test_examples import DOCUMENTED

HEAD = "import hangarc as ha\n"


def names() -> str:
    """Every name, as an editor completes it."""
    modules = {name: value for name, value in DOCUMENTED.items() if inspect.ismodule(value)}
    inner = [f"import {value.__name__}\n" for name, value in modules.items() if name.count(".") > 1]
    touched = "".join(f"    {name},\n" for name in DOCUMENTED if name != "ha")
    return f"{HEAD}{''.join(inner)}\ntouched: tuple[object, ...] = (\n{touched})\n"


def examples() -> str:
    """Each example as a function of its own."""
    parts = ["# mypy: no-strict-optional\n", HEAD]
    for number, (name, value) in enumerate(DOCUMENTED.items()):
        found = doctest.DocTestParser().get_examples(inspect.getdoc(value) or "")
        body = "".join(example.source for example in found if example.source != HEAD)
        parts.append(f"\n\ndef example_{number}() -> None:\n")
        parts.append(textwrap.indent(f"# {name}\n{body}", "    "))
    return "".join(parts)


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "names.py").write_text(names(), encoding="utf-8")
    (folder / "examples.py").write_text(examples(), encoding="utf-8")
