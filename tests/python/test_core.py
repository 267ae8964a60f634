"""What crosses from the core is what the stub says: every key, and the type of every value."""

from __future__ import annotations

import ast
import builtins
import inspect
import types
import typing
from collections.abc import Callable
from pathlib import Path
from typing import Any

import fuzzing
import hangarc as ha
import numpy as np
import pytest
from hangarc import _core, _fields, _words
from numpy.typing import NDArray

STUB = ast.parse((Path(ha.__file__).parent / "_core.pyi").read_text(encoding="utf-8"))
NAMES = {
    **vars(builtins),
    **vars(_core),
    **{"_fields": _fields, "np": np, "NDArray": NDArray, "Any": Any},
}


def returned(node: ast.FunctionDef) -> Any:
    """The type that a function of the stub gives."""
    assert node.returns is not None
    return eval(compile(ast.Expression(node.returns), "_core.pyi", "eval"), NAMES)


RETURNS = {node.name: returned(node) for node in STUB.body if isinstance(node, ast.FunctionDef)}
METHODS = {
    f"{kind.name}.{node.name}": returned(node)
    for kind in STUB.body
    if isinstance(kind, ast.ClassDef)
    for node in kind.body
    if isinstance(node, ast.FunctionDef) and node.name in ("fields", "span_uses", "left_out")
}


def wrong(value: Any, hint: Any, path: str) -> list[str]:
    """Where `value` is not of the type `hint`."""
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if hint is Any:
        return []
    if typing.is_typeddict(hint):
        fields = typing.get_type_hints(hint)
        if not isinstance(value, dict):
            return [f"{path}: {type(value)}"]
        if value.keys() != fields.keys():
            return [f"{path}: {sorted(set(value) ^ set(fields))}"]
        return [w for name in fields for w in wrong(value[name], fields[name], f"{path}.{name}")]
    if origin in (typing.Union, types.UnionType):
        found = [wrong(value, one, path) for one in arguments]
        return [] if [] in found else min(found, key=len)
    if origin is typing.Literal:
        return [] if value in arguments else [f"{path}: {value!r} is none of {arguments}"]
    if origin is np.ndarray:
        (dtype,) = typing.get_args(arguments[1])
        fits = isinstance(value, np.ndarray) and value.dtype == np.dtype(dtype)
        return [] if fits else [f"{path}: {getattr(value, 'dtype', type(value))}"]
    if origin is dict:
        return [] if isinstance(value, dict) else [f"{path}: {type(value)}"]
    if origin is list:
        if type(value) is not list:
            return [f"{path}: {type(value)}"]
        return [
            w for i, item in enumerate(value) for w in wrong(item, arguments[0], f"{path}[{i}]")
        ]
    if origin is tuple:
        if type(value) is not tuple or len(value) != len(arguments):
            return [f"{path}: {value!r}"]
        pairs = zip(value, arguments, strict=True)
        return [
            w for i, (item, kind) in enumerate(pairs) for w in wrong(item, kind, f"{path}[{i}]")
        ]
    kind = type(None) if hint is None else hint
    return [] if type(value) is kind else [f"{path}: {type(value)}, not {kind}"]


@pytest.fixture(scope="module")
def answers() -> dict[str, list[Any]]:
    """What every function of the core gave while every public function was called once."""
    given: dict[str, list[Any]] = {}
    before = {name: getattr(_core, name) for name in RETURNS}

    def recorded(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any) -> Any:
            given.setdefault(name, []).append(function(*args))
            return given[name][-1]

        return call

    for name, function in before.items():
        setattr(_core, name, recorded(name, function))
    try:
        for function, arguments in fuzzing.calls().values():
            function(**arguments)
        ha.bridle([(0.0, 10.0), (4.0, 10.0)], apex_m=(2.0, 8.0), load_n=1000.0)
        ha.evaluate(fuzzing.STUDY)
        ha.suspension.heavy_leg(4.0, 0.0, weight_n_m=50.0, length_m=4.2)
        ha.suspension.heavy_leg(4.0, 0.0, weight_n_m=50.0, horizontal_n=500.0)
        ha.thread_count()
        ha.set_thread_count(None)
    finally:
        for name, function in before.items():
            setattr(_core, name, function)
    return given


# What no public function asks, or only on a machine's own terms.
UNASKED = {"fault", "registers", "sweep_study", "turn"}


@pytest.mark.parametrize("name", RETURNS)
def test_what_a_function_of_the_core_gives_is_what_the_stub_says(
    name: str, answers: dict[str, list[Any]]
) -> None:
    if name in UNASKED:
        assert inspect.isbuiltin(getattr(_core, name))
        return
    assert answers.get(name), f"nothing here asks {name}"
    assert not [w for value in answers[name] for w in wrong(value, RETURNS[name], name)]


def test_a_row_of_a_sweep_is_what_the_stub_says() -> None:
    asked: _fields.Asked = {"mode": "law", "seed": 0, "budget_evaluations": None}
    for text in (fuzzing.STUDY.to_json(), "{}"):
        row = _core.sweep_study(text, asked, False)
        assert not wrong(row, RETURNS["sweep_study"], "sweep_study")
    whole = _core.sweep_study(fuzzing.STUDY.to_json(), asked, True)
    search = typing.cast(dict[str, Any], whole).pop("search")
    assert not wrong(search, _fields.AnswerFields, "search")
    assert not wrong(whole, RETURNS["sweep_study"], "sweep_study")


def test_a_beam_and_a_balloon_give_what_the_stub_says() -> None:
    beam = ha.beam(4.0, [0.0, 4.0], [(2.0, 10.0)], 1e6)._core
    assert not wrong(beam.fields(), METHODS["Beam.fields"], "fields")
    uses = beam.span_uses([(5.0, 100.0, None)])
    assert not wrong(uses, METHODS["Beam.span_uses"], "span_uses")
    balloon = ha.acoustics.Balloon(
        [500.0, 1000.0, 2000.0], [0.0, 120.0, 240.0], [-90.0, 0.0, 90.0], fuzzing.SPHERE[[0, 0, 1]]
    )
    assert not wrong(balloon.handle.left_out(), METHODS["Balloon.left_out"], "left_out")


def test_the_words_of_the_core_are_all_typed() -> None:
    parts = {*_words._PARTS, *_words.JOINT_PARTS}
    assert set(typing.get_args(_words.Part)) == parts
    assert set(typing.get_args(_words.State)) == set(_words._STATES)
    assert set(typing.get_args(_words.ConstraintKind)) == {*_words._CONSTRAINTS, "limit"}
    uses = {"applied", *_words._FACTOR_LEFT_OUT}
    assert set(typing.get_args(_words.FactorUse)) == uses
