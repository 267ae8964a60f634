"""The lines of Python in the README run and give what the command gives."""

from __future__ import annotations

import re
from pathlib import Path

import hangarc as ha
import matplotlib.pyplot as plt
import pytest

README = Path(__file__).parents[2] / "README.md"


def test_the_ten_lines_give_the_sheet_of_the_demo(
    demo_answer: ha.Answer, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def answered(study: ha.Study) -> ha.Answer:
        assert study == demo_answer.study  # which takes no second search
        return demo_answer

    monkeypatch.setattr(ha, "answer", answered)
    (code,) = re.findall(r"```python\n(.*?)```", README.read_text("utf-8"), re.DOTALL)
    assert len(code.strip().splitlines()) == 10
    exec(compile(code, str(README), "exec"), {})
    assert capsys.readouterr().out.startswith(ha.report.text(demo_answer))
    plt.close("all")


def test_every_picture_of_the_readme_is_there() -> None:
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README.read_text("utf-8"))
    assert pictures
    assert all((README.parent / picture).is_file() for picture in pictures)
