"""Every part against its limit: the greatest of all states, and where the dynamic factor is."""

from __future__ import annotations

import dataclasses

import builders
import hangarc as ha
import numpy as np
import pytest

FACTOR = 1.6
PICKS = [0.1, -0.7]
JOINT_PARTS = ("hinge", "rear_link", "stop")
LIFTED_PARTS = ("fly_frame", "pick", "hoist", "roof_point", *JOINT_PARTS)


def by_part(
    rows: list[ha.statics.LimitRow] | tuple[ha.statics.LimitRow, ...],
) -> dict[tuple[str, int | None], ha.statics.LimitRow]:
    return {(row.part, row.number): row for row in rows}


def chained(clutch_n: tuple[float, float] | None = None) -> ha.Hang:
    splays = [0.0, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0]
    return builders.hang(splays, "compression", gear=builders.gear(clutch_n=clutch_n))


def test_the_dynamic_factor_is_in_every_row_of_a_tension_hang() -> None:
    hang = builders.hang([1.0, 2.0, 3.0])
    at_rest = by_part(ha.statics.part_loads(hang, 0.0, PICKS, hoist_mass_kg=30.0))
    lifted = by_part(
        ha.statics.part_loads(hang, 0.0, PICKS, hoist_mass_kg=30.0, dynamic_factor=FACTOR)
    )
    assert lifted.keys() == at_rest.keys()
    for part, row in lifted.items():
        assert row.force_n == pytest.approx(FACTOR * at_rest[part].force_n, rel=1e-12)
        assert (row.factor_use, row.dynamic_factor) == ("applied", FACTOR)
        assert row.factor_note == "dynamic factor 1.6 included"


def test_a_factor_on_all_weights_is_a_hang_so_many_times_as_heavy() -> None:
    """D'Alembert: accelerated by (φ − 1) g upwards, a hang is like one of φ times the mass."""
    hang = builders.hang([1.0, 2.0, 3.0])
    heavy = dataclasses.replace(
        hang,
        frame=builders.frame(mass_kg=FACTOR * 75.0),
        cabinets=[builders.cabinet(mass_kg=FACTOR * 64.0)] * 4,
    )
    rows = by_part(ha.statics.part_loads(hang, -3.0, PICKS, dynamic_factor=FACTOR))
    joints, hoists = ha.joint_loads(heavy, -3.0), ha.hoist_loads(heavy, -3.0, PICKS)
    for joint, link_n in enumerate(joints.rear_link_n):
        hinge_n = np.hypot(*joints.hinge_force_n[joint])
        assert rows["hinge", joint].force_n == pytest.approx(hinge_n, rel=1e-12)
        assert rows["rear_link", joint].force_n == pytest.approx(link_n, rel=1e-12)
    for number, load_n in enumerate(hoists.load_n):
        assert rows["hoist", number].force_n == pytest.approx(load_n, rel=1e-12)


@pytest.mark.parametrize("preload_n", [0.0, 200.0, 20_000.0])
def test_a_locked_chain_keeps_its_force_until_a_stop_lifts_off(preload_n: float) -> None:
    hang = chained()
    closing = ha.close(hang, 0.0, preload_n=preload_n)
    assert closing.closing_force_n is not None
    held_n = closing.closing_force_n + preload_n
    chain_n = max(held_n, FACTOR * closing.closing_force_n)
    rows = by_part(
        ha.statics.part_loads(hang, 0.0, PICKS, dynamic_factor=FACTOR, preload_n=preload_n)
    )
    # On the way the chain never carries more in this hang.
    assert closing.peak_force_n <= chain_n
    chain = rows["closing_chain", None]
    assert chain.force_n == pytest.approx(chain_n, rel=1e-12)
    locked = held_n >= FACTOR * closing.closing_force_n
    assert chain.factor_use == ("chain_locked" if locked else "applied")
    assert ("locked at its length" in chain.factor_note) == locked

    # Moments about the hinges by hand: chain lever times force, less φ times gravity's moment.
    loads, pose = ha.joint_loads(hang, 0.0), ha.pose(hang, 0.0)
    upper, lower = pose.chain_m
    down = (lower - upper) / np.linalg.norm(lower - upper)
    arms = [(lower[0] - h[0]) * down[1] - (lower[1] - h[1]) * down[0] for h in pose.hinge_m]
    rear_levers = loads.moment_nm / loads.rear_link_n
    for joint, arm in enumerate(arms):
        moment_nm = np.array([1.0, FACTOR]) * loads.moment_nm[joint]
        stops_n = (np.array([held_n, chain_n]) * arm - moment_nm) / rear_levers[joint]
        assert rows["stop", joint].force_n == pytest.approx(max(*stops_n, 0.0), rel=1e-9, abs=1e-6)


