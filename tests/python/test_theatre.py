"""The second demo: a theatre with mains, outfill and delays, a sheet for each in one document."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import hangarc as ha
import numpy as np
import pytest
from click.testing import CliRunner
from hangarc.cli import commands
from hangarc.demo import theatre
from hangarc.search import System, arrivals_s

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
