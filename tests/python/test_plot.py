"""Pictures show what they are given, on the Axes they are given, to every reader."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterator

import builders
import colorspacious
import hangarc as ha
import matplotlib.pyplot as plt
import numpy as np
import pytest
from hangarc import plot
from hangarc.report import pictures
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb

Draw = Callable[[ha.Answer, Axes | None], Axes]

DRAWN: dict[str, Draw] = {
    "section": lambda a, ax: plot.section(a.hang, 1.0, 11.0, a.study.venue, ax=ax),
    "column": lambda a, ax: plot.column(a.hang, 1.0, ax=ax),
    "seat_levels": lambda a, ax: plot.seat_levels({"found": a.seats}, a.study.venue, ax=ax),
    "joint_forces": lambda a, ax: plot.joint_forces({"hinge": [1e3, 2e3, 3e3]}, ax=ax),
    "closing_path": lambda a, ax: plot.closing_path(a.closing, a.hang.gear, ax=ax),
    "trade_off": lambda a, ax: plot.trade_off([a.search], ax=ax),
}


@pytest.fixture(autouse=True)
def close_figures() -> Iterator[None]:
    yield
    plt.close("all")


@pytest.mark.parametrize("draw", DRAWN.values(), ids=DRAWN.keys())
def test_a_picture_is_drawn_on_the_given_axes_or_on_new_ones(
    draw: Draw, demo_answer: ha.Answer
) -> None:
    ax = plt.figure().subplots()
    assert draw(demo_answer, ax) is ax
    assert draw(demo_answer, None) is not ax
    assert ax.get_title(loc="left")
    assert ax.get_xlabel()


def texts(ax: Axes) -> list[str]:
    return [text.get_text() for text in ax.texts]


def test_each_axis_that_meets_seats_ends_there(demo_answer: ha.Answer) -> None:
    search, venue = demo_answer.search, demo_answer.study.venue
    ax = plot.section(demo_answer.hang, search.tilt_deg, search.top_m, venue)
    lines = [np.asarray(line.get_xydata()) for line in ax.lines]
    met = [throw for throw in demo_answer.throws if throw is not None]
    assert met
    for throw in met:
        assert any(len(line) == 2 and np.allclose(line[1], throw.point_m) for line in lines)
    for area in venue.areas:
        assert area.name in texts(ax)
        assert any(np.array_equal(line, area.profile_m) for line in lines)


def test_the_column_names_every_pin(demo_answer: ha.Answer) -> None:
    shown = texts(plot.column(demo_answer.hang, 1.0))
    for joint, splay in enumerate(demo_answer.hang.splays_deg, start=1):
        assert f"joint {joint}: {splay:g}°" in shown


def test_bars_are_as_long_as_the_forces_and_missing_limits_have_no_mark() -> None:
    ax = plot.joint_forces({"hinge": [1e3, -2e3, 3e3]}, {"hinge": [5e3, None, 6e3]}, bottom=True)
    assert [patch.get_width() for patch in ax.patches] == [1.0, -2.0, 3.0]
    (marks,) = [line for line in ax.lines if str(line.get_label()).startswith("stated limit")]
    assert list(marks.get_xdata()) == [5.0, 6.0]
    names = [label.get_text() for label in ax.get_yticklabels()]
    assert names == [
        "0: fly frame and cabinet 1",
        "1: cabinets 1 and 2",
        "2: cabinet 2 and bottom frame",
    ]


def test_level_curves_are_relative_to_their_mean_and_carry_their_evenness(
    demo_answer: ha.Answer,
) -> None:
    seats = demo_answer.seats
    ax = plot.seat_levels({"found": seats}, demo_answer.study.venue)
    curves = [line for line in ax.lines if line.get_marker() == "s"]
    assert len(curves) == len(demo_answer.study.venue.areas)
    mean = np.average(seats.level_db, weights=seats.weight)
    first = seats.position_m[:, 0] == seats.position_m[0, 0]
    assert curves[0].get_ydata()[0] == pytest.approx(seats.level_db[first].mean() - mean)
    (label,) = [text.get_text() for text in ax.get_legend().get_texts()]
    assert label == f"found, evenness {seats.evenness_db:.2f} dB"


def test_the_closing_picture_ends_at_the_closing_force(demo_answer: ha.Answer) -> None:
    closing = demo_answer.closing
    assert closing is not None
    assert closing.closing_force_n is not None
    ax = plot.closing_path(closing, demo_answer.hang.gear)
    curve = ax.lines[0]
    assert curve.get_ydata()[-1] == pytest.approx(closing.closing_force_n / 1e3, rel=1e-3)
    shown = {int(text) for text in texts(ax)}
    assert shown == {e.joint for e in closing.events if e.contact == "arrives at stop"}


def front(answer: ha.Answer, *points: tuple[float, float, float | None]) -> list[ha.SearchResult]:
    search = answer.search
    return [
        dataclasses.replace(
            search,
            sound=dataclasses.replace(search.sound, unevenness_db=spread_db, mean_db=mean_db),
            closing_force_n=force_n,
        )
        for spread_db, mean_db, force_n in points
    ]


# Off the line between the ends, in spans of unevenness: the second 0.4, the third 0.35.
BENT = ((1.0, -24.0, 4000.0), (1.1, -22.0, 2500.0), (1.2, -21.8, 2400.0), (2.0, -20.0, 2000.0))


@pytest.mark.parametrize(
    ("against", "x", "labels"),
    [
        ("mean level", [-24.0, -22.0, -21.8, -20.0], ["-24.00 dB", "-22.00 dB", "-20.00 dB"]),
        ("closing force", [4.0, 2.5, 2.4, 2.0], ["4.00 kN", "2.50 kN", "2.00 kN"]),
    ],
)
def test_the_trade_off_shows_every_hang_and_labels_its_ends_and_its_knee(
    against: str, x: list[float], labels: list[str], demo_answer: ha.Answer
) -> None:
    ax = plot.trade_off(front(demo_answer, *reversed(BENT)), against)
    (line,) = ax.lines
    assert list(line.get_xdata()) == x
    assert list(line.get_ydata()) == [1.0, 1.1, 1.2, 2.0]
    assert sorted(text.split(" at ")[1] for text in texts(ax)) == sorted(labels)
    assert "dB" in ax.get_ylabel()
    assert labels[0].split()[1] in ax.get_xlabel()


def test_two_hangs_of_a_trade_off_have_no_knee(demo_answer: ha.Answer) -> None:
    assert len(texts(plot.trade_off(front(demo_answer, *BENT[:2])))) == 2


def test_hangs_nearly_in_a_line_have_no_knee(demo_answer: ha.Answer) -> None:
    straight = front(demo_answer, (1.0, -24.0, 4e3), (1.52, -23.0, 3e3), (2.0, -22.0, 2e3))
    assert len(texts(plot.trade_off(straight))) == 2


def test_a_trade_off_that_cannot_be_drawn_is_refused_by_name(demo_answer: ha.Answer) -> None:
    with pytest.raises(ha.InputError, match="front"):
        plot.trade_off([])
    with pytest.raises(ha.InputError, match=r"against = weight.*'mean level' or 'closing force'"):
        plot.trade_off([demo_answer.search], "weight")
    with pytest.raises(ha.InputError, match=r"front.*closed by a chain"):
        plot.trade_off(front(demo_answer, (1.0, -24.0, None)), "closing force")


@pytest.mark.parametrize("deficiency", ["deuteranomaly", "protanomaly", "tritanomaly"])
def test_series_stay_apart_for_colour_blind_readers(deficiency: str) -> None:
    # Full dichromacy by Machado, Oliveira and Fernandes (2009) in CAM02-UCS, both by colorspacious;
    # a difference of 15 is many times the least seen (about 1).
    space = {"name": "sRGB1+CVD", "cvd_type": deficiency, "severity": 100}
    for one, other in itertools.combinations((plot.FIRST, plot.SECOND, plot.THIRD), 2):
        seen = [
            np.clip(colorspacious.cspace_convert(to_rgb(colour), space, "sRGB1"), 0.0, 1.0)
            for colour in (one, other)
        ]
        assert colorspacious.deltaE(*seen, input_space="sRGB1") > 15.0, (one, other)


@pytest.mark.parametrize("colour", [plot.INK, plot.FIRST, plot.SECOND, plot.THIRD])
def test_lines_and_text_stand_out_from_white(colour: str) -> None:
    # WCAG 2.2, 1.4.11: at least 3:1 for graphics; relative luminance as defined there.
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    luminance = float(np.dot(linear, (0.2126, 0.7152, 0.0722)))
    assert 1.05 / (luminance + 0.05) >= 3.0


def test_the_same_answer_gives_the_same_svg(demo_answer: ha.Answer) -> None:
    assert pictures.draw(demo_answer)[0].png().startswith(b"\x89PNG")
    once, again = (pictures.draw(demo_answer) for _ in range(2))
    names = ["column", "plan", "section", "levels", "forces", "closing"]
    assert [d.name for d in once] == names
    for one, other in zip(once, again, strict=True):
        assert one.svg() == other.svg()
        assert len(one.alt) > 40


def test_labels_do_not_run_into_each_other_or_off_the_paper(demo_answer: ha.Answer) -> None:
    for drawing in pictures.draw(demo_answer):
        figure = drawing.figure
        figure.canvas.draw()
        paper = figure.bbox
        boxes = [
            (text.get_text(), text.get_window_extent())
            for text in drawing.axes.texts
            if text.get_text()
        ]
        for text, box in boxes:
            assert paper.x0 <= box.x0, (drawing.name, text)
            assert box.x1 <= paper.x1, (drawing.name, text)
            assert paper.y0 <= box.y0, (drawing.name, text)
            assert box.y1 <= paper.y1, (drawing.name, text)
        for (one, a), (other, b) in itertools.combinations(boxes, 2):
            assert not a.overlaps(b), (drawing.name, one, other)


def test_a_tension_hang_is_drawn_without_a_chain() -> None:
    ax = plot.column(builders.hang([1.0, 2.0]), 0.0)
    labels = [text.get_text() for text in ax.get_legend().get_texts()]
    assert "closing chain" not in labels