def test_the_table_is_the_greatest_of_all_states_whatever_the_steps() -> None:
    for hang, preload_n in ((chained(), 5000.0), (chained((2000.0, 2500.0)), 0.0)):
        tables = [
            ha.close(hang, -4.0, steps=steps, preload_n=preload_n).limits
            for steps in (1, 13, 200, 3000)
        ]
        rows = [[(row.item, row.force_n, row.case) for row in table] for table in tables]
        assert rows[0] == rows[1] == rows[2] == rows[3]


def test_the_preloaded_state_is_in_the_table() -> None:
    closing = ha.close(chained(), 0.0, preload_n=5000.0)
    assert closing.at_preload is not None
    rows = by_part(closing.limits)
    for joint, stop_n in enumerate(closing.at_preload.stop_force_n):
        row = rows["stop", joint]
        assert row.force_n >= stop_n
        assert stop_n < 0.0 or row.state == "preloaded"
    assert rows["closing_chain", None].case == "closed, preloaded"


def test_a_clutch_that_slips_on_the_way_loads_the_chain_to_its_upper_edge() -> None:
    free = ha.close(chained(), -6.0)
    assert free.closing_force_n is not None
    edge_n = 0.6 * free.closing_force_n
    closing = ha.close(chained((0.5 * edge_n, edge_n)), -6.0)
    chain = by_part(closing.limits)["closing_chain", None]
    assert chain.force_n == edge_n
    assert chain.state == "clutch_slips"


def test_the_way_in_the_table_is_that_of_a_path_a_hundred_times_finer() -> None:
    for tilt_deg in (-6.0, 0.0, 6.0):
        hang = chained()
        closing = ha.close(hang, tilt_deg, steps=20_000)
        rows = by_part(closing.limits)
        path = closing.path
        hinge_n = np.hypot(path["hinge_force_n"][..., 0], path["hinge_force_n"][..., 1])
        for part, greatest_n in (
            ("hinge", hinge_n.max(axis=0)),
            ("rear_link", (-path["stop_force_n"]).max(axis=0)),
            ("stop", path["stop_force_n"].max(axis=0)),
        ):
            for joint, force_n in enumerate(greatest_n):
                # Between two of 200 steps a smooth force rises by no more than its bend allows.
                assert rows[part, joint].force_n >= force_n * (1.0 - 1e-5) - 1e-6


def test_the_factor_is_in_the_search_s_hard_limits() -> None:
    limited = builders.cabinet(limits={"rear_link_n": 1500.0})
    hang = builders.hang([1.0] * 3, cabinets=[limited] * 4)
    for factor in (1.0, FACTOR):
        study = builders.study(hang=hang, dynamic_factor=factor)
        found = ha.optimise_splays(study, budget_evaluations=50)
        margin = next(m for m in found.margins if (m.part, m.number) == ("rear_link", 1))
        row = by_part(found.limits)["rear_link", 1]
        at_rest_n = ha.joint_loads(found.hang, found.tilt_deg).rear_link_n[1]
        assert margin.constraint == "joint 1, rear link in tension, N"
        assert margin.value == row.force_n == pytest.approx(factor * at_rest_n, rel=1e-12)
        assert margin.margin == pytest.approx(1500.0 - factor * at_rest_n)


