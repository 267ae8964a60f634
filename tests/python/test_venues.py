"""The demo venues at their greatest height, against an annealing of 20 s that nobody tuned.

Its figures were found by a script that is not kept: a price of level of 0.1, no other price, 250 Hz
to 8 kHz at six lines a band, and floors that block nothing.
"""

from __future__ import annotations

import dataclasses
import itertools

import hangarc as ha
import numpy as np
import pytest
from hangarc.demo import venues
from objective import levels_of, roughness_deg, spread_and_mean_db

ANNEALED_DB = {
    "hall with balcony": 3.67,
    "arena": 4.10,
    "sloping field": 3.56,
    "theatre with two balconies": 3.18,
    "long flat floor": 3.27,
}
# Levels within 0.05 dB are alike to the search, which then takes the smoother pins; they are
# printed to 0.1 dB, and none of these falls by a fifth of that.
AS_LOUD_DB = 0.02
AS_GOOD_DB = 0.01


def at_the_top(name: str, floors_block: bool) -> ha.Study:
    study = venues.studies()[name]
    return dataclasses.replace(
        study,
        venue=dataclasses.replace(study.venue, floors_block=floors_block),
        top_range_m=(study.top_range_m[1],) * 2,
        lines_per_band=6,
    )


def heard(study: ha.Study, found: ha.search.SearchResult) -> ha.acoustics.Unevenness:
    lines = study.lines_per_band
    return ha.unevenness(
        found.hang, found.tilt_deg, found.top_m, study.venue, study.air, lines_per_band=lines
    )


@pytest.mark.parametrize("floors_block", [False, True])
@pytest.mark.parametrize("name", ANNEALED_DB)
def test_the_prices_cost_little_evenness_and_no_level_one_hears(
    name: str, floors_block: bool
) -> None:
    study = at_the_top(name, floors_block)
    goals = dataclasses.replace(study.goals, level_price=0.1, roughness_price=0.0)
    alone = ha.optimise_splays(dataclasses.replace(study, goals=goals))
    priced = ha.optimise_splays(study)
    even, answer = heard(study, alone), heard(study, priced)
    if not floors_block:
        assert even.unevenness_db - 0.1 * even.mean_db <= ANNEALED_DB[name] + 0.02
    assert answer.unevenness_db <= even.unevenness_db + 0.05
    assert answer.mean_db >= even.mean_db - AS_LOUD_DB
    assert priced.roughness_deg <= alone.roughness_deg


def test_no_two_pins_beside_the_answer_are_as_good_and_as_loud_and_smoother() -> None:
    """By the objective in plain NumPy; only the pins are changed."""
    study = venues.studies()["sloping field"]
    found = ha.optimise_splays(study)
    positions_deg = np.array(study.hang.cabinets[0].splay_positions_deg["compression"])
    pins = np.searchsorted(positions_deg, found.splays_deg - 1e-9)
    assert (positions_deg[pins] == found.splays_deg).all()
    goals, seen = study.goals, 0
    for one, other in itertools.combinations(range(len(pins)), 2):
        for turned in itertools.product((-1, 1), repeat=2):
            moved = pins.copy()
            moved[[one, other]] += turned
            if moved.min() < 0 or moved.max() >= len(positions_deg):
                continue
            splays_deg = positions_deg[moved]
            rough_deg = roughness_deg(splays_deg, gaps=0)
            if rough_deg >= found.roughness_deg:
                continue
            seen += 1
            hang = dataclasses.replace(found.hang, splays_deg=splays_deg.tolist())
            spread_db, mean_db = spread_and_mean_db(
                levels_of(study, hang, found.tilt_deg, found.top_m)
            )
            objective_db = spread_db - goals.level_price * mean_db
            objective_db += goals.roughness_price * rough_deg
            good = objective_db <= found.least_objective_db + AS_GOOD_DB
            assert not (good and mean_db >= found.mean_db), splays_deg
    assert seen > 20
