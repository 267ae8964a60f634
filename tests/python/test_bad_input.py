"""What every public function says to a bad argument, word for word."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import bad_input
import builders
import hangarc as ha
import pytest
from hangarc import cli

ROWS = [line.split("\t") for line in bad_input.TABLE.read_text(encoding="utf-8").splitlines()]


@pytest.mark.parametrize(
    ("name", "argument", "value", "message"), ROWS, ids=[" ".join(row[:3]) for row in ROWS]
)
def test_a_bad_argument_is_refused_in_these_words(
    name: str, argument: str, value: str, message: str
) -> None:
    with pytest.raises(ha.InputError) as caught:
        bad_input.call(name, argument, value)
    assert str(caught.value) == message
    assert message.startswith(argument) or (argument, value) == ("pick_x_m", "None")


def test_the_table_is_long_and_every_argument_is_in_it() -> None:
    assert len(ROWS) >= 300
    asked = {(name, argument) for name, given in bad_input.ARGUMENTS.items() for argument in given}
    assert asked == {(name, argument) for name, argument, *_ in ROWS}


@pytest.mark.parametrize("name", bad_input.CALLS)
def test_the_same_call_with_good_arguments_is_answered(name: str) -> None:
    function, good = bad_input.CALLS[name]
    function(**good)


@pytest.mark.parametrize(
    ("call", "near"),
    [
        (lambda: ha.demo.hang(rigging="compresion"), "compression"),
        (lambda: ha.close(bad_input.CLOSED, 0.0, frame="two hoist"), "two hoists"),
        (lambda: ha.Goals(measure="per bnd"), "per band"),
        (lambda: ha.acoustics.weighting_db(100.0, "B"), None),
        (lambda: builders.frame(limits={"pik_n": 900.0}), "pick_n"),
        (
            lambda: ha.io.dxf.read_venue(ha.demo.SECTION_DXF, {"SEATS-STALL": {}}),
            "SEATS-STALLS",
        ),
        (
            lambda: ha.io.dxf.read_venue(ha.demo.SECTION_DXF.with_name("sectoin.dxf"), {"A": {}}),
            "section.dxf",
        ),
    ],
)
def test_of_several_words_allowed_the_nearest_is_named(
    call: Callable[[], object], near: str | None
) -> None:
    with pytest.raises(ha.InputError) as caught:
        call()
    said = str(caught.value)
    assert ("nearest" in said) == (near is not None)
    if near is not None:
        assert said.rstrip(")").endswith(near)
    # What is allowed stays as it is stated, for those who read it by program.
    assert "the nearest is" not in caught.value.allowed


def test_a_file_that_is_missing_is_told_from_its_neighbours(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "study.json").write_text(bad_input.STUDY.to_json(), encoding="utf-8")
    refused = cli.main(["study", str(tmp_path / "studi.json"), "--out", str(tmp_path / "out")])
    assert refused == cli.REFUSED
    assert capsys.readouterr().err.strip().endswith("the nearest there is study.json")
    assert cli.main(["studdy"]) == cli.REFUSED
    assert "study" in capsys.readouterr().err
