"""Numbers out of all proportion: one clear error or a finite answer, never a panic or NaN."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest

EXTREMES = [
    *(0, 1, -1, 2**31, 2**62, 2**63 - 1, 2**64, 10**400),
    *(1e308, -1e308, 5e-324, 1e-300, math.nan, math.inf, -math.inf),
]
POINTS_M = [[10.0, 0.0, 1.0], [20.0, 1.0, 1.0]]
FREQUENCY_HZ = [1000.0, 2000.0]

HANG = builders.hang([1.0] * 4)
CLOSED = builders.hang([1.0] * 4, "compression")
STUDY = builders.study(hang=builders.hang([1.0] * 2), pick_x_m=(0.2, -0.8), lines_per_band=1)
READING = ha.survey.AngleReading(cabinet=0, axis_deg=0.1, uncertainty_deg=0.1)


def placed(**changes: Any) -> ha.Rig:
    given: dict[str, Any] = {"hang": HANG, "tilt_deg": 0.0, "top_m": 8.0}
    return ha.Rig(hangs=[ha.Placed(**{**given, **changes})])


def hung(**changes: Any) -> list[Any]:
    hang = builders.hang([1.0] * 2, "compression", **changes)
    return [ha.pose(hang, 0.0, 8.0), ha.acoustics.point_levels(placed(hang=hang), POINTS_M)]


def scatter(**changes: Any) -> ha.suspension.HoistScatter:
    given: dict[str, Any] = {
        "points_m": [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]],
        "mass_kg": [60.0],
        "cg_m": [[0.5, 0.5]],
        "stiffness_n_m": 4e5,
        "cases": 10,
    }
    found = ha.suspension.hoist_scatter(**{**given, **changes})
    # A case that tips has no loads, and says so.
    assert np.isnan(found.load_n[found.tips]).all()
    return dataclasses.replace(found, load_n=found.load_n[~found.tips])


def spread(**changes: Any) -> ha.closing.ClosingSpread:
    found = ha.closing.closing_spread(CLOSED, 0.0, **{"cases": 10, **changes})
    # A case that no chain closes has no closing force, and says so.
    assert not np.isinf(found.closing_force_n).any()
    closed = np.isfinite(found.closing_force_n)
    return dataclasses.replace(found, closing_force_n=found.closing_force_n[closed])


CALLS: dict[str, Callable[[Any], Any]] = {
    "seed": lambda v: ha.optimise_splays(STUDY, seed=v, budget_evaluations=10),
    "budget_evaluations": lambda v: ha.optimise_splays(STUDY, budget_s=0.05, budget_evaluations=v),
    "budget_s": lambda v: ha.optimise_splays(STUDY, budget_s=v, budget_evaluations=10),
    "height": lambda v: ha.search.one_hole_table(STUDY, STUDY.hang, v, 8.0),
    "stages, tilt": lambda v: ha.closing.closing_stages(CLOSED, v, available_n=5000.0),
    "stages, force": lambda v: ha.closing.closing_stages(CLOSED, 0.0, available_n=v),
    "stages, cabinets": lambda v: ha.closing.closing_stages(
        CLOSED, 0.0, available_n=5000.0, cabinets=[v, 5]
    ),
    "close, tilt": lambda v: ha.close(CLOSED, v),
    "close, steps": lambda v: ha.close(CLOSED, 0.0, steps=v),
    "rest, force": lambda v: ha.closing.rest_at_force(CLOSED, 0.0, v),
    "bypass, take-up": lambda v: ha.closing.bypass(CLOSED, 0.0, take_up_m=v),
    "bypass, stiffness": lambda v: ha.closing.bypass(CLOSED, 0.0, stiffness_n_m=v),
    "build-up, stack": lambda v: ha.statics.build_up(HANG, -0.3, stack=v),
    "spread, cases": lambda v: spread(cases=v),
    "spread, mass": lambda v: spread(mass_spread=v),
    "spread, anchor": lambda v: spread(anchor_spread_m=v),
    "spread, splay": lambda v: spread(splay_spread_deg=v),
    "scatter, cases": lambda v: scatter(cases=v),
    "scatter, mass": lambda v: scatter(mass_spread=v),
    "scatter, height": lambda v: scatter(high_spread_m=v),
    "scatter, stiffness": lambda v: scatter(stiffness_spread=v),
    "pan": lambda v: ha.suspension.pan_hold(2.0, 2.0, v, weight_n=1000.0, pan_deg=30.0),
    "survey": lambda v: ha.survey.compare_with_plan(HANG, 0.0, [READING], most_wrong_pins=v),
    "delay": lambda v: ha.acoustics.point_levels(placed(delay_s=v), POINTS_M),
    "gain": lambda v: ha.acoustics.point_levels(placed(gain_db=v), POINTS_M),
    "hang's pan": lambda v: ha.acoustics.point_levels(placed(pan_deg=v), POINTS_M),
    "position": lambda v: ha.acoustics.point_levels(placed(position_m=(v, 0.0)), POINTS_M),
    "top": lambda v: ha.acoustics.point_levels(placed(top_m=v), POINTS_M),
    "receiver": lambda v: ha.acoustics.point_levels(placed(), [[v, 0.0, 1.0]]),
    "lines_per_band": lambda v: ha.acoustics.point_levels(placed(), POINTS_M, lines_per_band=v),
    "distance": lambda v: ha.acoustics.level_by_distance(placed(), [1.0, v]),
    "frequency": lambda v: ha.pressure(HANG, 0.0, 8.0, POINTS_M, [v]),
    "tolerance": lambda v: ha.pressure(
        HANG, 0.0, 8.0, POINTS_M, FREQUENCY_HZ, far_field_tolerance=v
    ),
    "weighting": lambda v: ha.acoustics.weighting_db([v]),
}


def numeric_fields() -> Iterator[tuple[str, Callable[[Any], Any]]]:
    """Every plain number of the records, put to use."""
    uses: list[tuple[Any, Callable[[Any], Any]]] = [
        (builders.cabinet(), lambda one: hung(cabinets=[one] * 3)),
        (builders.frame(), lambda one: hung(frame=one)),
        (builders.bottom(), lambda one: hung(bottom=one)),
        (builders.gear(), lambda one: hung(gear=one)),
        (
            ha.LineElement(height_m=0.3),
            lambda one: hung(
                cabinets=[builders.cabinet(source=ha.Source(elements=[one], coverage_deg=90.0))] * 3
            ),
        ),
        (
            ha.Source(elements=[ha.LineElement(height_m=0.3)], coverage_deg=90.0),
            lambda one: hung(cabinets=[builders.cabinet(source=one)] * 3),
        ),
        (
            builders.area(),
            lambda one: ha.seat_levels(HANG, 0.0, 8.0, builders.venue(areas=[one])),
        ),
        (ha.Air(), lambda one: ha.acoustics.point_levels(placed(), POINTS_M, air=one)),
        (STUDY, lambda one: ha.optimise_splays(one, budget_evaluations=20)),
    ]
    for record, use in uses:
        for field in dataclasses.fields(record):
            value = getattr(record, field.name)
            if value is None or (isinstance(value, int | float) and not isinstance(value, bool)):

                def call(
                    v: Any, record: Any = record, use: Any = use, name: str = field.name
                ) -> Any:
                    return use(dataclasses.replace(record, **{name: v}))

                yield f"{type(record).__name__}.{field.name}", call


def not_numbers(value: Any) -> bool:
    if isinstance(value, ha.Hang | ha.Study) or value is None:
        return False
    if dataclasses.is_dataclass(value):
        return any(not_numbers(getattr(value, f.name)) for f in dataclasses.fields(value))
    if isinstance(value, list | tuple):
        return any(not_numbers(item) for item in value)
    array = np.asarray(value)
    return array.dtype.kind in "fc" and bool(np.isnan(array).any())


def sought(**changes: Any) -> Any:
    given = {"hang": builders.hang([1.0] * 2), "pick_x_m": (0.2, -0.8), "lines_per_band": 1}
    study = builders.study(**{**given, **changes})
    return [
        ha.optimise_splays(study, budget_evaluations=20),
        ha.search.one_hole_table(study, study.hang, 0.0, 8.0),
    ]


CALLS["ears of a search"] = lambda v: sought(
    venue=builders.venue(areas=[builders.area(ear_height_m=v)])
)
CALLS["cabinets of a search"] = lambda v: sought(
    hang=builders.hang([1.0] * 2, cabinets=[builders.cabinet(height_m=v)] * 3)
)
CALLS["lowest frequency of a search"] = lambda v: sought(
    hang=builders.hang(
        [1.0] * 2,
        cabinets=[
            builders.cabinet(source=ha.Source(elements=[ha.LineElement(height_m=0.3, low_hz=v)]))
        ]
        * 3,
    )
)


ALL = {**CALLS, **dict(numeric_fields())}


@pytest.mark.parametrize("name", ALL)
def test_an_extreme_number_is_refused_or_answered(name: str) -> None:
    for value in EXTREMES:
        try:
            answer = ALL[name](value)
        except ha.InputError:
            continue
        assert not not_numbers(answer), value
