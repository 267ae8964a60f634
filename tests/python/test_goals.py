"""Goals as data: each bound is kept or named, each answer is checked by other functions."""

from __future__ import annotations

import dataclasses
import itertools

import builders
import hangarc as ha
import numpy as np
import pytest
from objective import levels_of, objective_db, spread_and_mean_db
from test_search import small_study


def with_goals(**goals: object) -> ha.Study:
    return small_study(goals=ha.Goals(**goals))


def margin_of(found: ha.search.SearchResult, constraint: str) -> ha.search.Margin:
    return next(margin for margin in found.margins if margin.constraint.startswith(constraint))


def test_a_quiet_place_is_held_below_the_seats() -> None:
    place_m = (2.0, 0.0, 1.6)
    free = ha.optimise_splays(
        with_goals(quiet_places=[ha.model.QuietPlace(name="stage", place_m=place_m, most_db=40.0)])
    )
    over_db = margin_of(free, "level at quiet place 1").value
    held = ha.optimise_splays(
        with_goals(
            quiet_places=[ha.model.QuietPlace(name="stage", place_m=place_m, most_db=over_db - 1.0)]
        )
    )
    assert held.ended == "settled"
    assert held.objective_db >= free.objective_db - 1e-9
    # The level at the place from the levels of the rig, band by band.
    study = small_study()
    _, mean_db = spread_and_mean_db(levels_of(study, held.hang, held.tilt_deg, 8.0))
    rig = ha.Rig(hangs=[ha.Placed(hang=held.hang, tilt_deg=held.tilt_deg, top_m=8.0)])
    there = ha.acoustics.point_levels(
        rig, [place_m], air=ha.Air(), lowest_hz=250.0, highest_hz=8000.0, lines_per_band=3
    )
    assert there.band_level_db.mean() - mean_db == pytest.approx(
        margin_of(held, "level at quiet place 1").value, abs=0.05
    )
    assert margin_of(held, "level at quiet place 1").value <= over_db - 1.0


def test_the_quietest_seat_reaches_the_level_asked_for() -> None:
    loud = builders.cabinet(
        splay_positions_deg=[0.0, 2.0, 4.0, 7.0, 10.0],
        source=ha.Source(elements=[ha.LineElement(height_m=0.34)], max_level_db=135.0),
    )
    hang = builders.hang([0.0] * 3, cabinets=[loud] * 4)
    found = ha.optimise_splays(small_study(hang=hang, goals=ha.Goals(least_reach_db=90.0)))
    levels = levels_of(small_study(), found.hang, found.tilt_deg, 8.0)
    reach = margin_of(found, "level of the quietest seat")
    assert reach.value == pytest.approx(135.0 + levels.level_db.min(), abs=0.05)
    assert reach.margin > 0.0


def test_a_reach_without_a_stated_full_drive_is_refused() -> None:
    with pytest.raises(ha.InputError, match=r"hang.cabinets\[0\].source.max_level_db"):
        ha.optimise_splays(with_goals(least_reach_db=90.0))


def test_the_number_of_cabinets_is_the_smallest_that_serves_best() -> None:
    found = ha.optimise_splays(with_goals(cabinet_range=(2, 4)))
    assert [row.cabinets for row in found.counts] == [2, 3, 4]
    best = min(row.objective_db for row in found.counts)
    chosen = next(row for row in found.counts if row.objective_db == best)
    assert len(found.hang.cabinets) == chosen.cabinets
    assert len(found.hang.splays_deg) == chosen.cabinets - 1


def test_a_mass_that_only_a_shorter_hang_keeps_shortens_it() -> None:
    mass_kg = ha.pose(builders.hang([0.0, 0.0]), 0.0).mass_kg
    found = ha.optimise_splays(with_goals(cabinet_range=(2, 4), most_mass_kg=mass_kg + 1.0))
    assert found.ended == "settled"
    assert len(found.hang.cabinets) <= 3


