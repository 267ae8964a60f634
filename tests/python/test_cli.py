"""The commands do what they say, or say in one line why not."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import builders
import click
import hangarc as ha
import pytest
from hangarc import cli

FILES = {
    "sheet.txt",
    "sheet.html",
    "sheet.pdf",
    "answer.json",
    "readings.json",
    "readings.csv",
    "roof.csv",
} | {
    f"{name}.{kind}"
    for name in ("section", "column", "plan", "levels", "forces")
    for kind in ("svg", "png")
}


@pytest.fixture
def study_file(tmp_path: Path) -> Path:
    path = tmp_path / "study.json"
    path.write_text(builders.study(min_trim_m=2.0).to_json(), encoding="utf-8")
    return path


def test_a_study_is_answered_with_every_file(
    study_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "deep" / "out"
    assert cli.main(["study", str(study_file), "--out", str(out)]) == 0
    assert {path.name for path in out.iterdir()} == FILES
    printed = capsys.readouterr().out
    assert (out / "sheet.txt").read_text("utf-8") in printed
    assert printed.startswith("Hang sheet: demo data study")
    value = json.loads((out / "answer.json").read_text("utf-8"))["value"]
    assert ha.Study.from_dict(value["study"]) == builders.study(min_trim_m=2.0)


def test_the_module_runs_as_a_program(study_file: Path, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "hangarc", "study", study_file, "--out", tmp_path / "o", "--quiet"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert done.stdout == ""
    assert "searching" in done.stderr


def test_the_sheet_says_its_spreads_where_tolerances_are_given(
    study_file: Path, tmp_path: Path
) -> None:
    off = tmp_path / "off.json"
    off.write_text(ha.uncertainty.Tolerances(mass_share=0.02).to_json(), encoding="utf-8")
    out = tmp_path / "out"
    call = ["study", str(study_file), "--out", str(out), "--quiet", "--tolerances", str(off)]
    assert cli.main(call) == 0
    assert "What ± means" in (out / "sheet.txt").read_text("utf-8")
    assert "±" in (out / "sheet.html").read_text("utf-8")


def test_a_venue_is_read_from_a_drawing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "venue.json"
    arguments = ["venue-from-dxf", str(ha.demo.SECTION_DXF), "--out", str(out), "--origin", "HANG"]
    layers = ["--layers", str(ha.demo.SECTION_LAYERS_JSON)]
    venue = ha.demo.study().venue
    assert cli.main([*arguments, *layers, "--name", venue.name]) == 0
    assert ha.Venue.from_json(out.read_text("utf-8")) == venue
    assert "Balcony: 736 seats" in capsys.readouterr().out

    assert cli.main([*arguments, "--seats", "SEATS-BALCONY=30"]) == 0
    (area,) = ha.Venue.from_json(out.read_text("utf-8")).areas
    assert area.width_m == (30.0, 30.0)


def refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert cli.main(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.count("\n") == 1
    assert captured.err.startswith("hangarc: ")
    return captured.err


def test_each_bad_call_is_refused_in_one_line(
    tmp_path: Path, study_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = ["--out", str(tmp_path / "out")]
    off = tmp_path / "off.json"
    off.write_text(ha.uncertainty.Tolerances(tilt_deg=0.1).to_json(), encoding="utf-8")
    binary, broken = tmp_path / "binary.json", tmp_path / "broken.json"
    binary.write_bytes(b"\xff\xfe\x00")
    broken.write_text(study_file.read_text("utf-8").replace('"mass_kg": 64.0', '"mass_kg": -1'))
    dxf = ["venue-from-dxf", str(ha.demo.SECTION_DXF), "--out", str(tmp_path / "v.json")]
    calls = [
        (["study", *out], "--demo"),
        (["study", str(study_file), "--demo", *out], "--demo"),
        (["study", str(study_file)], "--out"),
        (["study", str(tmp_path / "missing.json"), *out], "missing.json"),
        (["study", str(tmp_path), *out], str(tmp_path)),
        (["study", str(binary), *out], "UTF-8"),
        (["study", str(broken), *out], "mass_kg"),
        (["study", str(study_file), "--out", str(study_file)], "study.json"),
        (["study", str(study_file), "--seed", "-1", *out], "--seed"),
        (["study", str(study_file), "--sead", "1", *out], "--sead"),
        (["study", str(study_file), "--tolerances", str(study_file), *out], "kind"),
        (["study", "--demo", "theatre", "--tolerances", str(off), *out], "--tolerances"),
        (["brew"], "brew"),
        ([*dxf, "--seats", "NOWHERE=10"], "SEATS-STALLS"),
        ([*dxf, "--seats", "SEATS-STALLS=wide"], "--seats"),
        ([*dxf, "--seats", "SEATS-STALLS=nan"], "width_m"),
        ([*dxf], "layers"),
        ([*dxf, "--layers", str(binary)], "UTF-8"),
        ([*dxf, "--layers", str(study_file.parent / "missing.json")], "missing.json"),
    ]
    for arguments, word in calls:
        assert word in refused(arguments, capsys), arguments
    assert not (tmp_path / "out").exists() or not any((tmp_path / "out").iterdir())


@pytest.mark.parametrize("arguments", [["--help"], ["study", "--help"], ["--version"], []])
def test_help_and_version_are_given(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    code = cli.main(arguments)
    captured = capsys.readouterr()
    assert code in (0, 2)
    assert "hangarc" in captured.out + captured.err


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_ctrl_c_ends_a_search_at_once_and_writes_nothing(tmp_path: Path) -> None:
    out = tmp_path / "out"
    running = subprocess.Popen(
        [sys.executable, "-m", "hangarc", "study", "--demo", "--out", out],
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        # A shell starts background jobs with this signal ignored, and children inherit that.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    assert running.stderr is not None
    seen = ""
    while "searching" not in seen:
        more = running.stderr.read(1)
        assert more, f"it ended before it searched: {seen}"
        seen += more
    time.sleep(0.3)
    running.send_signal(signal.SIGINT)
    stdout, stderr = running.communicate(timeout=30)
    assert running.returncode == 130
    assert stdout == ""
    assert "Traceback" not in stderr
    assert stderr.rstrip().endswith("stopped by Ctrl-C; nothing was written")
    assert not list(out.iterdir())


def test_help_lists_the_commands_in_plain_words_in_the_order_of_use(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main(["--help"]) == 0
    shown = capsys.readouterr().out
    assert "hangarc study --demo --out out" in shown
    listed = [line.split()[0] for line in shown.split("Commands:")[1].splitlines() if line.strip()]
    assert listed == ["study", "check", "venue-from-dxf", "sweep", "family"]
    assert "..." not in shown.split("Commands:")[1]


@pytest.mark.parametrize("command", ["study", "check", "venue-from-dxf", "sweep", "family"])
def test_every_option_says_what_it_does(command: str) -> None:
    for parameter in cli.commands.commands[command].params:
        assert isinstance(parameter, click.Argument) or getattr(parameter, "help", None), parameter


@pytest.mark.parametrize("command", [[], *([name] for name in cli.commands.commands)])
def test_help_is_plain_words(command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main([*command, "--help"]) == 0
    assert not {"\\", "\b"} & set(capsys.readouterr().out)
