"""One finds one's way: a short top level, rooms that answer one question, imports one way."""

from __future__ import annotations

import ast
import inspect
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import get_args

import hangarc as ha
import pytest
from hangarc._words import LanguageCode
from hangarc.sweeps.families import FamilyKind

HERE = Path(ha.__file__).parent
# In the order of DEVELOPERS.md: a room imports from those before it only.
ROOMS = [
    *("model", "acoustics", "statics", "closing", "suspension", "wind", "search", "work"),
    *(
        "survey",
        "second_opinion",
        "uncertainty",
        "io",
        "plot",
        "report",
        "sweeps",
        "demo",
        "lesson",
    ),
]
# Of the first table: what is neither a folder of `src` nor a room.
HOMES = ("`python/hangarc`", "`tests`", "`benches`", "`notebooks`")
# The call contract: name and room; those without a room stand at the top level alone.
CONTRACT = {
    "model": "Cabinet FlyFrame BottomFrame ClosingGear Hang Goals",
    "acoustics": "air_absorption_db_per_m pressure evenness_db unevenness seat_levels throws sees",
    "statics": "pose hoist_loads hanging_tilt pick_for_tilt joint_loads",
    "closing": "close shortening",
    "suspension": "bridle beam rigid_hang",
    "wind": "wind_loads",
    "search": "optimise_splays",
    "second_opinion": "verify",
    "sweeps": "sweep",
    "": "evaluate InputError",
}


def test_the_top_level_shows_a_few_names_and_the_rooms() -> None:
    assert dir(ha) == sorted(ha.__all__)
    modules = [name for name in dir(ha) if inspect.ismodule(getattr(ha, name))]
    assert modules == sorted(ROOMS)
    assert 30 <= len(dir(ha)) - len(modules) - 1 <= 45  # and `__version__`


def test_the_tables_of_rooms_in_developers_md_match_the_tree() -> None:
    top = Path(__file__).parents[2]
    text = (top / "DEVELOPERS.md").read_text(encoding="utf-8")
    firsts = [line.split("|")[1].strip() for line in text.splitlines() if line.startswith("| `")]
    assert [first[4:-1] for first in firsts if first.startswith("`ha.")] == ROOMS
    folders = {first.strip("`") for first in firsts if first.startswith("`src/")}
    there = {f"src/{path.name}" for path in (top / "src").iterdir() if path.is_dir()}
    assert folders == there | {"src/threads.rs"}
    assert all((top / first.strip("`")).exists() for first in firsts if first in HOMES)


@pytest.mark.parametrize("room", CONTRACT)
def test_the_call_contract_stands_at_the_top_and_in_its_room(room: str) -> None:
    for name in CONTRACT[room].split():
        assert name in ha.__all__
        if room:
            assert getattr(getattr(ha, room), name) is getattr(ha, name)


@pytest.mark.parametrize("room", ROOMS)
def test_every_name_of_a_room_is_there_and_said_in_a_docstring(room: str) -> None:
    here = getattr(ha, room)
    assert here.__doc__
    for name in getattr(here, "__all__", ()):
        value = getattr(here, name)
        assert value.__doc__, name


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_from_the_rooms_before_it_only(room: str) -> None:
    files = [HERE / f"{room}.py", *sorted((HERE / room).rglob("*.py"))]
    later = set(ROOMS[ROOMS.index(room) + 1 :])
    for file in files:
        if not file.exists() or (room, file.name) in {("demo", "make.py")}:
            continue
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("hangarc"):
                parts = (node.module or "").split(".")
                used = {parts[1]} if len(parts) > 1 else {name.name for name in node.names}
                assert not used & later, f"{file.name} imports {used & later}"


