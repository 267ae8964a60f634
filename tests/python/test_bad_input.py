"""What every public function says to a bad argument, word for word."""

from __future__ import annotations

import bad_input
import hangarc as ha
import pytest

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
