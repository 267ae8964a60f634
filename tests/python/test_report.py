"""The hang sheet says what the answer holds, to people on screen, on paper and by ear."""

from __future__ import annotations

import dataclasses
import io
import itertools
import re
import shutil
import subprocess
import tomllib
from html.parser import HTMLParser
from importlib import resources
from pathlib import Path

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc import plot, report
from hangarc.model import Site
from hangarc.report import figures, pictures
from hangarc.report.limits import worst_of_each_kind
from hangarc.report.telling import Telling
from hangarc.statics.limits import LimitRow, limit_row
from hangarc.uncertainty import Tolerances, uncertainty_of
from matplotlib.text import Text
from pypdf import PdfReader

VOID = {"meta", "img", "br", "link"}


class Page(HTMLParser):
    """Collects the tree of a page and refuses unbalanced tags."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        # Figures of the answer: where it has them, as what, their text.
        self.figures: list[tuple[str, str, float, str]] = []
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
        if self.open[-1:] == ["data"]:
            given = next(attributes for tag, attributes in reversed(self.tags) if tag == "data")
            kind, path = str(given["data-kind"]), str(given["data-of"])
            self.figures.append((kind, path, float(str(given["value"])), data))
        elif self.open[-1:] != ["style"]:
            self.words.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


# Of answers before, each with its answer, which keeps its id: their drawings, and as pictures.
Drawn = tuple[ha.Answer, list[pictures.Drawing], list[report.Picture]]
DRAWN: dict[tuple[int, str], Drawn] = {}


def drawings_of(answer: ha.Answer, language: str = "en") -> list[pictures.Drawing]:
    key = (id(answer), language)
    if key not in DRAWN:
        made = pictures.draw(answer, language=language)
        DRAWN[key] = (answer, made, [drawing.picture() for drawing in made])
    return DRAWN[key][1]


def drawn(answer: ha.Answer, language: str = "en") -> list[report.Picture]:
    drawings_of(answer, language)
    return DRAWN[id(answer), language][2]


@pytest.fixture(scope="module")
def page(demo_answer: ha.Answer) -> str:
    return report.html(demo_answer, pictures=drawn(demo_answer))


SIZES = {
    "force": (1e3, "kN"), "signed_force": (1e3, "kN"), "mass": (1.0, "kg"), "length": (1.0, "m"),
    "place": (1.0, "m"), "size": (1.0, "m"), "throw": (1.0, "m"), "angle": (1.0, "°"),
    "tilt": (1.0, "°"), "level": (1.0, "dB"), "fine_level": (1.0, "dB"), "bare_level": (1.0, ""),
    "count": (1.0, ""), "plain": (1.0, ""), "factor": (1.0, ""), "acceleration": (1.0, "m/s²"),
}  # fmt: skip


# What stands between thousands, and between whole numbers and fractions.
SIGNS = {"en": (",", "."), "de": (".", ",")}


def number_of(text: str, language: str) -> tuple[float, int]:
    """The number a text begins with, and how many places it is given to."""
    thousands, decimal = SIGNS[language]
    text = text.replace(thousands, "").replace(decimal, ".")
    found = re.match(r"[+-]?[0-9]*\.?[0-9]*", text)
    assert found is not None
    return float(found[0]), len(found[0].partition(".")[2])


def agrees(kind: str, value: float, text: str, language: str = "en") -> bool:
    """Whether a text says a value in SI, to the places it is given to; by its own reckoning."""
    if kind == "load":
        mass, _, force = text.partition(" = ")
        return agrees("mass", value / 9.80665, mass, language) and agrees(
            "force", value, force, language
        )
    number, places = number_of(text, language)
    if kind in ("percent", "share"):
        # Rounded up, never down.
        assert text.endswith(" %")
        return -1e-9 <= number - 100.0 * value <= 10.0**-places
    if kind == "band":
        scale = 1e3 if text.endswith(" kHz") else 1.0
        return bool(abs(np.log10(number * scale / value)) < 0.01)
    scale, unit = SIZES[kind]
    assert text.endswith(unit)
    said = abs(value) if kind == "size" else value
    return abs(number - said / scale) <= 0.5000001 * 10.0**-places


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_figure_on_the_sheet_is_the_answers(language: str, demo_answer: ha.Answer) -> None:
    parsed = Page(report.html(demo_answer, language=language))
    stored = ha.Answer.from_json(demo_answer.to_json())
    assert len(parsed.figures) > 300
    for kind, path, value, text in parsed.figures:
        assert figures.at_path(stored, path) == value, path
        assert agrees(kind, value, text, language), (kind, path, value, text)


def test_nothing_else_on_the_sheet_is_a_figure(demo_answer: ha.Answer, page: str) -> None:
    parsed = Page(page)
    # Besides figures of the answer: what is counted, standards, names and the version.
    names = [demo_answer.study.name, demo_answer.study.venue.name, ha.__version__]
    names += [area.name for area in demo_answer.study.venue.areas]
    allowed = (
        r"joints? [0-9-]+(, [0-9-]+)*|ISO [0-9]+(-[0-9]+)?|1 to 8 kHz|on its axis at 1 m"
        r"|(more than|cabinet|hoist|pick|point) [0-9]+( dB)?|^[0-9,]+$|[0-9]+ ×|^[0-9,]+ seats"
    )
    for words in parsed.words:
        for name in names:
            words = words.replace(name, "")
        left = re.sub(allowed, "", words)
        assert not re.search(r"[0-9]", left), words


def steps_of(text: str) -> list[str]:
    return re.findall(r"^\[ \] [0-9]+\. (.*)$", text, flags=re.M)


def test_the_steps_come_in_the_order_of_the_work(demo_answer: ha.Answer) -> None:
    assert steps_of(report.text(demo_answer)) == [
        "Hang the fly frame",
        "Cart 1: cabinets 1 to 4",
        "Cart 2: cabinets 5 to 8",
        "Cart 3: cabinets 9 to 12",
        "Fit the chain and the lever hoist",
        "Clear the ground",
        "Close the rear",
        "Pull on",
        "Hand over to the bypass chain",
        "Lift to trim",
        "Check what hangs",
    ]


def test_the_text_gives_every_pin_where_it_is_set(demo_answer: ha.Answer) -> None:
    told = report.text(demo_answer)
    pins = re.findall(r"\[ \] joint (\d+): ([0-9.]+)° \((\d+) of 13\)", told)
    places = demo_answer.hang.cabinets[0].splay_positions_deg["compression"]
    assert [(int(joint), float(splay)) for joint, splay, _ in pins] == list(
        enumerate(demo_answer.search.splays_deg, start=1)
    )
    assert all(places[int(at) - 1] == float(splay) for _, splay, at in pins)


def test_the_closing_table_is_that_of_close(demo_answer: ha.Answer) -> None:
    whole = ha.close(demo_answer.hang, demo_answer.search.tilt_deg)
    link, gear = demo_answer.shortening, demo_answer.hang.gear
    assert link is not None
    assert link.link is not None
    assert gear is not None
    told = report.text(demo_answer)
    rows = re.findall(r"^(\d+) +([0-9.]+) kN +([0-9.]+) m  \[ \]$", told, flags=re.M)
    events = [event for event in whole.events if event.contact == "arrives at stop"]
    assert [int(joint) for joint, _, _ in rows] == [event.joint for event in events]
    for (_, force, hoist), event in zip(rows, events, strict=True):
        assert force == f"{event.force_n / 1e3:.2f}"
        assert hoist == f"{event.chain_m - link.link * gear.pitch_m:.2f}"
    assert whole.closing_force_n is not None
    assert f"At {whole.closing_force_n / 1e3:.2f} kN and" in told


def test_the_pdf_has_two_pages_for_the_crew_and_one_for_the_sound(demo_answer: ha.Answer) -> None:
    made = report.pdf(demo_answer, pictures=drawn(demo_answer))
    pages = PdfReader(io.BytesIO(made)).pages
    assert len(pages) == 3
    for number, (printed, words) in enumerate(zip(pages, ["Build", "Lift", "Sound"], strict=True)):
        assert (round(printed.mediabox.width), round(printed.mediabox.height)) == (595, 842)
        text = " ".join(printed.extract_text().split())
        assert f"Page {number + 1} of 3" in text
        assert words in text
        assert "This sheet is an aid to qualified persons." in text
        assert demo_answer.study.name in text
    # What the page says stands in the PDF too.
    text = "".join("".join(printed.extract_text().split()) for printed in pages)
    for _, path, _, figure in Page(report.html(demo_answer)).figures:
        assert "".join(figure.split()) in text, path


CHROMIUM = shutil.which("chromium")


def pages_printed(html: str, folder: Path) -> int:
    """How many pages Chromium prints."""
    (folder / "sheet.html").write_text(html, encoding="utf-8")
    subprocess.run(
        [str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
         f"--print-to-pdf={folder / 'sheet.pdf'}", str(folder / "sheet.html")],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    assert_nothing_cut_off(folder / "sheet.pdf")
    return len(PdfReader(folder / "sheet.pdf").pages)


PDFTOTEXT = shutil.which("pdftotext")
# Margins of the page are 11 mm at the sides; a point of 1/72 in.
LEFT_PT, RIGHT_PT, HIGH_PT = 11.0 / 25.4 * 72.0, 199.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0
Box = tuple[float, float, float, float]


def assert_nothing_cut_off(pdf: Path) -> None:
    """No word reaches into the margins at the sides, off the paper, or into another word."""
    if PDFTOTEXT is None:
        return
    told = subprocess.run([PDFTOTEXT, "-bbox", str(pdf), "-"], check=True, capture_output=True)
    word = r'<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)</word>'
    for page in told.stdout.decode().split("<page ")[1:]:
        found = re.findall(word, page)
        assert len(found) > 40
        boxes: list[Box] = [tuple(map(float, row[:4])) for row in found]  # type: ignore[misc]
        for (x0, y0, x1, y1), row in zip(boxes, found, strict=True):
            assert LEFT_PT - 1.0 < x0 < x1 < RIGHT_PT + 1.0, row
            assert 0.0 < y0 < y1 < HIGH_PT, row
        for index, one in enumerate(boxes):
            for other in boxes[index + 1 : index + 60]:
                across = min(one[2], other[2]) - max(one[0], other[0])
                up = min(one[3], other[3]) - max(one[1], other[1])
                assert across < 1.5 or up < 4.0, (found[index], other)


@pytest.fixture(scope="module")
def hangs() -> dict[str, ha.Answer]:
    compression = builders.hang([1.0, 1.0, 2.0, 2.0, 3.0, 4.0], "compression")
    bounds = {"top_range_m": (9.0, 9.0), "tilt_range_deg": (-6.0, 2.0)}
    cabinet = builders.cabinet(limits={"stop_n": 30_000.0})
    two = builders.study(hang=compression, pick_x_m=[0.1, -0.8], **bounds)
    gear = builders.gear(links=300, clutch_n=(16_000.0, 20_000.0))
    tall = builders.hang([1.0] * 23, "compression", gear=gear)
    asked = {
        "tension": builders.study(hang=builders.hang([1.0] * 7), min_trim_m=2.0),
        "one pick": builders.study(hang=compression, **bounds),
        "two picks": two,
        "some limits": dataclasses.replace(
            two, hang=dataclasses.replace(compression, cabinets=[cabinet] * 7)
        ),
        "dynamic factor": dataclasses.replace(two, dynamic_factor=1.25, hoist_limit_n=20_000.0),
        "24 cabinets": builders.study(
            hang=tall, pick_x_m=[0.1, -0.8], top_range_m=(14.0, 14.0), tilt_range_deg=(0.0, 2.0)
        ),
    }
    return {name: ha.answer(study, budget_evaluations=300) for name, study in asked.items()}


@pytest.mark.parametrize(
    "name", ["tension", "one pick", "two picks", "some limits", "dynamic factor", "24 cabinets"]
)
def test_every_kind_of_hang_has_its_sheet(name: str, hangs: dict[str, ha.Answer]) -> None:
    answer = hangs[name]
    text, html = report.text(answer), report.html(answer, pictures=drawn(answer))
    assert "DO NOT HANG" not in text
    for kind, path, value, figure in Page(html).figures:
        assert figures.at_path(answer, path) == value
        assert agrees(kind, value, figure), (path, value, figure)
    steps = steps_of(text)
    assert ("Close the rear" in steps) == (answer.hang.rigging == "compression")
    assert ("Lift to trim" in steps) == (answer.hang.rigging == "compression")
    assert steps[-1] == "Check what hangs"
    pages = PdfReader(io.BytesIO(report.pdf(answer, pictures=drawn(answer)))).pages
    # Two pages for the crew, three of a tall hang, and one for the sound.
    assert len(pages) == (4 if name == "24 cabinets" else 3)


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize(("name", "crew"), [("demo", 2), ("24 cabinets", 3)])
def test_two_engines_print_as_many_pages_in_two_languages(
    name: str,
    crew: int,
    language: str,
    demo_answer: ha.Answer,
    hangs: dict[str, ha.Answer],
    tmp_path: Path,
) -> None:
    answer = {"demo": demo_answer, **hangs}[name]
    pictures_drawn = drawn(answer, language=language)
    file = tmp_path / "typst.pdf"
    file.write_bytes(report.pdf(answer, pictures=pictures_drawn, language=language))
    assert len(PdfReader(file).pages) == crew + 1
    assert_nothing_cut_off(file)
    if CHROMIUM is not None:
        html = report.html(answer, pictures=pictures_drawn, language=language)
        assert pages_printed(html, tmp_path) == crew + 1


def test_nothing_on_the_sheet_is_smaller_than_8_points(demo_answer: ha.Answer) -> None:
    sizes: set[float] = set()

    def seen(text: str, _: object, matrix: list[float], __: object, size: float) -> None:
        if text.strip():
            sizes.add(round(size * abs(matrix[3]), 2))

    for printed in PdfReader(
        io.BytesIO(report.pdf(demo_answer, pictures=drawn(demo_answer)))
    ).pages:
        printed.extract_text(visitor_text=seen)
    assert len(sizes) > 2
    assert min(sizes) >= 8.0
    # Words in pictures are drawn at the size they are printed at.
    for drawing in pictures.draw_for_crew(demo_answer):
        assert min(words.get_fontsize() for words in drawing.axes.texts) >= 8.0


def test_what_is_not_stated_is_never_a_pass(hangs: dict[str, ha.Answer]) -> None:
    text = report.text(hangs["some limits"])
    assert re.search(r"joints 1-\d+, stop in compression.* %", text)
    assert re.search(r"closing chain +[0-9.]+ kN +not stated +–", text)


def test_with_a_dynamic_factor_every_figure_says_whether_it_holds_it(
    hangs: dict[str, ha.Answer],
) -> None:
    answer = hangs["dynamic factor"]
    text = " ".join(report.text(answer).split())
    assert "times 1.25" in text
    assert "Loads at rest hold no dynamic factor, those “times 1.25” do" in text
    for hoist in answer.work.hoists:
        row = next(r for r in answer.limits if (r.part, r.number) == ("hoist", hoist.number - 1))
        # The table of limits and that of hoists say one thing of one hoist.
        assert row.force_n == pytest.approx(max(hoist.building_n, hoist.factored_load_n), rel=1e-9)
    assert re.search(
        r"hoist 1 +[0-9.]+ kN +20.00 kN +[0-9]+ % +building, rear open; with factor", text
    )
    assert "no factor: " in text


def test_every_language_has_the_same_words_and_fields() -> None:
    def fields(language: str) -> dict[str, list[str]]:
        file = resources.files("hangarc._catalogue") / f"{language}.toml"
        sections = tomllib.loads(file.read_text("utf-8"))
        return {
            f"{section}.{name}": sorted(set(re.findall(r"\{(\w+)\}", words)))
            for section, words_of in sections.items()
            for name, words in words_of.items()
        }

    english = fields("en")
    assert report.languages() == ["de", "en"]
    for language in report.languages():
        assert fields(language) == english


def test_a_sheet_in_german_and_in_pounds(demo_answer: ha.Answer) -> None:
    german = report.text(demo_answer, language="de")
    closing = demo_answer.work.closing
    assert closing is not None
    assert f"{closing.closing_force_n / 1e3:.2f} kN".replace(".", ",") in german
    assert "Rückseite" in german
    pounds = report.text(demo_answer, units="us")
    assert f"{demo_answer.pose.mass_kg / 0.45359237:,.0f} lb" in pounds
    feet, inches = divmod(round(demo_answer.search.top_m / 0.3048 * 12.0, 1), 12.0)
    assert f"{feet:.0f} ft {inches:.1f} in" in pounds
    assert not re.search(r"[0-9] (kg|kN|m)\b", re.sub("at 1 m|m/s²", "", pounds))
    tonnes = report.text(demo_answer, units="tonnes")
    assert f"{demo_answer.pose.mass_kg / 1e3:.3f} t" in tonnes
    assert " kg" not in tonnes
    for option, value in (("units", "stone"), ("language", "xx")):
        with pytest.raises(ha.InputError) as caught:
            report.text(demo_answer, **{option: value})
        assert caught.value.field == option


def test_who_and_where_stand_on_the_sheet(demo_answer: ha.Answer) -> None:
    job = ha.Job(project="Festival hall", hang="Main", side="left", revision="C",
                 author="A. Rigger", date="2026-11-26", datum="cross on the stage edge",
                 position_m=(1.5, 6.0), pan_deg=-5.0, steel_m=0.4)  # fmt: skip
    answer = ha.answer(demo_answer.study, budget_evaluations=300, job=job)
    html = report.html(answer)
    for words in ("Festival hall", "Main", "left", "C", "A. Rigger", "Nov 26, 2026",
                  "cross on the stage edge"):  # fmt: skip
        assert words in html
    running = re.search(r'@top-left \{ content: "([^"]*)"', html)
    assert running is not None
    assert "Festival hall" in running[1]
    assert "the hook at" in report.text(answer)


def test_a_second_opinion_stands_on_the_sheet_where_it_is_asked(
    hangs: dict[str, ha.Answer],
) -> None:
    answer = hangs["two picks"]
    found = ha.verify(answer)
    assert found.differing == ()
    text = " ".join(report.text(answer, opinion=found).split())
    assert f"{len(found)} figures behind this sheet were calculated again" in text
    assert "all agree" in text
    assert "calculated again" not in report.text(answer)
    # A figure that is not confirmed stops the crew.
    wrong = dataclasses.replace(found.rows[0], difference=1.0, allowed=0.5)
    differing = dataclasses.replace(found, rows=(wrong, *found.rows[1:]))
    stopped = " ".join(report.text(answer, opinion=differing).split())
    assert f"a second calculation gives another figure: {wrong.quantity}" in stopped
    assert steps_of(report.text(answer, opinion=differing)) == []
    assert "1 DIFFER" in stopped


STATED = Tolerances(
    splay_deg=0.1,
    mass_share=0.02,
    cg_m=0.01,
    anchor_m=0.005,
    tilt_deg=0.1,
    temperature_c=3.0,
    humidity_percent=10.0,
)


def spread_of(words: str, language: str) -> tuple[float, float]:
    """What ± says, and the last place it is given to."""
    number, places = number_of(words, language)
    return number, 10.0**-places


@pytest.mark.parametrize("language", ["en", "de"])
def test_figures_carry_their_spread_where_tolerances_are_stated(
    language: str, demo_answer: ha.Answer, tmp_path: Path
) -> None:
    found = uncertainty_of(demo_answer, STATED)
    shown = drawn(demo_answer, language=language)
    html = report.html(demo_answer, pictures=shown, language=language, uncertainty=found)
    # Path of a figure, and ± after it.
    told = dict(
        re.findall(r'data-of="([^"]*)">[^<]*</data>\u00a0±\u00a0([^<. ]*[.,]?[0-9]*)', html)
    )
    expected = {
        "search.tilt_deg": found.tilt_deg,
        "pose.trim_m": found.trim_m,
        "work.closing.closing_force_n": found.closing_force_n / 1e3,
        "search.sound.mean_db": found.mean_level_db,
        "search.sound.unevenness_db": found.unevenness_db,
    }
    for index, load_n in enumerate(found.hoist_load_n):
        expected[f"work.hoists[{index}].load_n"] = load_n / 9.80665
        expected[f"work.hoists[{index}].roof_n"] = load_n / 9.80665
    for joint, force_n in enumerate(found.pulled_stop_force_n):
        expected[f"closing.at_preload.stop_force_n[{joint}]"] = force_n / 1e3
    assert set(told) == set(expected)
    for path, standard in expected.items():
        said, place = spread_of(told[path], language)
        # Twice the standard uncertainty, rounded up and by no more than the last place.
        assert -1e-9 <= said - 2.0 * standard <= place, path
    words = report.text(demo_answer, language=language, uncertainty=found)
    assert words.count("±") > len(expected)
    assert "±" not in report.html(demo_answer).replace("May differ by ±", "")
    # Two pages for the crew and one for the sound, whatever prints them.
    file = tmp_path / "typst.pdf"
    file.write_bytes(report.pdf(demo_answer, pictures=shown, language=language, uncertainty=found))
    assert len(PdfReader(file).pages) == 3
    assert_nothing_cut_off(file)
    if CHROMIUM is not None:
        assert pages_printed(html, tmp_path) == 3


def test_the_sheet_says_what_its_spreads_follow_from(demo_answer: ha.Answer) -> None:
    given = Tolerances(mass_share=0.02, cg_m=0.0127)
    found = uncertainty_of(demo_answer, given)
    told = " ".join(report.text(demo_answer, uncertainty=found).split())
    assert "within its tolerance: each mass ± 2.0 %, each centre of gravity ± 12.7 mm. " in told
    us = " ".join(report.text(demo_answer, units="us", uncertainty=found).split())
    assert "each centre of gravity ± 0.5 in." in us


def test_the_text_fits_a_terminal(demo_answer: ha.Answer) -> None:
    lines = report.text(demo_answer).splitlines()
    assert max(map(len, lines)) <= 96
    assert all(line == line.rstrip() for line in lines)


@pytest.mark.parametrize(
    "words",
    [
        "Mass hung",
        "counted from the fly frame",
        "Holes of the frame and hoists count from its front",
        "y to the left as seen from the stage",
        "The slip clutch slips between",
        "every stop then carries",
        "May differ by",
        "not stated",
        "the best straight hang has",
        "no dynamic factor",
        "9.80665",
        "relative humidity",
        "Built by",
    ],
)
def test_the_sheet_answers_the_crew(words: str, demo_answer: ha.Answer, page: str) -> None:
    assert words in " ".join(report.text(demo_answer).split())
    assert words in re.sub(r"<[^>]+>", "", page)


def test_the_sheet_cautions_and_never_calls_a_thing_safe(demo_answer: ha.Answer, page: str) -> None:
    bare = re.sub(r"base64,[A-Za-z0-9+/=]+", "", page)
    for sheet in (" ".join(report.text(demo_answer).split()), bare):
        assert report.CAUTION in sheet.replace("&#x27;", "'")
        assert "safe" not in sheet.replace("It does not declare anything safe.", "").lower()


def test_the_page_is_balanced_and_loads_nothing_from_elsewhere(page: str) -> None:
    parsed = Page(page)
    assert parsed.all("html") == [{"lang": "en"}]
    assert not parsed.all("script")
    assert not parsed.all("link")
    assert all(str(image["src"]).startswith("data:") for image in parsed.all("img"))
    assert "@import" not in page
    assert not re.search(r"url\((?!data:)", page)


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
    assert len(images) == 4
    assert all(len(image["alt"] or "") > 40 for image in images)


def test_the_page_can_be_printed(page: str) -> None:
    assert "@media print" in page


def test_names_cannot_carry_markup_into_the_page() -> None:
    study = builders.study(name="<script>alert('x')</script> & more", min_trim_m=2.0)
    answer = ha.answer(study)
    page = report.html(answer)
    made = PdfReader(io.BytesIO(report.pdf(answer)))
    assert "<script>alert('x')</script> & more" in made.pages[0].extract_text()
    assert not Page(page).all("script")
    assert "&lt;script&gt;" in page
    assert "&amp; more" in page


def test_text_and_page_hold_the_same_figures(demo_answer: ha.Answer, page: str) -> None:
    text = "".join(report.text(demo_answer).split())
    for _, path, _, figure in Page(page).figures:
        assert "".join(figure.split()) in text, path


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
    assert worst_of_each_kind(limits) == [(0, []), (1, [0]), (3, [1, 2, 4])]


def over(answer: ha.Answer, **changes: object) -> str:
    return report.text(dataclasses.replace(answer, **changes))  # type: ignore[arg-type]


def test_whatever_speaks_against_hanging_it_stands_at_the_top(demo_answer: ha.Answer) -> None:
    assert "DO NOT" not in report.text(demo_answer)
    closing, chain = demo_answer.closing, demo_answer.shortening
    assert closing is not None
    assert chain is not None
    slips = dataclasses.replace(closing, clutch="slips before it closes")
    assert "DO NOT HANG LIKE THIS: the slip clutch slips before the rear closes" in over(
        demo_answer, closing=slips
    )
    opens = dataclasses.replace(closing, closing_force_n=None, at_closing=None,
                                ended="the chain has no lever on a joint")  # fmt: skip
    assert "nothing holds the rear closed" in over(demo_answer, closing=opens)
    no_link = dataclasses.replace(chain, link=None, ended="chain too short")
    assert "no link of the closing chain fits: the chain is too short" in over(
        demo_answer, shortening=no_link
    )
    worn = [*demo_answer.limits, limit("lever_hoist", None, 11.0, 10.0)]
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
    assert "DO NOT HANG LIKE THIS: the rear does not close: " in sheet
    assert steps_of(sheet) == []


def test_a_hang_whose_chain_slips_off_is_not_to_be_hung() -> None:
    """180° of splay, where `close` still gives a closing force."""
    cabinet = builders.cabinet(rear_height_m=0.30, splay_positions_deg=[20.0])
    hang = builders.hang(
        [20.0] * 9,
        "compression",
        cabinets=[cabinet] * 10,
        frame=builders.frame(chain_anchor_m=(-0.9, 0.0)),
        bottom=builders.bottom(chain_anchor_m=(-0.9, -0.05), cg_m=(-0.5, -0.4)),
        open_limit_deg=-7.0,
    )
    study = builders.study(
        hang=hang, top_range_m=(9.0, 9.0), pick_x_m=[0.1, -0.8], tilt_range_deg=(-1.0, 0.0)
    )
    answer = ha.answer(study, budget_evaluations=100)
    assert answer.closing is not None
    assert answer.closing.ended == "chain slips off an edge"
    sheet = report.text(answer)
    assert "the rear does not close: the chain slips off a rear edge" in sheet
    assert steps_of(sheet) == []
    assert answer.work.closing is None


def test_a_hoist_that_goes_slack_on_the_way_stands_at_the_top(demo_answer: ha.Answer) -> None:
    assert demo_answer.closing is not None
    slack = dataclasses.replace(demo_answer.closing, slack_hoist="rear")
    assert "a hoist goes slack while the rear closes: rear" in over(demo_answer, closing=slack)


def test_figures_are_printed_as_people_read_them(demo_answer: ha.Answer) -> None:
    told = figures.Figures(demo_answer)
    assert told.text("force", -3.0) == "0.00 kN"
    assert told.text("signed_force", 1234.0) == "+1.23 kN"
    assert told.text("angle", 0.4) == "0.4°"
    assert told.text("tilt", -0.001) == "0°"
    assert told.text("load", 9.80665 * 123.4) == "123 kg = 1.21 kN"
    assert told.text("count", 12345) == "12,345"
    assert figures.Figures(demo_answer, "us").text("length", 0.3048 * 11.999) == "12 ft 0.0 in"
    assert figures.Figures(demo_answer, language="de").text("length", 1234.5) == "1.234,50 m"
    assert figures.ranges([3, 1, 2, 7]) == "1-3, 7"
    assert figures.ranges([]) == ""


@pytest.mark.parametrize(("share", "words"), [(0.29, "29 %"), (0.9999, "100 %"), (1.001, "101 %")])
def test_a_percentage_never_flatters(share: float, words: str, demo_answer: ha.Answer) -> None:
    assert figures.Figures(demo_answer).text("percent", share) == words


def chunks(html: str) -> set[str]:
    """Every piece of words on a page, the words for those who hear it among them."""
    parsed = Page(html)
    heard = [str(image["alt"]) for image in parsed.all("img")]
    return {" ".join(words.split()) for words in [*parsed.words, *heard]}


def drawn_words(drawing: pictures.Drawing) -> set[str]:
    """Every word in a picture."""
    figure = drawing.figure
    figure.canvas.draw()
    return {text.get_text() for text in figure.findobj(Text) if text.get_visible()}


def letters(words: str) -> bool:
    return re.search(r"[A-Za-z]{3}", words) is not None


@pytest.mark.parametrize("name", ["demo", "tension", "one pick", "two picks"])
def test_no_word_of_a_german_sheet_is_english(
    name: str, demo_answer: ha.Answer, hangs: dict[str, ha.Answer]
) -> None:
    answer = {"demo": demo_answer, **hangs}[name]
    english, german = (
        report.html(answer, pictures=drawn(answer, language=language), language=language)
        for language in ("en", "de")
    )
    venue = answer.study.venue
    names = {answer.study.name, venue.name, *(area.name for area in venue.areas)}
    cabinets = f"{len(answer.hang.cabinets)} × {answer.hang.cabinets[0].name}"
    # Both are words of either language, "Datum" of another meaning.
    names |= {cabinets, "Band", "Datum"}
    assert {words for words in chunks(english) & chunks(german) if letters(words)} <= names
    for one, other in zip(pictures.draw(answer), pictures.draw(answer, language="de"), strict=True):
        same = {words for words in drawn_words(one) & drawn_words(other) if letters(words)}
        assert same <= names, one.name
        assert one.caption != other.caption


def test_ticks_are_written_as_the_language_does() -> None:
    ax = plot.joint_forces({"Kraft": [500.0, 1500.0]}, language="de")
    ax.get_figure().canvas.draw()
    assert "0,4" in [label.get_text() for label in ax.get_xticklabels()]


def test_every_constraint_of_the_search_has_its_words(demo_answer: ha.Answer) -> None:
    from hangarc._words import _CONSTRAINTS

    for language in report.languages():
        words = Telling(demo_answer, "metric", language)
        assert all(words.word(f"constraint.{kind}") for kind in _CONSTRAINTS)


def test_pins_that_were_given_are_not_compared_with_a_straight_hang() -> None:
    answer = ha.evaluate(builders.study(min_trim_m=2.0))
    text = " ".join(report.text(answer).split())
    assert "Pins as given, not searched" in text
    assert "straight" not in text
    assert "were searched" not in text
    (levels,) = (one for one in pictures.draw(answer) if one.name == "levels")
    assert "straight" not in levels.alt + levels.caption
    assert levels.axes.get_title(loc="left").startswith("pins as given")


def test_a_hoist_that_a_little_tilt_makes_slack_is_named(hangs: dict[str, ha.Answer]) -> None:
    found = hangs["two picks"]
    low_deg = found.hoists.tilt_range_deg[0]
    tilt_deg = low_deg + 0.1
    study = dataclasses.replace(
        found.study, hang=found.hang, tilt_range_deg=(tilt_deg, tilt_deg), goals=ha.Goals()
    )
    text = report.text(ha.evaluate(study))
    assert f"Hoist 1 is nearly slack: with {low_deg:.2f}° of tilt it carries nothing." in text
    assert "nearly slack" not in report.text(found)
    assert "nearly slack" not in report.text(hangs["one pick"])


def test_the_place_is_the_sites_unless_the_job_states_another() -> None:
    site = Site(position_m=(1.5, 6.0), pan_deg=-5.0)
    study = builders.study(min_trim_m=2.0, site=site, twin=site.mirrored("right"))
    answer = ha.evaluate(study)
    assert "x 1.50 m, y 6.00 m, pan -5°, and as its twin x 1.50 m, y -6.00 m, pan +5°" in " ".join(
        report.text(answer).split()
    )
    turn = np.radians(-5.0)
    (hoist,) = answer.work.hoists
    along_m = (hoist.place_m[0] - 1.5) / np.cos(turn)
    assert hoist.place_m[1] == pytest.approx(6.0 + along_m * np.sin(turn), abs=1e-12)
    (point,), (other,) = report.roof_points(answer), report.roof_points(answer, twin=True)
    assert (other.x_m, other.y_m, other.z_m) == pytest.approx((point.x_m, -point.y_m, point.z_m))
    assert other.vertical_n == point.vertical_n
    stated = ha.evaluate(study, job=ha.Job(position_m=(0.0, 2.0), pan_deg=0.0))
    assert "twin" not in report.text(stated)
    assert stated.work.hoists[0].place_m[1] == 2.0
    with pytest.raises(ha.InputError, match="twin"):
        report.roof_points(ha.evaluate(builders.study(min_trim_m=2.0)), twin=True)


def test_a_hang_that_cannot_be_closed_has_its_pages_in_both_engines(
    demo_answer: ha.Answer, tmp_path: Path
) -> None:
    hang = demo_answer.study.hang
    assert hang.gear is not None
    weak = dataclasses.replace(hang.gear, clutch_n=(1000.0, 1500.0))
    study = dataclasses.replace(demo_answer.study, hang=dataclasses.replace(hang, gear=weak))
    answer = ha.answer(study, budget_evaluations=300)
    text = " ".join(report.text(answer).split())
    assert "DO NOT HANG LIKE THIS: closing force for the slip clutch to hold is" in text
    assert "or less is asked." in text
    assert steps_of(report.text(answer)) == []
    made = report.pdf(answer, pictures=drawn(answer, language="de"), language="de")
    pages = PdfReader(io.BytesIO(made)).pages
    assert len(pages) == 3
    assert all("NICHT HÄNGEN" in page.extract_text() for page in pages)
    if CHROMIUM is not None:
        html = report.html(answer, pictures=drawn(answer, language="de"), language="de")
        assert pages_printed(html, tmp_path) == 3


def test_a_job_stated_in_full_keeps_to_two_pages_for_the_crew(
    demo_answer: ha.Answer, tmp_path: Path
) -> None:
    anchors = [
        ha.work.Anchor(name=f"P{n}", place_m=(0.45, y, 16.0)) for n, y in ((8, 4.5), (9, 7.5))
    ]
    front = ha.work.Anchor(name="P7", place_m=(1.65, 6.0, 16.0))
    job = ha.Job(
        project="Festival hall (demo data)", hang="Main left", side="left", revision="B",
        author="A. Rigger", date="2026-11-27", datum="cross on the stage edge",
        position_m=(1.5, 6.0), pan_deg=-5.0, steel_m=0.4, wind_speed_m_s=10.0,
        out_of_step_m=0.03, above_kg={"hoist": 40.0, "chain": 10.0, "steel": 2.0},
        suspensions=[ha.work.Suspension(anchors=[front]),
                     ha.work.Suspension(anchors=anchors, apex_m=14.0)],
    )  # fmt: skip
    answer = ha.answer(demo_answer.study, budget_evaluations=300, job=job)
    for language in ("en", "de"):
        shown = drawn(answer, language=language)
        made = PdfReader(io.BytesIO(report.pdf(answer, pictures=shown, language=language)))
        assert len(made.pages) == 3
        if CHROMIUM is not None:
            html = report.html(answer, pictures=shown, language=language)
            assert pages_printed(html, tmp_path) == 3
