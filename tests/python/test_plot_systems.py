"""Pictures of several hangs: what is drawn is what was worked out."""

from __future__ import annotations

import builders
import hangarc as ha
import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
import pytest
from hangarc import plot
from hangarc.model import Neighbour, Site
from hangarc.search import arrivals_s, system_levels

mpl.use("Agg")

VENUE = builders.venue(
    areas=[
        builders.area(places_across=5),
        builders.area(name="back", profile_m=[(32.0, 3.0), (40.0, 5.0)], places_across=5),
    ]
)


def hung(name: str, y_m: float, **changes: float) -> Neighbour:
    site = Site(position_m=(0.0, y_m), pan_deg=-y_m)
    fields = {"hang": builders.hang([1.0, 2.0]), "tilt_deg": 0.0, "top_m": 8.0, **changes}
    return Neighbour(name=name, site=site, **fields)


@pytest.fixture(scope="module")
def pair() -> list[Neighbour]:
    return [hung("left", 5.0), hung("right", -5.0)]


@pytest.fixture(scope="module")
def levels(pair: list[Neighbour]) -> ha.acoustics.SeatLevels:
    return system_levels(pair, VENUE)


def test_a_plan_shows_every_place_with_its_level(levels: ha.acoustics.SeatLevels) -> None:
    ax = plt.subplots()[1]
    assert plot.seat_plan(levels, VENUE, ax=ax) is ax
    shown = np.concatenate([dots.get_array() for dots in ax.collections[:2]])
    mean_db = np.average(levels.level_db, weights=levels.weight)
    np.testing.assert_allclose(shown, levels.level_db - mean_db)
    places = np.vstack([dots.get_offsets() for dots in ax.collections[:2]])
    np.testing.assert_allclose(places, levels.position_m[:, :2])
    one_band = plot.seat_plan(levels, VENUE, band_hz=2000.0)
    assert "2 kHz" in one_band.get_title(loc="left")
    with pytest.raises(ha.InputError, match="band_hz"):
        plot.seat_plan(levels, VENUE, band_hz=100.0)


def test_a_difference_is_one_less_the_other(
    levels: ha.acoustics.SeatLevels, pair: list[Neighbour]
) -> None:
    alone = system_levels(pair[:1], VENUE)
    ax = plot.plan_difference(levels, alone, VENUE, hung=pair)
    shown = np.concatenate([dots.get_array() for dots in ax.collections[:2]])
    np.testing.assert_allclose(shown, levels.level_db - alone.level_db)
    other = system_levels(pair, builders.venue())
    with pytest.raises(ha.InputError, match="before"):
        plot.plan_difference(levels, other, VENUE)


def test_a_section_draws_every_hang_where_it_hangs(pair: list[Neighbour]) -> None:
    far = Neighbour(
        name="delay",
        hang=builders.hang([3.0]),
        tilt_deg=-5.0,
        top_m=6.0,
        site=Site(position_m=(20.0, 0.0)),
    )
    ax = plot.system_section([*pair, far], VENUE)
    # Twins lie over each other: three cabinets of one, two of the other.
    corners = [patch.get_xy() for patch in ax.patches]
    assert len(corners) == 5
    assert min(corner[:, 0].min() for corner in corners[3:]) > 19.0
    words = [text.get_text() for text in ax.texts]
    assert "left, right" in words
    assert "delay" in words


def test_spectra_are_those_of_the_seats(levels: ha.acoustics.SeatLevels) -> None:
    ax = plot.seat_spectra(levels, {"first": 0, "last": len(levels.weight) - 1})
    np.testing.assert_array_equal(ax.lines[1].get_ydata(), levels.band_level_db[:, -1])
    with pytest.raises(ha.InputError, match="seats"):
        plot.seat_spectra(levels, [0, 1, 2, 3, 4])
    with pytest.raises(ha.InputError, match="seats"):
        plot.seat_spectra(levels, [100_000])


def test_arrivals_count_from_the_first(pair: list[Neighbour]) -> None:
    places = np.array([[10.0, 5.0, 1.2], [12.0, -5.0, 1.2]])
    times = arrivals_s(pair, places)
    ax = plot.arrival_times(["left", "right"], times, places)
    left = ax.lines[0].get_ydata()
    assert left[0] == 0.0
    assert left[1] == pytest.approx(1000.0 * (times[0, 1] - times[1, 1]))
    with pytest.raises(ha.InputError, match="time_s"):
        plot.arrival_times(["left"], times, places)
