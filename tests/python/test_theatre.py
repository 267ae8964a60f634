"""The second demo: a theatre with mains, outfill and delays, a sheet for each in one document."""

from __future__ import annotations

import dataclasses
import itertools
from pathlib import Path

import hangarc as ha
import numpy as np
import pytest
from click.testing import CliRunner
from hangarc import cli, plot
from hangarc.cli import commands
from hangarc.demo import theatre
from hangarc.search import System, arrivals_s
from hangarc.search.system import sited
from pypdf import PdfReader

FILES = (
    "sheet.txt",
    "sheet.html",
    "sheet.pdf",
    "seat-plan.png",
    "system-section.png",
    "arrivals.png",
)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("theatre")
    done = CliRunner().invoke(
        commands, ["study", "--demo", "theatre", "--out", str(out), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    return out


def test_one_document_holds_a_sheet_of_every_hang(written: Path) -> None:
    text = (written / "sheet.txt").read_text(encoding="utf-8")
    assert "CAUTION" in text
    for name in ("mains", "outfill", "delays"):
        assert f"{name}: Build" in text
        assert (written / f"{name}-roof.csv").exists()
        answer = ha.Answer.from_json((written / f"{name}-answer.json").read_text("utf-8"))
        assert answer.study.name == name
        assert answer.job.position_m == answer.study.site.position_m
    for name in FILES:
        assert (written / name).stat().st_size > 5_000
    page = (written / "sheet.html").read_text(encoding="utf-8")
    assert page.count("<svg") + page.count("image/svg") >= 6


def test_the_delays_arrive_shortly_after_the_mains_under_the_balcony(written: Path) -> None:
    system = System.from_json((written / "system.json").read_text("utf-8"))
    answers = {
        study.name: ha.Answer.from_json((written / f"{study.name}-answer.json").read_text("utf-8"))
        for study in system.hangs
    }
    hung = [
        ha.model.Neighbour(
            name=name,
            hang=answer.hang,
            tilt_deg=answer.search.tilt_deg,
            top_m=answer.search.top_m,
            site=answer.study.site,
        )
        for name, answer in answers.items()
    ]
    times = dict(zip(answers, arrivals_s(hung, np.array([theatre.SHARED_M]))[:, 0], strict=True))
    # The search tilts the hangs after the delay is set: some centimetres, tenths of a millisecond.
    assert times["delays"] - times["mains"] == pytest.approx(theatre.LATER_S, abs=1e-3)
    # The seats of every sheet hear all hangs.
    heard = [answer.search.unevenness_db for answer in answers.values()]
    assert max(heard) - min(heard) < 0.05


def test_a_system_is_answered_from_its_file(tmp_path: Path) -> None:
    asked = theatre.system()
    small = dataclasses.replace(asked, hangs=asked.hangs[1:], name="Outfill and delays (demo data)")
    (tmp_path / "system.json").write_text(small.to_json(), encoding="utf-8")
    out = tmp_path / "out"
    done = CliRunner().invoke(
        commands, ["study", str(tmp_path / "system.json"), "--out", str(out), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    assert "outfill: Build" in (out / "sheet.txt").read_text(encoding="utf-8")
    assert System.from_json((out / "system.json").read_text("utf-8")) == small
    refused = CliRunner().invoke(
        commands, ["study", str(tmp_path / "system.json"), "--out", str(out), "--prove"]
    )
    assert refused.exit_code != 0
    assert "--prove is for a study of one hang" in refused.output


def test_the_delays_aim_at_the_rows_they_are_for_and_few_axes_end_on_the_front(
    written: Path,
) -> None:
    answers = {
        name: ha.Answer.from_json((written / f"{name}-answer.json").read_text("utf-8"))
        for name in ("mains", "delays")
    }
    areas = [area.name for area in theatre.system().venue.areas]
    for throw in answers["delays"].throws:
        assert throw is not None
        assert throw.area is not None
        assert areas[throw.area] == "under balcony"
    on_front = [t for t in answers["mains"].throws if t is not None and t.area is None]
    assert len(on_front) <= 1


def test_each_hang_has_its_form_for_the_readings_and_its_twin_one_too(
    written: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = ha.Answer.from_json((written / "mains-answer.json").read_text("utf-8"))
    text = " ".join((written / "sheet.txt").read_text("utf-8").split())
    assert "Write the readings into mains-readings.csv; hangarc check mains-readings.csv" in text
    for name in ("mains", "mains (twin)"):
        file = written / f"{name}-readings.csv"
        blank = ha.survey.Readings.from_csv(file.read_text("utf-8"))
        read = [
            dataclasses.replace(row, value=bound.planned)
            for row, bound in zip(blank.at_trim, answer.work.bounds, strict=True)
        ]
        file.write_text(dataclasses.replace(blank, at_trim=read).to_csv(), encoding="utf-8")
        assert cli.main(["check", str(file)]) == 0
        assert "ACCEPT" in capsys.readouterr().out
    roofs = [(written / f"mains{twin}-roof.csv").read_text("utf-8") for twin in ("", " (twin)")]
    (left, right) = ([row.split(",") for row in roof.splitlines()[1:3]] for roof in roofs)
    for one, other in zip(left, right, strict=True):
        assert float(one[2]) == pytest.approx(-float(other[2]))
        assert one[3:] == other[3:]
    assert "and as its twin x 0.00 m, y -7.00 m, pan +6°" in text


def test_what_the_seats_hear_stands_once_for_all_hangs(written: Path) -> None:
    text = (written / "sheet.txt").read_text("utf-8")
    assert text.count("Third octaves over the seats") + text.count("third octaves over the") == 1
    for name in ("mains", "outfill", "delays"):
        assert f"{name}: pins and aim" in text
        assert f"{name}: Sound" not in text
    assert "straight" not in text
    # A page about the system, two for the crew of each hang, one about the sound.
    assert len(PdfReader(written / "sheet.pdf").pages) == 1 + 2 * 3 + 1


def test_a_system_with_a_hang_that_cannot_be_hung_says_so_first(tmp_path: Path) -> None:
    asked = theatre.system()
    weak = dataclasses.replace(asked.hangs[1], hoist_limit_n=100.0)
    small = dataclasses.replace(asked, hangs=[weak, asked.hangs[2]])
    (tmp_path / "system.json").write_text(small.to_json(), encoding="utf-8")
    done = CliRunner().invoke(
        commands, ["study", str(tmp_path / "system.json"), "--out", str(tmp_path), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    text = (tmp_path / "sheet.txt").read_text("utf-8")
    assert "DO NOT HANG · outfill: Loads and limits" in text
    assert "\ndelays: Build" in text
    first, *_ = text.split("outfill: Not to be")
    assert "DO NOT HANG outfill: hoist 1 is" in first
    assert "DO NOT HANG delays" not in first


def test_names_in_the_section_and_on_the_plan_cover_no_axis(written: Path) -> None:
    """Neither of hangs nor of floors; `name_things` chooses from places of its own."""
    system = System.from_json((written / "system.json").read_text("utf-8"))
    hung = []
    for study in system.hangs:
        text = (written / f"{study.name}-answer.json").read_text("utf-8")
        search = ha.Answer.from_json(text).search
        hung += sited(study, search.hang, search.tilt_deg, search.top_m)
    ax = plot.system_section(hung, system.venue)
    figure = ax.get_figure(root=True)
    assert figure is not None
    figure.canvas.draw()
    axes = [
        line for line in ax.lines if line.get_color() == plot.SECOND and len(line.get_xdata()) > 1
    ]
    assert len(axes) == sum(len(one.hang.cabinets) for one in hung if "twin" not in one.name)
    share = np.linspace(0.0, 1.0, 400)[:, None]
    for words in ax.texts:
        box = words.get_window_extent()
        for line in axes:
            start, end = ax.transData.transform(line.get_xydata())
            seen = start + share * (end - start)
            inside = ((seen > box.min) & (seen < box.max)).all(axis=1)
            assert not inside.any(), words.get_text()
    for one, other in itertools.combinations(ax.texts, 2):
        assert not one.get_window_extent().overlaps(other.get_window_extent())