def test_the_stages_of_building_are_held_to_their_limits_where_it_is_asked() -> None:
    """The front hoist carries most with the rear open; `build_up` says how much."""
    study = ha.demo.study()

    def built_n(found: ha.search.SearchResult) -> np.ndarray:
        stages = ha.statics.build_up(found.hang, found.pick_x_m.tolist(), stack=4, cart_m=0.0,
                                     tilt_deg=found.tilt_deg).stages  # fmt: skip
        return np.array([stage.hoist_load_n for stage in stages if not stage.closed])

    free = ha.optimise_splays(study, budget_evaluations=600)
    most_n = built_n(free).max()
    assert most_n > 1.02 * ha.hoist_loads(free.hang, free.tilt_deg, free.pick_x_m).load_n.max()
    limited = dataclasses.replace(study, hoist_limit_n=0.995 * most_n)
    # Not asked, the finished hang alone counts.
    assert ha.optimise_splays(limited, budget_evaluations=600).ended != "infeasible"
    asked = dataclasses.replace(limited, goals=ha.Goals(building_stack=4))
    found = ha.optimise_splays(asked, budget_evaluations=600)
    assert found.ended != "infeasible"
    assert built_n(found).max() <= 0.995 * most_n * (1.0 + 1e-9)
    least = next(row for row in found.margins if row.kind == "building_load")
    assert least.value == pytest.approx(built_n(found).min(), rel=1e-9)
    states = {(row.part, row.number): row.state for row in found.limits}
    assert states["hoist", 0] == "building"


def test_gains_are_found_and_given_with_the_hang() -> None:
    study = with_goals(gains_db=[-6.0, -3.0, 0.0])
    found = ha.optimise_splays(study)
    assert found.objective_db <= ha.optimise_splays(small_study()).objective_db + 1e-9
    again_db = objective_db(study, found.hang, found.tilt_deg, found.top_m)
    assert found.objective_db == pytest.approx(again_db, abs=0.01)
    given = [c.source.elements[0].gain_db for c in found.hang.cabinets if c.source]
    assert given == list(found.gains_db)


def test_spectral_spread_counts_when_it_is_weighed() -> None:
    def colour_db(found: ha.search.SearchResult) -> float:
        levels = levels_of(small_study(), found.hang, found.tilt_deg, 8.0)
        colour = levels.band_level_db - levels.band_level_db.mean(axis=0)
        colour = colour - np.average(colour, axis=1, weights=levels.weight)[:, None]
        square = np.average((colour**2).mean(axis=0), weights=levels.weight)
        return float(np.sqrt(square))

    plain, weighed = (
        ha.optimise_splays(small_study()),
        ha.optimise_splays(with_goals(spectral_weight=2.0)),
    )
    assert colour_db(weighed) <= colour_db(plain) + 1e-9
    without = objective_db(small_study(), weighed.hang, weighed.tilt_deg, 8.0)
    expected = without + 2.0 * colour_db(weighed)
    assert weighed.objective_db == pytest.approx(expected, abs=0.02)


def test_a_line_of_sight_lifts_the_hang() -> None:
    study = small_study(top_range_m=(6.0, 9.0), top_step_m=0.5)
    line = ha.model.SightLine(name="screen", from_m=(25.0, 6.5), to_m=(-3.0, 6.5))
    found = ha.optimise_splays(dataclasses.replace(study, goals=ha.Goals(sight_lines=[line])))
    corners_m = ha.pose(found.hang, found.tilt_deg, found.top_m).corners_m
    above = corners_m[..., 1] > 6.5
    assert found.ended == "settled"
    assert above.all() or not above.any()
    assert margin_of(found, "distance from sight line 1").value == pytest.approx(
        np.abs(corners_m[..., 1] - 6.5).min(), abs=1e-9
    )


