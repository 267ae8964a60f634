"""Levels at the seats are summed up area by area."""

from __future__ import annotations

import hangarc as ha
import numpy as np
import pytest


def test_each_area_has_the_mean_and_spread_that_numpy_gives() -> None:
    study = ha.demo.study()
    levels = ha.seat_levels(study.hang, -2.0, 11.0, study.venue, study.air, lines_per_band=1)
    areas = ha.acoustics.area_levels(levels)
    assert len(areas) == len(study.venue.areas)
    for index, area in enumerate(areas):
        here = levels.area == index
        heard, weight = levels.level_db[here], levels.weight[here]
        mean = np.average(heard, weights=weight)
        spread = np.sqrt(np.average((heard - mean) ** 2, weights=weight))
        assert area.mean_db == pytest.approx(mean, rel=1e-12)
        assert area.evenness_db == pytest.approx(spread, rel=1e-9)
        assert (area.least_db, area.greatest_db) == (heard.min(), heard.max())


def test_anything_but_levels_is_refused() -> None:
    with pytest.raises(ha.InputError, match="levels"):
        ha.acoustics.area_levels([1.0])  # type: ignore[arg-type]
