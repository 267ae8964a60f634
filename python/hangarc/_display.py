"""What a notebook shows of a result: a small picture beside a table, self-contained and escaped."""

from __future__ import annotations

import dataclasses
import html
import re
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

import numpy as np

#: Units at the ends of names, the longest first.
UNITS = {
    "_m_s2": "m/s²", "_deg2": "°²", "_kg_m3": "kg/m³", "_n_m2": "N/m²", "_nm_deg": "N m/°",
    "_db_per_m": "dB/m", "_n_deg": "N/°", "_kg_m": "kg/m", "_n_m": "N/m", "_m_s": "m/s",
    "_nm2": "N m²", "_m2": "m²", "_m3": "m³", "_percent": "%", "_kpa": "kPa", "_deg": "°",
    "_nm": "N m", "_kg": "kg", "_db": "dB", "_hz": "Hz", "_pa": "Pa", "_ms": "ms", "_mm": "mm",
    "_n": "N", "_m": "m", "_s": "s", "_c": "°C", "_j": "J",
}  # fmt: skip

LONGEST_ROW = 16
ROWS_SHOWN = 60
LEFT = "style='text-align:left;vertical-align:top'"


def label(name: str) -> str:
    """Turn a field's name into words with their unit: ``force_n`` is ``force, N``."""
    for end, unit in UNITS.items():
        if name.endswith(end) and len(name) > len(end):
            return f"{name.removesuffix(end).replace('_', ' ')}, {unit}"
    return name.replace("_", " ")


def html_table(caption: str, rows: Sequence[tuple[str, Any]], picture: str = "") -> str:
    """Give a table of two columns, with a picture beside it where there is one."""
    return _beside(_table(caption, rows), picture)


def _table(caption: str, rows: Sequence[tuple[str, Any]], depth: int = 0) -> str:
    body = "".join(
        f"<tr><th {LEFT}>{html.escape(name)}</th><td {LEFT}>{cell(value, depth)}</td></tr>"
        for name, value in rows
    )
    return f"<table><caption>{html.escape(caption)}</caption>{body}</table>"


def _beside(table: str, picture: str) -> str:
    if not picture:
        return table
    return (
        "<div style='display:flex;flex-wrap:wrap;gap:1em;align-items:flex-start'>"
        f"<div>{image(picture)}</div><div>{table}</div></div>"
    )


def image(svg: str, about: str = "") -> str:
    """Give a drawing as an image that carries itself.

    Pages that do not trust a stored output drop drawings from it, and keep images.
    """
    words = about or next(iter(re.findall("<title>(.*?)</title>", svg)), "a drawing")
    packed = quote(svg.replace('"', "'"), safe="/:=,;+ ()'.-")
    return f'<img alt="{words}" src="data:image/svg+xml;charset=utf-8,{packed}" />'


def cell(value: Any, depth: int = 0) -> str:
    """Give one value as HTML: numbers to five digits, tables folded away."""
    if isinstance(value, str):
        return html.escape(value)
    if value is None:
        return "none"
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, int | float | np.number):
        return html.escape(number(value))
    if isinstance(value, np.ndarray):
        return html.escape(_array(value))
    if dataclasses.is_dataclass(value):
        return _folded(value, depth)
    if isinstance(value, Mapping):
        return html.escape(", ".join(f"{key}" for key in value)) if value else "none"
    if isinstance(value, list | tuple):
        return _listed(value, depth)
    return html.escape(str(value)[:200])


def number(value: Any) -> str:
    """Give a number to five digits, whole ones as they are."""
    if isinstance(value, int | np.integer):
        return f"{value}"
    if isinstance(value, complex | np.complexfloating):
        return f"{value:.5g}"
    size, value = abs(float(value)), value + 0.0  # no −0
    return f"{value:.5g}" if size < 1e5 or not np.isfinite(size) else f"{value:.0f}"


def _array(array: np.ndarray[Any, Any]) -> str:
    if array.ndim <= 1 and array.size <= LONGEST_ROW:
        return ", ".join(cell(item) for item in array.ravel().tolist()) or "none"
    if array.ndim == 2 and array.size <= LONGEST_ROW:
        return "; ".join(", ".join(cell(item) for item in row) for row in array.tolist())
    shape = " × ".join(map(str, array.shape))
    if array.dtype.kind in "fi" and array.size and np.isfinite(array).any():
        low, high = np.nanmin(array), np.nanmax(array)
        return f"{shape} values, {number(low)} to {number(high)}"
    return f"{shape} values"


def _folded(value: Any, depth: int) -> str:
    """A part folded away under its name; deeper ones by name alone."""
    name = type(value).__name__
    if depth > 0 or not hasattr(value, "_summary"):
        return html.escape(name)
    inner = _table("", value._summary(), depth + 1).replace("<caption></caption>", "")
    return f"<details><summary>{html.escape(name)}</summary>{inner}</details>"


def _listed(values: Sequence[Any], depth: int) -> str:
    if not values:
        return "none"
    if all(isinstance(value, int | float | str | np.number) for value in values):
        if len(values) <= LONGEST_ROW:
            return ", ".join(cell(value) for value in values)
        return html.escape(f"{len(values)} values")
    if len(values) <= 4 and all(isinstance(value, tuple) for value in values):
        return "; ".join(_listed(value, depth) for value in values)
    kinds = {type(value).__name__ for value in values if value is not None}
    name = f"{len(values)} × {kinds.pop()}" if len(kinds) == 1 else f"{len(values)} items"
    if depth > 0 or not all(v is None or dataclasses.is_dataclass(v) for v in values):
        return html.escape(name)
    inner = table_of(values)
    return f"<details><summary>{html.escape(name)}</summary>{inner}</details>"


def _stated(name: str, value: Any) -> str:
    """Give one cell; a limit that nobody stated says so, and is no pass."""
    if value is None and ("limit" in name or name == "utilisation"):
        return "not stated"
    if name == "utilisation":
        return f"{value:.0%}"
    return cell(value, 1)


def table_of(values: Sequence[Any]) -> str:
    """Give records of one kind as a table, one per row; those that are None say so."""
    first = next((value for value in values if value is not None), None)
    if first is None:
        return "none"
    names = getattr(first, "_shown", ()) or [field.name for field in dataclasses.fields(first)]
    head = "".join(f"<th>{html.escape(label(name))}</th>" for name in names)
    body = []
    for value in values[:ROWS_SHOWN]:
        if type(value) is not type(first):
            body.append(f"<tr><td colspan='{len(names)}'>{cell(value, 1)}</td></tr>")
            continue
        cells = (f"<td>{_stated(name, getattr(value, name))}</td>" for name in names)
        body.append(f"<tr>{''.join(cells)}</tr>")
    if len(values) > ROWS_SHOWN:
        left_out = len(values) - ROWS_SHOWN
        body.append(f"<tr><td colspan='{len(names)}'>… {left_out} more</td></tr>")
    return f"<table><tr>{head}</tr>{''.join(body)}</table>"