def test_one_hole_costs_what_the_functions_say() -> None:
    study = builders.study(
        hang=builders.hang([1.0] * 5, "compression"),
        pick_x_m=(0.2, -0.8),
        tilt_range_deg=(-6.0, 2.0),
        lines_per_band=3,
    )
    found = ha.optimise_splays(study)
    rows = ha.search.one_hole_table(study, found.hang, found.tilt_deg, found.top_m)
    assert {row.joint for row in rows} == {1, 2, 3, 4, 5}

    def figures(hang: ha.Hang) -> tuple[float, float]:
        worked_out_db = objective_db(study, hang, found.tilt_deg, found.top_m)
        force_n = ha.close(hang, found.tilt_deg).closing_force_n
        assert force_n is not None
        return worked_out_db, force_n

    base_db, base_n = figures(found.hang)
    for row in rows:
        splays_deg = list(found.hang.splays_deg)
        assert splays_deg[row.joint - 1] == row.from_deg
        splays_deg[row.joint - 1] = row.to_deg
        moved_db, moved_n = figures(dataclasses.replace(found.hang, splays_deg=splays_deg))
        assert row.objective_change_db == pytest.approx(moved_db - base_db, abs=0.01)
        assert row.closing_force_change_n == pytest.approx(moved_n - base_n, abs=1e-6)
    buildable = [row for row in rows if row.missed is None]
    # The answer may be louder or smoother than the least of all; no hole leads below that one.
    back_db = found.least_objective_db - found.objective_db
    assert -0.01 <= back_db <= 0.0
    assert all(row.objective_change_db >= back_db - 1e-9 for row in buildable)


def test_no_hang_of_all_there_are_beats_the_front_in_both() -> None:
    """Every hang enumerated, objective in plain NumPy and force by `close`."""
    cabinet = builders.cabinet(splay_positions_deg=[0.0, 1.5, 4.0])
    study = builders.study(
        hang=builders.hang([0.0] * 3, "compression", cabinets=[cabinet] * 4),
        pick_x_m=(0.2, -0.8),
        tilt_range_deg=(-2.0, -2.0),
        lines_per_band=1,
    )
    every = []
    for splays_deg in itertools.product([0.0, 1.5, 4.0], repeat=3):
        hang = dataclasses.replace(study.hang, splays_deg=splays_deg)
        loads = ha.hoist_loads(hang, -2.0, study.pick_x_m)
        force_n = ha.close(hang, -2.0, steps=1).closing_force_n
        if not loads.slack.any() and force_n is not None:
            every.append((objective_db(study, hang, -2.0, 8.0), force_n, splays_deg))
    assert len(every) > 10
    front = ha.search.trade_off(study, against="closing force", points=5)
    best_db = min(every)[0]
    assert min(point.objective_db for point in front) == pytest.approx(best_db, abs=1e-9)
    for point in front:
        same = next(row for row in every if row[2] == tuple(point.splays_deg))
        assert point.objective_db == pytest.approx(same[0], abs=1e-9)
        assert point.closing_force_n == pytest.approx(same[1], rel=1e-9)
        better = [row for row in every if row[0] < same[0] - 1e-9 and row[1] < same[1] - 1e-6]
        assert not better, (same, better)


def test_the_front_trades_the_objective_for_closing_force() -> None:
    study = builders.study(
        hang=builders.hang([1.0] * 5, "compression"),
        pick_x_m=(0.2, -0.8),
        tilt_range_deg=(-6.0, 2.0),
        lines_per_band=2,
    )
    front = ha.search.trade_off(study, against="closing force", points=4)
    objective = [point.objective_db for point in front]
    force = [point.closing_force_n for point in front]
    assert len(front) >= 2
    assert objective == sorted(objective)
    assert force == sorted(force, reverse=True)
    with pytest.raises(ha.InputError, match="against"):
        ha.search.trade_off(study, against="colour")
    with pytest.raises(ha.InputError, match="against"):
        ha.search.trade_off(small_study(), against="closing force")