def public() -> dict[str, Callable[..., object]]:
    """Every function, type and method that a user may call, by its name."""
    found: dict[str, Callable[..., object]] = {}
    for room in ("", *ROOMS):
        here = getattr(ha, room) if room else ha
        for name in getattr(here, "__all__", [n for n in vars(here) if not n.startswith("_")]):
            value = getattr(here, name)
            if inspect.ismodule(value) and room == "io":
                found |= {
                    f"io.{name}.{inner}": function
                    for inner, function in vars(value).items()
                    if inspect.isfunction(function)
                    and function.__module__ == value.__name__
                    and not inner.startswith("_")
                }
            if not callable(value) or not str(getattr(value, "__module__", "")).startswith("hang"):
                continue
            found[f"{room}.{name}"] = value
            if inspect.isclass(value):
                for inner, method in inspect.getmembers(value, callable):
                    own = str(getattr(method, "__module__", "")).startswith("hangarc")
                    if not inner.startswith("_") and own:
                        found[f"{room}.{name}.{inner}"] = method
    # Neither an error nor the keys of `limits` are asked anything.
    return {
        name: value
        for name, value in found.items()
        if not (inspect.isclass(value) and issubclass(value, Exception | dict))
    }


PUBLIC = public()


@pytest.mark.parametrize("name", PUBLIC)
def test_an_unknown_keyword_is_refused_with_the_nearest_name(name: str) -> None:
    known = [
        parameter.name
        for parameter in inspect.signature(PUBLIC[name]).parameters.values()
        if parameter.kind is not parameter.VAR_KEYWORD and parameter.name != "self"
    ]
    wrong = f"{known[-1]}s" if known else "no_such_name"
    with pytest.raises(ha.InputError) as caught:
        PUBLIC[name](**{wrong: 1.0})
    assert caught.value.field == wrong
    assert caught.value.allowed.startswith(f"{known[-1]}, the nearest of" if known else "no ")


def test_it_is_imported_without_optional_packages() -> None:
    code = (
        "import sys\n"
        "for name in ('pyarrow', 'matplotlib', 'scipy', 'ezdxf', 'pymvr', 'sofar', 'typst'):\n"
        "    sys.modules[name] = None\n"
        "import hangarc as ha\n"
        "assert ha.air_absorption_db_per_m(1000.0) > 0.0"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_a_room_is_imported_on_first_use() -> None:
    """So a start costs little: `python -X importtime -c "import hangarc"`."""
    code = (
        "import sys, hangarc as ha\n"
        f"rooms = {ROOMS!r}\n"
        "there = lambda: [room for room in rooms if f'hangarc.{room}' in sys.modules]\n"
        "assert not there(), there()\n"
        "assert not {'tqdm', 'click', 'babel'} & set(sys.modules)\n"
        "ha.Air()\n"
        "assert there() == ['model'], there()\n"
        "from hangarc import *\n"
        "assert set(rooms) <= set(globals())\n"
        "assert not [name for name in ha.__all__ if name not in globals()]\n"
        "try:\n"
        "    ha.nothing_of_this_name\n"
        "except AttributeError as error:\n"
        "    assert 'nothing_of_this_name' in str(error)\n"
        "else:\n"
        "    raise AssertionError\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_the_import_alone_waits_for_no_numpy() -> None:
    script = "import sys, hangarc; assert 'numpy' not in sys.modules; hangarc.thread_count()"
    subprocess.run([sys.executable, "-c", script], check=True)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("hoist_load", "the nearest is 'hoist_loads'"),
        ("build_up", "it is in the room 'hangarc.statics'"),
        ("Hangs", "the nearest is 'Hang'"),
    ],
)
def test_a_name_that_is_not_at_the_top_is_told_where_it_is(name: str, told: str) -> None:
    with pytest.raises(AttributeError, match=told):
        getattr(ha, name)


def test_the_choices_that_an_editor_completes_are_those_there_are() -> None:
    assert list(get_args(LanguageCode)) == ha.report.languages()
    assert get_args(FamilyKind) == tuple(ha.sweeps.FAMILIES)