def test_the_sheet_s_table_is_the_core_s(demo_answer: ha.Answer) -> None:
    study, search, rear = demo_answer.study, demo_answer.search, demo_answer.work.closing
    assert rear is not None
    rows = ha.statics.part_loads(
        demo_answer.hang,
        search.tilt_deg,
        search.pick_x_m.tolist(),
        hoist_limit_n=study.hoist_limit_n,
        roof_point_limit_n=study.roof_point_limit_n,
        hoist_mass_kg=study.hoist_mass_kg,
        dynamic_factor=study.dynamic_factor,
        preload_n=rear.preload_n,
    )
    # Hoists, picks and roof points may be loaded more while the hang is built; all else is alike.
    for told, row in zip(demo_answer.limits, rows, strict=True):
        if told.state == "building":
            assert row.part in ("pick", "hoist", "roof_point")
            assert told.force_n > row.force_n
        else:
            assert (told.item, told.force_n, told.case) == (row.item, row.force_n, row.case)


@pytest.mark.parametrize(
    ("field", "value"),
    [("dynamic_factor", 0.9), ("hoist_mass_kg", -1.0), ("hoist_limit_n", 0.0), ("preload_n", -1.0)],
)
def test_what_cannot_be_is_refused_by_name(field: str, value: float) -> None:
    with pytest.raises(ha.InputError, match=field):
        ha.statics.part_loads(chained(), 0.0, PICKS, **{field: value})


@pytest.mark.parametrize("rigging", ["tension", "compression"])
def test_an_answer_counts_wind_and_a_hoist_out_of_step_where_its_job_states_them(
    rigging: str,
) -> None:
    """Every row is the greatest of: without them, out of step, wind from the front and the rear."""
    study = builders.study(
        hang=builders.hang([1.0] * 7, rigging),
        pick_x_m=[0.1, -0.8],
        tilt_range_deg=(0.0, 0.0),
        hoist_limit_n=20_000.0,
        hoist_mass_kg=40.0,
        dynamic_factor=1.2,
    )
    without = ha.evaluate(study)
    counted = ha.evaluate(study, job=ha.Job(wind_speed_m_s=15.0, out_of_step_m=0.03))
    picks, preload_n = [0.1, -0.8], 0.0
    if counted.work.closing is not None:
        preload_n = counted.work.closing.preload_n
    tables = [
        without.limits,
        ha.statics.part_loads(
            study.hang,
            0.0,
            picks,
            hoist_limit_n=20_000.0,
            hoist_mass_kg=40.0,
            dynamic_factor=1.2,
            preload_n=preload_n,
            out_of_step_m=0.03,
        ),
    ]
    for wind_from in ("front", "rear"):
        blown = ha.wind.parts_in_wind(
            study.hang,
            0.0,
            picks,
            ha.Wind(speed_m_s=15.0),
            top_m=counted.search.top_m,
            wind_from=wind_from,
            preload_n=preload_n,
            hoist_limit_n=20_000.0,
            hoist_mass_kg=40.0,
        )
        tables.append(blown.limits)
    greatest: dict[tuple[str, int | None], float] = {}
    for table in tables:
        for row in table:
            key = (row.part, row.number)
            greatest[key] = max(greatest.get(key, 0.0), row.force_n)
    rows = by_part(counted.limits)
    assert rows.keys() == greatest.keys()
    for key, row in rows.items():
        assert row.force_n == pytest.approx(greatest[key], rel=1e-12), key
    states = {row.state for row in counted.limits}
    assert "in_wind" in states
    assert not {"in_wind", "hoist_out_of_step"} & {row.state for row in without.limits}
    text = ha.report.text(counted)
    assert "in wind" in text
    assert "Wind of 15.0 m/s" in text
    assert "Wind is not counted" in ha.report.text(without)
