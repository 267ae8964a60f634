"""The hang sheet says what the answer holds, to people on screen, on paper and by ear."""

from __future__ import annotations

import dataclasses
import itertools
import re
from html.parser import HTMLParser

import builders
import hangarc as ha
import pytest
from hangarc import report
from hangarc.report import content, figures, pictures
from hangarc.statics import LimitRow, limit_row

VOID = {"meta", "img", "br", "link"}


class Page(HTMLParser):
    """Collects the tree of a page and refuses unbalanced tags."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] != ["style"]:
            self.words.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture(scope="module")
def page(demo_answer: ha.Answer) -> str:
    drawn = [drawing.picture() for drawing in pictures.draw(demo_answer)]
    return report.html(demo_answer, drawn)


def test_the_text_gives_every_pin_in_building_order(demo_answer: ha.Answer) -> None:
    lines = report.text(demo_answer).splitlines()
    start, end = lines.index("Build, top to bottom"), lines.index("Lift")
    pinned = [re.search(r"cabinet +([0-9.]+°) +\d+ of 13 ", line) for line in lines[start:end]]
    pins = [found[1] for found in pinned if found]
    assert pins == [f"{splay:g}°" for splay in demo_answer.search.splays_deg]


def test_the_text_fits_a_terminal(demo_answer: ha.Answer) -> None:
    lines = report.text(demo_answer).splitlines()
    assert max(map(len, lines)) <= 96
    assert all(line == line.rstrip() for line in lines)


@pytest.mark.parametrize(
    "words",
    [
        "Total mass",
        "Trim height",
        "Hoist loads",
        "Closing force",
        "Slip clutch",
        "Links in the load path",
        "Lever hoist open, closed",
        "Stroke left open, closed",
        "Joints close in the order",
        "not stated",
        "best straight hang",
        "no dynamic factor",
        "9.80665",
        "relative humidity",
    ],
)
def test_the_sheet_answers_the_crew(words: str, demo_answer: ha.Answer, page: str) -> None:
    assert words in report.text(demo_answer)
    assert words in page


def test_the_sheet_cautions_and_never_calls_a_thing_safe(demo_answer: ha.Answer, page: str) -> None:
    for sheet in (" ".join(report.text(demo_answer).split()), page):
        assert report.CAUTION in sheet.replace("&#x27;", "'")
        assert "safe" not in sheet.replace("It does not declare anything safe.", "").lower()


def test_the_page_is_balanced_and_loads_nothing_from_elsewhere(page: str) -> None:
    parsed = Page(page)
    assert parsed.all("html") == [{"lang": "en"}]
    assert not parsed.all("script")
    assert not parsed.all("link")
    assert all(str(image["src"]).startswith("data:") for image in parsed.all("img"))
    assert "@import" not in page
    assert "url(" not in page


def test_the_page_can_be_heard(page: str) -> None:
    parsed = Page(page)
    assert len(parsed.all("h1")) == 1
    levels = [int(tag[1]) for tag, _ in parsed.tags if tag in {"h1", "h2", "h3"}]
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    tables = parsed.all("table")
    assert tables
    assert len(parsed.all("caption")) == len(tables)
    assert all(head.get("scope") in {"col", "row"} for head in parsed.all("th"))
    images = parsed.all("img")
    assert len(images) == 5
    assert all(len(image["alt"] or "") > 40 for image in images)


def test_the_page_can_be_printed(page: str) -> None:
    assert "@media print" in page


def test_names_cannot_carry_markup_into_the_page() -> None:
    study = builders.study(name="<script>alert('x')</script> & more", min_trim_m=2.0)
    page = report.html(ha.answer(study))
    assert not Page(page).all("script")
    assert "&lt;script&gt;" in page
    assert "&amp; more" in page


def test_text_and_page_hold_the_same_cells(demo_answer: ha.Answer, page: str) -> None:
    text = report.text(demo_answer)
    words = Page(page).words
    for section in report.sections(demo_answer):
        assert section.title in text
        assert section.title in words
        for table in section.tables:
            for row in table.rows:
                assert len(row) == len(table.columns)
                for cell in filter(None, row):
                    assert all(word in text for word in cell.split())
                    assert cell in words


def limit(part: str, number: int | None, force_n: float, limit_n: float | None) -> LimitRow:
    used = None if limit_n is None else force_n / limit_n
    fields = {"part": part, "number": number, "demand": force_n, "limit": limit_n}
    how = {"state": "hanging", "factor_use": "applied", "dynamic_factor": 1.0}
    return limit_row({**fields, **how, "utilisation": used})


def test_like_joints_share_a_row_and_an_unstated_limit_keeps_its_own() -> None:
    limits = [
        limit("hoist", 0, 5.0, 10.0),
        limit("hinge", 0, 9.0, None),
        limit("hinge", 1, 3.0, 10.0),
        limit("hinge", 2, 4.0, 10.0),
        limit("hinge", 4, 2.0, 10.0),
    ]
    found = content.worst_of_each_kind(limits)
    assert [name for name, _ in found] == [
        "hoist 1",
        "joint 0, hinge",
        "joints 1-2, 4, hinge",
    ]
    assert found[1][1].limit_n is None
    assert found[2][1].force_n == 4.0
    assert found[2][1].case == "joint 2, hanging"


def over(answer: ha.Answer, **changes: object) -> str:
    return report.text(dataclasses.replace(answer, **changes))  # type: ignore[arg-type]


def test_whatever_speaks_against_hanging_it_stands_at_the_top(demo_answer: ha.Answer) -> None:
    assert "DO NOT" not in report.text(demo_answer)
    closing, chain = demo_answer.closing, demo_answer.shortening
    assert closing is not None
    assert chain is not None
    slips = dataclasses.replace(closing, clutch="slips before it closes")
    assert "DO NOT HANG LIKE THIS: the slip clutch slips" in over(demo_answer, closing=slips)
    opens = dataclasses.replace(closing, closing_force_n=None, at_closing=None,
                                closed_state="the chain has no lever on a joint")  # fmt: skip
    assert "nothing holds the rear closed" in over(demo_answer, closing=opens)
    no_link = dataclasses.replace(chain, link=None, ended="chain too short")
    assert "no link of the closing chain fits" in over(demo_answer, shortening=no_link)
    worn = [limit("lever_hoist", None, 11.0, 10.0)]
    assert "lever hoist: 110 % of the stated limit" in over(demo_answer, limits=worn)
    slack = dataclasses.replace(demo_answer.hoists, slack=demo_answer.hoists.slack | True)
    assert "hoist 1 is slack" in over(demo_answer, hoists=slack)


@pytest.mark.parametrize(
    "ended", ["jammed", "overshot", "chain slips off an edge", "no rest found", "budget spent"]
)
def test_a_closing_that_ends_otherwise_is_not_to_be_followed(
    ended: str, demo_answer: ha.Answer
) -> None:
    assert demo_answer.closing is not None
    assert demo_answer.closing.closing_force_n is not None
    sheet = over(demo_answer, closing=dataclasses.replace(demo_answer.closing, ended=ended))
    assert f"DO NOT HANG LIKE THIS: the rear does not close: {ended}." in sheet
    assert "Shorten the chain" not in sheet


def test_a_hoist_that_goes_slack_on_the_way_stands_at_the_top(demo_answer: ha.Answer) -> None:
    assert demo_answer.closing is not None
    slack = dataclasses.replace(demo_answer.closing, slack_hoist="rear")
    assert "a hoist goes slack while the rear closes: rear" in over(demo_answer, closing=slack)


def test_figures_are_printed_as_people_read_them() -> None:
    assert figures.kilo(-3.0) == "0.00 kN"
    assert figures.kilo(1234.0, sign=True) == "+1.23 kN"
    assert figures.kilo(None) == "none"
    assert figures.angle(0.4) == "0.4°"
    assert figures.angle(-0.001, sign=True) == "0°"
    assert figures.ranges([3, 1, 2, 7]) == "1-3, 7"
    assert figures.ranges([]) == ""


@pytest.mark.parametrize(("share", "words"), [(0.29, "29 %"), (0.9999, "100 %"), (1.001, "101 %")])
def test_a_percentage_never_flatters(share: float, words: str) -> None:
    assert figures.percent(share) == words
