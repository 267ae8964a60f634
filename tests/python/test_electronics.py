"""Gains and filter: against SciPy's bounded least squares on the public pressures."""

from __future__ import annotations

import dataclasses

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc.search import system_levels
from hangarc.search.system import sited
from objective import levels_of, spread_and_mean_db
from outside import Outside, ran
from scipy.optimize import OptimizeResult, least_squares
from test_search import small_study


def with_gains(study: ha.Study, gains_db: np.ndarray) -> ha.Hang:
    cabinets = [
        dataclasses.replace(
            cabinet,
            source=dataclasses.replace(
                cabinet.source,
                elements=[
                    dataclasses.replace(element, gain_db=float(gain))
                    for element in cabinet.source.elements
                ],
            ),
        )
        for cabinet, gain in zip(study.hang.cabinets, gains_db, strict=True)
    ]
    return dataclasses.replace(study.hang, cabinets=cabinets)


def residuals_db(study: ha.Study, gains_db: np.ndarray) -> np.ndarray:
    levels = levels_of(study, with_gains(study, gains_db), -1.0, 8.0)
    mean_db = np.average(levels.band_level_db, axis=1, weights=levels.weight)
    off_db = levels.band_level_db - mean_db[:, None]
    share = levels.weight / levels.weight.sum() / len(mean_db)
    return (off_db * np.sqrt(share)).ravel()


def as_even_as(
    outside: Outside, what: str, reference: OptimizeResult, found: ha.search.Electronics
) -> None:
    """The gains found leave what SciPy's leave."""
    outside.check(
        "search", what, ran("scipy", "bounded least squares by SciPy on the public pressures"),
        theirs=np.sqrt(2.0 * reference.cost), ours=found.unevenness_db, unit="dB", within=0.005,
        why="where the two searches stop, and the fit of the levels between lines",
    )  # fmt: skip


def test_no_gains_within_the_bounds_are_better_than_scipys(outside: Outside) -> None:
    study = small_study()
    found = ha.search.electronics(study, -1.0, 8.0)
    assert found.ok
    assert found.gains_db.max() <= 0.0
    assert found.gains_db.min() >= -6.0
    reference = least_squares(
        lambda gains: residuals_db(study, gains), np.full(4, -0.01), bounds=(-6.0, 0.0)
    )
    as_even_as(outside, "unevenness with the best gains of a hang of four", reference, found)
    assert found.unevenness_db < found.unevenness_before_db


def test_the_figures_are_those_of_the_hang_with_these_gains() -> None:
    study = small_study()
    found = ha.search.electronics(study, -1.0, 8.0, most_filter_db=40.0)
    for gains_db, spread_db, mean_db in (
        (np.zeros(4), found.unevenness_before_db, found.mean_before_db),
        (found.gains_db, found.unevenness_db, found.mean_db),
    ):
        levels = levels_of(study, with_gains(study, gains_db), -1.0, 8.0)
        assert spread_and_mean_db(levels) == pytest.approx((spread_db, mean_db), abs=0.01)
        if gains_db is found.gains_db:
            means_db = np.average(levels.band_level_db, axis=1, weights=levels.weight)
            np.testing.assert_allclose(means_db + found.filter_db, mean_db, atol=0.01)


def in_company() -> ha.Study:
    """A hang with its twin in another feed, a neighbour in its own feed, and one in a third."""
    study = small_study()
    site = ha.model.Site(position_m=(0.0, 4.0), pan_deg=-5.0, feed="left")

    def beside(name: str, **where: object) -> ha.model.Neighbour:
        hang = dataclasses.replace(study.hang, splays_deg=[2.0] * 3)
        placed = ha.model.Site(**where)
        return ha.model.Neighbour(name=name, hang=hang, tilt_deg=-2.0, top_m=7.0, site=placed)

    return dataclasses.replace(
        study,
        site=site,
        twin=site.mirrored("right"),
        beside=[
            beside("fill", position_m=(1.0, 0.0), feed="left", gain_db=-6.0, delay_s=0.004),
            beside("delay", position_m=(12.0, 1.0), feed="delay", gain_db=-10.0),
        ],
    )


def together(study: ha.Study, gains_db: np.ndarray) -> ha.acoustics.SeatLevels:
    hung = [*sited(study, with_gains(study, gains_db), -1.0, 8.0), *study.beside]
    return system_levels(
        hung,
        study.venue,
        air=study.air,
        lowest_hz=study.goals.lowest_hz,
        highest_hz=study.goals.highest_hz,
        lines_per_band=study.lines_per_band,
    )


def test_gains_beside_a_twin_and_other_hangs_are_no_worse_than_scipys(outside: Outside) -> None:
    study = in_company()
    found = ha.search.electronics(study, -1.0, 8.0)

    def residuals(gains_db: np.ndarray) -> np.ndarray:
        levels = together(study, gains_db)
        mean_db = np.average(levels.band_level_db, axis=1, weights=levels.weight)
        share = levels.weight / levels.weight.sum() / len(mean_db)
        return ((levels.band_level_db - mean_db[:, None]) * np.sqrt(share)).ravel()

    for gains_db, spread_db, mean_db in (
        (np.zeros(4), found.unevenness_before_db, found.mean_before_db),
        (found.gains_db, found.unevenness_db, found.mean_db),
    ):
        levels = together(study, gains_db)
        assert spread_and_mean_db(levels) == pytest.approx((spread_db, mean_db), abs=0.01)
    reference = least_squares(residuals, np.full(4, -0.01), bounds=(-6.0, 0.0))
    assert found.ok
    as_even_as(outside, "the same beside a twin and two other hangs", reference, found)
    assert found.unevenness_db < found.unevenness_before_db


def test_the_filter_keeps_its_bound() -> None:
    narrow = ha.search.electronics(small_study(), -1.0, 8.0, most_filter_db=1.0)
    assert np.abs(narrow.filter_db).max() == pytest.approx(1.0)


def test_a_height_from_which_no_sound_arrives_is_refused() -> None:
    """Over 30 km the air leaves nothing of the highest lines, of which a level would be none."""
    study = builders.study(hang=builders.hang([1.0]), pick_x_m=(0.2, -0.8), lines_per_band=1)
    with pytest.raises(ha.InputError) as refused:
        ha.search.electronics(study, 0.0, 30_000.0)
    assert str(refused.value) == (
        "venue = a seat that no sound reaches: allowed is seats that all hear some of the sound in "
        "these bands"
    )


@pytest.mark.parametrize(
    ("field", "value"), [("least_gain_db", 1.0), ("most_filter_db", -1.0), ("tilt_deg", 91.0)]
)
def test_a_bound_out_of_range_is_refused_by_name(field: str, value: float) -> None:
    arguments = {"tilt_deg": 0.0, "top_m": 8.0, field: value}
    with pytest.raises(ha.InputError, match=field):
        ha.search.electronics(small_study(), **arguments)
