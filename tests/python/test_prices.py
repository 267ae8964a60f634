"""Prices, wanted levels, airs and tolerances do what they say, over all candidates."""

from __future__ import annotations

import dataclasses

import builders
import hangarc as ha
import numpy as np
import pytest
from objective import levels_of, objective_db, spread_and_mean_db
from test_search import small_study

NEAR = builders.area(name="near")
FAR = builders.area(name="far", profile_m=[(26.0, 4.0), (34.0, 6.5)])
TWO_BLOCKS = builders.venue(areas=[NEAR, FAR])


def proved(venue: ha.Venue = TWO_BLOCKS, **goals: object) -> ha.search.SearchResult:
    study = small_study(venue=venue, goals=ha.Goals(**{"roughness_price": 0.0, **goals}))
    found = ha.optimise_splays(study, prove=True)
    assert found.ended == "proved"
    return found


def test_a_dearer_level_is_bought_with_unevenness() -> None:
    # Of two optima, each is no worse than the other at its own price: both rise with the price.
    answers = [proved(level_price=price) for price in (0.0, 0.1, 0.5, 2.0)]
    tie_db = 0.011
    for price, one, dearer in zip((0.1, 0.5, 2.0), answers, answers[1:], strict=False):
        assert dearer.mean_db >= one.mean_db - tie_db / price - 0.05
        assert dearer.unevenness_db >= one.unevenness_db - tie_db - 0.05 * price
    assert answers[-1].mean_db > answers[0].mean_db + 0.1
    assert answers[-1].unevenness_db > answers[0].unevenness_db + 0.05


def test_a_dearer_roughness_smooths_the_pins() -> None:
    rough, smooth = proved(roughness_price=0.0), proved(roughness_price=5.0)
    assert smooth.roughness_deg <= rough.roughness_deg
    assert smooth.roughness_deg < 0.2


def test_a_bound_on_sound_off_the_seats_is_kept_or_named() -> None:
    free = proved()
    assert free.off_seats_db is not None
    kinds = {row.kind for row in free.sound.off_seats}
    assert kinds == {"behind the last row", "front edge", "stage"}
    held = proved(most_off_seats_db=free.off_seats_db - 0.5)
    assert held.off_seats_db <= free.off_seats_db - 0.5 + 0.02
    assert held.objective_db >= free.objective_db - 0.01
    priced = proved(off_seats_price=0.5)
    assert priced.off_seats_db <= free.off_seats_db + 0.02


def test_the_level_off_the_seats_is_that_of_the_rig_there() -> None:
    # Levels at points know no room, so nothing blocks here; what blocks is tested in test_rooms.
    open_air = dataclasses.replace(TWO_BLOCKS, floors_block=False)
    place_m = (5.0, 3.0, 9.0)
    found = proved(open_air, off_seats_m=[place_m])
    assert found.sound.off_seats[-1].kind == "named"
    np.testing.assert_array_equal(found.sound.off_seats[-1].position_m, place_m)
    study = small_study(venue=open_air)
    _, mean_db = spread_and_mean_db(levels_of(study, found.hang, found.tilt_deg, found.top_m))
    rig = ha.Rig(hangs=[ha.Placed(hang=found.hang, tilt_deg=found.tilt_deg, top_m=found.top_m)])
    places_m = [row.position_m for row in found.sound.off_seats]
    there = ha.acoustics.point_levels(
        rig, places_m, air=ha.Air(), lowest_hz=250.0, highest_hz=8000.0, lines_per_band=3
    )
    each_db = there.band_level_db.mean(axis=0) - mean_db
    given = [row.level_db for row in found.sound.off_seats]
    np.testing.assert_allclose(given, each_db, atol=0.05)
    mean_energy_db = 10.0 * np.log10(np.mean(10.0 ** (there.band_level_db / 10.0), axis=1))
    assert found.off_seats_db == pytest.approx(mean_energy_db.mean() - mean_db, abs=0.05)


