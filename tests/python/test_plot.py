"""Pictures show what they are given, on the Axes they are given, to every reader."""

from __future__ import annotations

import dataclasses
import itertools
import re
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
from matplotlib.collections import QuadMesh
from matplotlib.colors import to_rgb

Draw = Callable[[ha.Answer, Axes | None], Axes]

DRAWN: dict[str, Draw] = {
    "section": lambda a, ax: plot.section(a.hang, 1.0, 11.0, a.study.venue, ax=ax),
    "column": lambda a, ax: plot.column(a.hang, 1.0, ax=ax),
    "seat_levels": lambda a, ax: plot.seat_levels({"found": a.seats}, a.study.venue, ax=ax),
    "band_levels": lambda a, ax: plot.band_levels(a.seats, a.study.venue, name="found", ax=ax),
    "joint_forces": lambda a, ax: plot.joint_forces({"hinge": [1e3, 2e3, 3e3]}, ax=ax),
    "closing_path": lambda a, ax: plot.closing_path(a.closing, gear=a.hang.gear, ax=ax),
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


def test_a_hang_at_its_site_is_drawn_where_its_axes_meet_the_seats() -> None:
    study, (x_m, y_m), pan_deg = ha.demo.study(), (3.0, 8.0), -20.0
    fence = ha.Surface(name="fence", profile_m=[(5.0, 0.0), (5.0, 1.0)], across_m=(7.0, 9.0))
    venue = dataclasses.replace(study.venue, surfaces=[fence])
    where = {"position_m": (x_m, y_m), "pan_deg": pan_deg}
    ax = plot.section(study.hang, -2.0, 11.0, venue, **where)
    lines = [np.asarray(line.get_xydata()) for line in ax.lines]
    turned, met = np.cos(np.radians(pan_deg)), 0
    for front_m, throw in zip(
        ha.pose(study.hang, -2.0, 11.0).front_m,
        ha.throws(study.hang, -2.0, 11.0, venue, **where),
        strict=True,
    ):
        if throw is None:
            continue
        met += 1
        ends = [(x_m + front_m[0] * turned, front_m[1]), throw.place_m[[0, 2]]]
        assert any(len(line) == 2 and np.allclose(line, ends) for line in lines)
    assert met > 4
    assert "fence" in texts(ax)
    assert "fence" not in texts(plot.section(study.hang, -2.0, 11.0, venue))
    assert ax.get_xlabel() == "x, m"


def test_an_axis_that_meets_no_seat_is_dashed_to_the_edge_of_the_picture() -> None:
    study = ha.demo.study()
    ax = plot.section(study.hang, 20.0, 11.0, study.venue)
    dashed = [line for line in ax.lines if line.is_dashed() and line.get_color() == plot.SECOND]
    assert len(dashed) == 12
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    for line, front_m in zip(dashed, ha.pose(study.hang, 20.0, 11.0).front_m, strict=True):
        (from_m, to_m) = np.asarray(line.get_xydata())
        np.testing.assert_allclose(from_m, front_m)
        assert np.degrees(np.arctan2(*(to_m - from_m)[::-1])) == pytest.approx(20.0)
        assert not (left < to_m[0] < right and low < to_m[1] < high)
    # They do not widen the picture.
    assert right < 50.0
    assert high < 20.0


def meshes(ax: Axes) -> list[QuadMesh]:
    return [part for part in ax.collections if isinstance(part, QuadMesh)]


def test_the_map_of_levels_holds_each_bands_levels_over_its_mean_row_by_row(
    demo_answer: ha.Answer,
) -> None:
    seats, venue = demo_answer.seats, demo_answer.study.venue
    ax = plot.band_levels(seats, venue)
    assert len(meshes(ax)) == len(venue.areas)
    for area, mesh in enumerate(meshes(ax)):
        shown = np.asarray(mesh.get_array())
        rows_m = sorted({x for x, *_ in seats.position_m[seats.area == area]})
        assert shown.shape == (len(seats.band_hz), len(rows_m))
        for band, row in itertools.product((0, 7, 15), (0, len(rows_m) - 1)):
            level_db = seats.band_level_db[band]
            places = (seats.area == area) & (seats.position_m[:, 0] == rows_m[row])
            over_db = level_db[places].mean() - np.average(level_db, weights=seats.weight)
            assert shown[band, row] == pytest.approx(over_db)
    assert [label.get_text() for label in ax.get_yticklabels()] == [
        "250", "500", "1k", "2k", "4k", "8k",
    ]  # fmt: skip


def test_cells_more_than_3_db_below_carry_a_dot(demo_answer: ha.Answer) -> None:
    ax = plot.band_levels(demo_answer.straight_seats, demo_answer.study.venue)
    dots = sum(len(np.asarray(line.get_xdata())) for line in ax.lines)
    assert dots == sum(int((np.asarray(mesh.get_array()) < -3.0).sum()) for mesh in meshes(ax)) > 0


def test_two_maps_of_levels_share_their_steps(demo_answer: ha.Answer) -> None:
    heard = demo_answer.straight_seats, demo_answer.seats
    one, other = (meshes(plot.band_levels(h, demo_answer.study.venue))[0] for h in heard)
    levels_db = np.linspace(-9.0, 9.0, 181)
    np.testing.assert_array_equal(one.to_rgba(levels_db), other.to_rgba(levels_db))
    drawn = {tuple(colour[:3]) for colour in one.to_rgba(levels_db)}
    assert drawn == {to_rgb(colour) for colour in plot.STEPS}
    assert tuple(one.to_rgba(0.0)[:3]) == to_rgb(plot.STEPS[4])


def test_what_is_wanted_is_taken_off_the_map(demo_answer: ha.Answer) -> None:
    study = dataclasses.replace(demo_answer.study, fall_db_per_doubling=-3.0)
    wanted_db = ha.acoustics.wanted_db(study)
    seats = demo_answer.seats
    served = dataclasses.replace(seats, band_level_db=np.tile(wanted_db, (16, 1)))
    for mesh in meshes(plot.band_levels(served, study.venue, wanted_db=wanted_db)):
        np.testing.assert_allclose(np.asarray(mesh.get_array()), 0.0, atol=1e-12)
    assert not ha.acoustics.wanted_db(demo_answer.study).any()
    with pytest.raises(ha.InputError, match="wanted_db"):
        plot.band_levels(seats, study.venue, wanted_db=wanted_db[1:])


def test_the_column_names_every_pin(demo_answer: ha.Answer) -> None:
    shown = texts(plot.column(demo_answer.hang, 1.0))
    for joint, splay in enumerate(demo_answer.hang.splays_deg, start=1):
        assert f"joint {joint}: {splay:g}°" in shown


def test_bars_are_as_long_as_the_forces_and_missing_limits_have_no_mark() -> None:
    ax = plot.joint_forces(
        {"hinge": [1e3, -2e3, 3e3]}, limits_n={"hinge": [5e3, None, 6e3]}, bottom=True
    )
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
    ax = plot.closing_path(closing, gear=demo_answer.hang.gear)
    curve = ax.lines[0]
    assert curve.get_ydata()[-1] == pytest.approx(closing.closing_force_n / 1e3, rel=1e-3)
    shown = {int(text) for text in texts(ax)}
    assert shown == {e.joint for e in closing.events if e.contact == "arrives at stop"}


def front(
    answer: ha.Answer, *points: tuple[float, float, float | None]
) -> list[ha.search.SearchResult]:
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
    ax = plot.trade_off(front(demo_answer, *reversed(BENT)), against=against)
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
        plot.trade_off([demo_answer.search], against="weight")
    with pytest.raises(ha.InputError, match=r"front.*closed by a chain"):
        plot.trade_off(front(demo_answer, (1.0, -24.0, None)), against="closing force")


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


@pytest.mark.parametrize("deficiency", [None, "deuteranomaly", "protanomaly", "tritanomaly"])
def test_steps_of_level_stay_apart_for_colour_blind_readers(deficiency: str | None) -> None:
    # As above. Steps that lie next to each other in the picture are next to each other in the key;
    # 9 is the least such difference that could be had with a lightness of its own for each step.
    space = {"name": "sRGB1+CVD", "cvd_type": deficiency, "severity": 100}
    seen = [
        np.clip(colorspacious.cspace_convert(to_rgb(colour), space, "sRGB1"), 0.0, 1.0)
        if deficiency
        else np.array(to_rgb(colour))
        for colour in plot.STEPS
    ]
    for one, other in itertools.combinations(seen, 2):
        assert colorspacious.deltaE(one, other, input_space="sRGB1") > 9.0


def test_steps_of_level_stay_apart_in_a_grey_print() -> None:
    # Lightness J' of CAM02-UCS; a difference of 4 is several times the least seen (about 1).
    lightness = sorted(
        colorspacious.cspace_convert(to_rgb(colour), "sRGB1", "CAM02-UCS")[0]
        for colour in plot.STEPS
    )
    assert np.diff(lightness).min() > 4.0
    at = [colorspacious.cspace_convert(to_rgb(c), "sRGB1", "CAM02-UCS")[0] for c in plot.STEPS]
    assert (np.diff(at[:5]) > 0).all()
    assert (np.diff(at[4:]) < 0).all()


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


def test_a_section_in_feet_is_the_same_picture_with_other_numbers(demo_answer: ha.Answer) -> None:
    search, venue = demo_answer.search, demo_answer.study.venue
    ax = plot.section(demo_answer.hang, search.tilt_deg, search.top_m, venue, feet=True)
    figure = ax.get_figure(root=True)
    assert figure is not None
    figure.canvas.draw()
    for axis, limits in ((ax.xaxis, ax.get_xlim()), (ax.yaxis, ax.get_ylim())):
        shown = [
            (at_m, float(label.get_text().replace("−", "-")))
            for at_m, label in zip(axis.get_ticklocs(), axis.get_ticklabels(), strict=True)
            if limits[0] <= at_m <= limits[1]
        ]
        assert len(shown) >= 2
        for at_m, feet in shown:
            assert at_m / 0.3048 == pytest.approx(feet, abs=1e-6)
    assert ax.get_ylabel() == "height, ft"
    words = " ".join(texts(ax))
    assert " ft " in words
    assert not re.search(r"[0-9] m\b", words)
