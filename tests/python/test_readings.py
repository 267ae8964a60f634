"""A crew's readings held against the plan: accept, look at a joint, stop."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc import cli, report


@pytest.fixture(scope="module")
def answer() -> ha.Answer:
    study = builders.study(
        hang=builders.hang([1.0, 1.0, 2.0, 2.0, 3.0, 4.0], "compression"),
        pick_x_m=[0.1, -0.8],
        top_range_m=(9.0, 9.0),
        tilt_range_deg=(-6.0, 2.0),
    )
    return ha.answer(study, budget_evaluations=300)


def read(answer: ha.Answer, built: ha.Hang | None = None, **besides: float) -> ha.survey.Readings:
    """What instruments without error read at every cabinet of what was built."""
    tilt_deg, picks = answer.search.tilt_deg, answer.search.pick_x_m.tolist()
    built = answer.hang if built is None else built
    axes = ha.pose(built, tilt_deg).axis_deg
    rows = [ha.survey.Reading(kind="frame tilt", value=tilt_deg)]
    rows += [
        ha.survey.Reading(kind="cabinet tilt", number=number, value=float(axis))
        for number, axis in enumerate(axes, start=1)
    ]
    rows += [
        ha.survey.Reading(kind="hoist load", number=number, value=float(load_n))
        for number, load_n in enumerate(ha.hoist_loads(built, tilt_deg, picks).load_n, start=1)
    ]
    return ha.survey.Readings(hang=answer.study.name, at_trim=rows, **besides)


def test_what_was_planned_is_accepted(answer: ha.Answer) -> None:
    trim, rear = answer.work.trim, answer.work.closing
    assert rear is not None
    found = ha.survey.check_readings(
        answer, read(answer, trim_m=trim.lowest_m, chain_force_n=rear.pulled_n)
    )
    assert (found.verdict, found.joints) == ("accept", ())
    assert found.tilt_deg == pytest.approx(trim.tilt_deg, abs=1e-6)
    # Two readings, of the frame and of cabinet 1, have no joint between them that may be off.
    two = answer.job.tilt_uncertainty_deg / np.sqrt(2.0)
    assert 0.9 * two < found.tilt_uncertainty_deg <= two
    assert all(row.within for row in found.readings)
    assert report.checked(answer, found).splitlines()[3].startswith("ACCEPT")


@pytest.mark.parametrize("joint", [1, 3, 6])
def test_a_wrong_pin_is_named_as_the_sheet_counts_it(joint: int, answer: ha.Answer) -> None:
    pins = list(answer.hang.splays_deg)
    pins[joint - 1] = 6.0 if pins[joint - 1] < 3.0 else 0.0
    found = ha.survey.check_readings(
        answer, read(answer, dataclasses.replace(answer.hang, splays_deg=pins))
    )
    assert (found.verdict, found.joints) == ("look", (joint,))
    told = report.checked(answer, found)
    assert f"LOOK at joint {joint}:" in told
    assert f"Joint {joint} at {pins[joint - 1]:g}° would agree." in told


def test_what_no_pin_explains_stops_the_work(answer: ha.Answer) -> None:
    rows = list(read(answer).at_trim)
    rows[3] = dataclasses.replace(rows[3], value=float(rows[3].value or 0.0) + 7.37)
    rows[5] = dataclasses.replace(rows[5], value=float(rows[5].value or 0.0) - 5.81)
    rows[7] = dataclasses.replace(rows[7], value=float(rows[7].value or 0.0) + 3.33)
    found = ha.survey.check_readings(
        answer, ha.survey.Readings(hang=answer.study.name, at_trim=rows)
    )
    assert (found.verdict, found.joints) == ("stop", ())
    assert "STOP" in report.checked(answer, found)


def test_tilt_height_and_chain_force_keep_what_the_sheet_allows(answer: ha.Answer) -> None:
    trim, rear = answer.work.trim, answer.work.closing
    assert rear is not None
    for besides in (
        {"trim_m": trim.lowest_m + 1.1 * trim.height_tolerance_m},
        {"chain_force_n": 0.9 * rear.closing_force_n},
    ):
        found = ha.survey.check_readings(answer, read(answer, **besides))
        assert found.verdict == "stop"
        assert "outside" in report.checked(answer, found)
    # The whole hang turned by more than its tolerance, every pin as planned.
    off_deg = 1.2 * trim.tilt_tolerance_deg
    rows = [
        dataclasses.replace(row, value=float(row.value or 0.0) + off_deg)
        for row in read(answer).at_trim
        if row.kind != "hoist load"
    ]
    found = ha.survey.check_readings(
        answer, ha.survey.Readings(hang=answer.study.name, at_trim=rows)
    )
    assert found.comparison.ok
    assert found.verdict == "stop"


def test_readings_that_make_no_sense_are_refused(answer: ha.Answer) -> None:
    blank = ha.survey.blank_readings(answer)
    assert ha.survey.Readings.from_json(blank.to_json()) == blank
    assert [(r.kind, r.number) for r in blank.at_trim] == [
        (b.kind, b.number) for b in answer.work.bounds
    ]
    beyond = ha.survey.Reading(kind="cabinet tilt", number=9, value=1.0)
    cases = [
        (blank, "at_trim"),
        (dataclasses.replace(read(answer), hang="another"), "hang"),
        (dataclasses.replace(blank, at_trim=[beyond]), "number"),
    ]
    for readings, field in cases:
        with pytest.raises(ha.InputError) as caught:
            ha.survey.check_readings(answer, readings)
        assert caught.value.field == field
    with pytest.raises(ha.InputError, match="kind"):
        ha.survey.Reading(kind="mood")


def test_the_command_says_and_returns_the_verdict(
    answer: ha.Answer, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "answer.json").write_text(answer.to_json(), encoding="utf-8")
    file = tmp_path / "readings.json"
    file.write_text(read(answer).to_json(), encoding="utf-8")
    assert cli.main(["check", str(file)]) == 0
    assert "ACCEPT" in capsys.readouterr().out
    pins = list(answer.hang.splays_deg)
    pins[0] = 6.0 if pins[0] < 3.0 else 0.0
    built = dataclasses.replace(answer.hang, splays_deg=pins)
    file.write_text(read(answer, built).to_json(), encoding="utf-8")
    assert cli.main(["check", str(file), "--language", "de"]) == 3
    assert "ANSEHEN, Gelenk 1" in capsys.readouterr().out
    document = json.loads(file.read_text("utf-8"))
    document["value"]["hang"] = "another"
    file.write_text(json.dumps(document), encoding="utf-8")
    assert cli.main(["check", str(file)]) == 2
    assert "hang = another" in capsys.readouterr().err


def test_notebooks_show_what_people_read(answer: ha.Answer) -> None:
    shown = {
        "Study": (answer.study, "steps of"),
        "Hang": (answer.hang, "pins"),
        "Answer": (answer, "hoists"),
        "Closing": (answer.closing, "governing joint"),
        "SearchResult": (answer.search, "unevenness"),
    }
    for name, (value, words) in shown.items():
        html = value._repr_html_()  # type: ignore[union-attr]
        assert f"<caption>{name}</caption>" in html
        assert words in html
        assert "array(" not in html
        assert "svg+xml" in html
        assert len(html) < 30_000
    assert answer.closing is not None
    jammed = dataclasses.replace(
        answer, closing=dataclasses.replace(answer.closing, ended="jammed")
    )
    assert "DO NOT HANG" in jammed._repr_html_()
    assert "DO NOT HANG" not in answer._repr_html_()


def test_readings_go_through_csv_and_back(answer: ha.Answer, tmp_path: Path) -> None:
    full = read(answer, trim_m=answer.work.trim.lowest_m, chain_force_n=4000.0)
    Readings = ha.survey.Readings  # noqa: N806
    assert Readings.from_csv(full.to_csv()) == full
    blank = ha.survey.blank_readings(answer)
    assert Readings.from_csv(blank.to_csv()) == blank
    # As a spreadsheet writes it.
    assert Readings.from_csv("\ufeff" + full.to_csv().replace("\n", "\r\n")) == full
    (tmp_path / "answer.json").write_text(answer.to_json(), encoding="utf-8")
    built = read(answer, trim_m=answer.work.trim.lowest_m)
    (tmp_path / "readings.csv").write_text(built.to_csv(), encoding="utf-8")
    assert cli.main(["check", str(tmp_path / "readings.csv")]) == 0


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("", "csv"),
        ("kind,value\n", "csv"),
        ("hang,kind,number,value,uncertainty\n", "hang"),
        ("hang,kind,number,value,uncertainty\na,trim,0,1,\nb,trim,0,1,\n", "hang"),
        ("hang,kind,number,value,uncertainty\na,trim,0,1\n", "csv line 2"),
        ("hang,kind,number,value,uncertainty\na,trim,0,x,\n", "csv line 2, value"),
        ("hang,kind,number,value,uncertainty\na,hoist load,1.5,2,\n", "csv line 2, number"),
        ("hang,kind,number,value,uncertainty\na,colour,0,1,\n", "kind"),
        ("hang,kind,number,value,uncertainty\na,trim,0,nan,\n", "trim_m"),
    ],
)
def test_csv_that_is_none_is_refused_by_name(text: str, field: str) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.survey.Readings.from_csv(text)
    assert caught.value.field == field