def test_a_block_gets_the_level_that_is_wanted_there() -> None:
    def far_over_near_db(found: ha.search.SearchResult) -> float:
        levels = levels_of(small_study(venue=TWO_BLOCKS), found.hang, found.tilt_deg, found.top_m)
        mean_db = levels.band_level_db.mean(axis=0)
        means = [
            np.average(mean_db[levels.area == area], weights=levels.weight[levels.area == area])
            for area in (0, 1)
        ]
        return float(means[1] - means[0])

    prices = {"level_price": 0.0}
    alike = far_over_near_db(proved(**prices))
    quieter = ha.model.WantedLevel(area="far", level_db=-6.0)
    assert far_over_near_db(proved(wanted=[quieter], **prices)) < alike - 2.0
    falling = ha.model.WantedLevel(area="near", level_db=[6.0, -6.0])
    curved = proved(wanted=[falling], **prices)
    study = small_study(venue=TWO_BLOCKS)
    levels = levels_of(study, curved.hang, curved.tilt_deg, curved.top_m)
    # The wanted curve written out: straight in x along the near block, none in the far one.
    x_m = levels.position_m[:, 0]
    (start, _), (end, _) = NEAR.profile_m[0], NEAR.profile_m[-1]
    wanted_db = np.where(levels.area == 0, 6.0 - 12.0 * (x_m - start) / (end - start), 0.0)
    wanted_db -= np.average(wanted_db, weights=levels.weight)
    shaped = dataclasses.replace(levels, band_level_db=levels.band_level_db - wanted_db)
    assert curved.unevenness_db == pytest.approx(spread_and_mean_db(shaped)[0], abs=0.02)


@pytest.mark.parametrize(
    ("wanted", "field"),
    [
        (ha.model.WantedLevel(area="nowhere", level_db=0.0), r"goals.wanted\[0\].area"),
        (ha.model.WantedLevel(area="near", level_db=[0.0] * 5), r"goals.wanted\[0\].level_db"),
    ],
)
def test_a_wish_for_no_block_is_refused_by_name(wanted: ha.model.WantedLevel, field: str) -> None:
    with pytest.raises(ha.InputError, match=field):
        small_study(venue=TWO_BLOCKS, goals=ha.Goals(wanted=[wanted]))


@pytest.mark.parametrize("over", ["mean", "worst"])
def test_several_airs_count_by_their_mean_or_the_worst(over: str) -> None:
    airs = [ha.Air(), ha.Air(temperature_c=38.0, humidity_percent=12.0)]
    study = small_study(air=airs[0], more_airs=airs[1:], goals=ha.Goals(over=over))
    found = ha.optimise_splays(study)
    each_db = [
        objective_db(dataclasses.replace(study, air=air), found.hang, found.tilt_deg, found.top_m)
        for air in airs
    ]
    expected = max(each_db) if over == "worst" else np.mean(each_db)
    assert found.objective_db == pytest.approx(expected, abs=0.01)
    rows = found.sound.conditions
    assert [row.air for row in rows] == [0, 1]
    assert [row.objective_db for row in rows] == pytest.approx(each_db, abs=0.01)
    # A dry hot evening swallows more than a mild one.
    assert rows[1].mean_db < rows[0].mean_db - 0.1


def test_tolerances_count_by_draws_within_them() -> None:
    study = small_study(
        splay_tolerance_deg=0.5, tilt_tolerance_deg=0.5, goals=ha.Goals(over="worst")
    )
    found = ha.optimise_splays(study)
    rows = found.sound.conditions
    assert [row.off for row in rows] == [False, True, True, True, True]
    assert found.objective_db == pytest.approx(max(row.objective_db for row in rows), abs=1e-9)
    exact = ha.optimise_splays(small_study(goals=ha.Goals(over="worst")))
    assert exact.objective_db <= found.objective_db + 0.01
    # Draws of opposite sign lie on both sides of the hang as pinned, but none far off it.
    assert max(abs(row.spread_db - rows[0].spread_db) for row in rows) < 1.0


def test_a_wider_range_of_cabinets_is_never_worse_and_level_brings_cabinets() -> None:
    ranges = [(2, 3), (1, 3), (1, 4)]
    found = [
        ha.optimise_splays(small_study(goals=ha.Goals(cabinet_range=range_))) for range_ in ranges
    ]
    best = [min(row.objective_db for row in one.counts) for one in found]
    assert best[0] >= best[1] >= best[2]
    assert len(found[2].hang.cabinets) == 4
    each = {row.cabinets: row.objective_db for row in found[2].counts}
    assert each[1] > each[2] > each[3] > each[4]
