"""Small sweeps for tests, and what they write."""

from __future__ import annotations

import dataclasses
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import builders
import hangarc as ha
import pyarrow as pa

ASKED: dict[str, Any] = {"budget_evaluations": 60, "quiet": True}


BREAKS: dict[str, Any] = {
    "hang.frame.mass_kg": -75.0,
    "hang.cabinets[0].height_m": 0.0,
    "venue.areas[0].width_m": [],
    "air.humidity_percent": 101.0,
    "tilt_step_deg": "wide",
}


def base() -> ha.Study:
    return builders.study(
        hang=builders.hang([0.0] * 3),
        lines_per_band=1,
        tilt_step_deg=3.0,
        top_step_m=1.0,
        pick_x_m=(0.2, -0.8),
    )


def studies(count: int, kind: str = "shoebox") -> list[dict[str, Any]]:
    return list(ha.sweeps.ask(base(), ha.sweeps.venues(kind, count, seed=7)))


def broken(item: dict[str, Any], number: int) -> tuple[str, dict[str, Any]]:
    """One of five fields made wrong in the study's JSON text, and which."""
    data = json.loads(item["study"].to_json())
    path, value = list(BREAKS.items())[number % len(BREAKS)]
    *steps, last = path.replace("[0]", ".0").split(".")
    part = data["value"]
    for step in steps:
        part = part[int(step) if step.isdigit() else step]
    part[last] = value
    return path, {**item, "study": json.dumps(data)}


def rows(output: Path) -> bytes:
    """Everything a sweep wrote but the time it took, in the order of the input, as bytes."""
    parts = sorted(str(part) for part in output.glob("part-*.parquet"))
    table = pa.concat_tables([pa.parquet.read_table(part) for part in parts])
    table = table.drop_columns(["seconds"]).sort_by("place").combine_chunks()
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table, max_chunksize=1_000_000)
    return sink.getvalue().to_pybytes()


def command(work: str) -> list[str]:
    """A command that does `work` in a process of its own."""
    lines = "import pathlib, signal, sweeping, hangarc as ha\n"
    # A shell's background has it ignored.
    lines += "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    return [sys.executable, "-c", lines + work]


def sweep_file(path: Path | str, output: Path | str, asked: dict[str, Any]) -> None:
    ha.sweep(path, output, **asked)


def started(command: list[str], **how: Any) -> subprocess.Popen[str]:
    return subprocess.Popen(
        command,
        cwd=os.path.dirname(__file__),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **how,
    )


def with_air(item: dict[str, Any], temperature_c: float) -> dict[str, Any]:
    changed = dataclasses.replace(item["study"], air=ha.Air(temperature_c=temperature_c))
    return {**item, "study": changed}
