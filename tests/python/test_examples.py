"""Every public name has an example in its docstring, and every example gives what it says."""

from __future__ import annotations

import doctest
import inspect
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import hangarc as ha
import matplotlib.pyplot as plt
import pytest


def homes() -> Iterator[tuple[str, ModuleType]]:
    """The rooms, the formats of `ha.io`, and the top level."""
    for name in ha.__all__:
        room = getattr(ha, name)
        if inspect.ismodule(room):
            yield f"ha.{name}", room
            for inner in getattr(room, "__all__", ()):
                if inspect.ismodule(getattr(room, inner)):
                    yield f"ha.{name}.{inner}", getattr(room, inner)
    yield "ha", ha


def methods(kind: type) -> dict[str, Any]:
    """What a type does beside holding fields; what it inherits is shown by its base."""
    return {
        name: getattr(kind, name)
        for name, value in vars(kind).items()
        if not name.startswith("_")
        and (isinstance(value, classmethod | staticmethod) or inspect.isfunction(value))
    }


def documented() -> dict[str, Any]:
    """Rooms, functions, types and methods that a reader of the reference meets."""
    found: dict[str, Any] = {}
    seen: set[int] = set()
    for home, module in homes():
        found[home] = module
        names = getattr(module, "__all__", None) or [
            name
            for name, value in vars(module).items()
            if not name.startswith("_") and getattr(value, "__module__", "") == module.__name__
        ]
        for name in names:
            value = getattr(module, name)
            if not (inspect.isroutine(value) or inspect.isclass(value)) or id(value) in seen:
                continue
            seen.add(id(value))
            found[f"{home}.{name}"] = value
            if inspect.isclass(value):
                found |= {f"{home}.{name}.{inner}": m for inner, m in methods(value).items()}
    return found


DOCUMENTED = documented()


def test_there_are_as_many_names_as_the_rooms_show() -> None:
    assert len(DOCUMENTED) > 250


@pytest.mark.parametrize("name", DOCUMENTED)
def test_the_example_gives_what_it_says(name: str) -> None:
    text = inspect.getdoc(DOCUMENTED[name]) or ""
    assert "\nExamples\n--------\n" in text, f"{name} has no example"
    example = doctest.DocTestParser().get_doctest(text, {}, name, None, None)
    said: list[str] = []
    runner = doctest.DocTestRunner(verbose=False)
    runner.run(example, out=said.append)
    plt.close("all")
    assert example.examples, f"{name} has no example"
    assert any(one.want for one in example.examples), f"the example of {name} shows nothing"
    assert not said, "".join(said)
