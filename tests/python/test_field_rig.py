"""Several hangs, signals, floor, measured cabinets, sub-division, levels and maps."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
import sofar
from hangarc.io.balloon import COLUMNS, read_balloon_csv, read_balloon_sofa

F = np.array([125.0, 500.0, 2000.0, 5000.0])
POINTS = np.array([[10.0, 0.0, 1.2], [18.0, -4.0, 1.2], [30.0, 6.0, 3.0]])


def placed(**changes: Any) -> ha.Placed:
    return ha.Placed(
        **{"hang": builders.hang([1.0, 2.0]), "tilt_deg": 1.0, "top_m": 9.0, **changes}
    )


def pressure(*hangs: ha.Placed, **rig: Any) -> np.ndarray:
    return ha.acoustics.pressure(ha.Rig(hangs=hangs, **rig), receivers_m=POINTS, frequency_hz=F)


def test_pressures_of_several_hangs_add() -> None:
    left, right = placed(position_m=(0, 6), pan_deg=-10), placed(position_m=(0, -6), pan_deg=10)
    both = pressure(left, right)
    np.testing.assert_allclose(both, pressure(left) + pressure(right), rtol=1e-10)
    alone = ha.pressure(left.hang, 1.0, 9.0, POINTS, F, position_m=(0, 6), pan_deg=-10)
    np.testing.assert_array_equal(pressure(left), alone)


def test_delay_gain_and_polarity_do_what_they_say() -> None:
    plain = pressure(placed())
    delayed = pressure(placed(delay_s=0.0123))
    np.testing.assert_allclose(delayed, plain * np.exp(-2j * np.pi * F * 0.0123)[:, None])
    np.testing.assert_allclose(pressure(placed(gain_db=-6.0)), plain * 10 ** (-6 / 20))
    np.testing.assert_allclose(pressure(placed(drive=[-1, -1, -1])), -plain)


def test_a_filter_of_one_cabinet_is_that_cabinets_share() -> None:
    only = [pressure(placed(drive=np.eye(3)[i])) for i in range(3)]
    np.testing.assert_allclose(sum(only), pressure(placed()), rtol=1e-10)
    rng = np.random.default_rng(4)
    response = rng.normal(size=(3, len(F))) + 1j * rng.normal(size=(3, len(F)))
    expected = sum(only[i] * response[i][:, None] for i in range(3))
    np.testing.assert_allclose(pressure(placed(drive=response)), expected, rtol=1e-9)
    np.testing.assert_allclose(pressure(placed(drive=lambda f: response)), expected, rtol=1e-9)


def test_a_rigid_floor_is_a_mirror_and_doubles_the_pressure_on_it() -> None:
    on_floor = ha.Rig(hangs=[placed()], floor_reflection=1.0)
    points = POINTS * [1, 1, 0]
    free = ha.acoustics.pressure(ha.Rig(hangs=[placed()]), receivers_m=points, frequency_hz=F)
    np.testing.assert_allclose(
        ha.acoustics.pressure(on_floor, receivers_m=points, frequency_hz=F), 2 * free, rtol=1e-9
    )
    # Above the floor the image is the same hang heard from below it.
    image = ha.acoustics.pressure(
        ha.Rig(hangs=[placed()]), receivers_m=POINTS * [1, 1, -1], frequency_hz=F
    )
    soft = ha.acoustics.pressure(
        ha.Rig(hangs=[placed()], floor_reflection=-0.4), receivers_m=POINTS, frequency_hz=F
    )
    np.testing.assert_allclose(soft, pressure(placed()) - 0.4 * image, rtol=1e-3, atol=1e-4)


def test_no_level_changes_by_more_than_stated_when_the_sub_division_doubles() -> None:
    # A quarter of the tolerance is twice the sub-elements. Stated is 0.01 of each sub-element's
    # pressure, so 20 lg(1 + 0.01) = 0.09 dB where they add up. Where they cancel, the same error
    # counts for more: in band levels more than 20 dB under all in phase it is held as a pressure.
    rng = np.random.default_rng(11)
    stated_db = 20 * np.log10(1.01)
    levels_db, bands_db, cancelled, shares = [], [], [], []
    for _ in range(40):
        count = int(rng.integers(2, 16))
        splay = np.sort(rng.choice([0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0], count - 1))
        element = ha.LineElement(height_m=0.34, curvature_deg=rng.choice([0.0, 5.0, 10.0]))
        cabinet = builders.cabinet(source=ha.Source(elements=[element]))
        hang = builders.hang(list(splay), cabinets=[cabinet] * count)
        tilt, top = rng.uniform(-4, 4), rng.uniform(7, 14)
        points = rng.uniform((5, -10, 0), (60, 10, 4), (40, 3))
        rigs = [
            ha.Rig(
                hangs=[ha.Placed(hang=hang, tilt_deg=tilt, top_m=top)],
                far_field_tolerance=tolerance,
            )
            for tolerance in (0.01, 0.0025)
        ]
        in_phase = count / np.linalg.norm(points - [0, 0, top], axis=1)
        p, q = (
            ha.acoustics.pressure(
                rig, receivers_m=points, frequency_hz=ha.acoustics.band_lines_hz(100.0, 10_000.0)
            )
            for rig in rigs
        )
        shares.append(np.abs(p - q) / in_phase)
        coarse, fine = (
            ha.acoustics.point_levels(rig, points, lowest_hz=100.0, highest_hz=10_000.0)
            for rig in rigs
        )
        levels_db.append(np.abs(coarse.level_db - fine.level_db))
        bands_db.append(np.abs(coarse.band_level_db - fine.band_level_db))
        cancelled.append(fine.band_level_db < 20 * np.log10(in_phase) - 20)
    assert np.max(levels_db) < stated_db / 10
    hidden = np.array(cancelled)
    assert np.max(np.array(bands_db)[~hidden]) < stated_db
    assert 0.0 < np.mean(hidden) < 0.3
    assert np.max(shares) < 0.01


def omni(**changes: Any) -> ha.acoustics.Balloon:
    grid = {
        "frequency_hz": [100.0, 1000.0, 10_000.0],
        "azimuth_deg": np.arange(-180.0, 180.0, 10.0),
        "elevation_deg": np.arange(-90.0, 91.0, 10.0),
    }
    return ha.acoustics.Balloon(**{**grid, "response": np.ones((3, 19, 36)), **changes})


def test_a_round_balloon_is_a_point_source() -> None:
    point = builders.cabinet(source=ha.Source(elements=[ha.LineElement(height_m=1e-4)]))
    hang = builders.hang([1.0, 2.0], cabinets=[point] * 3)
    bare = builders.hang([1.0, 2.0], cabinets=[builders.cabinet(source=None)] * 3)
    where = {"pan_deg": 15.0, "position_m": (1.0, 2.0), "delay_s": 0.002, "gain_db": 3.0}
    expected = pressure(placed(hang=hang, **where))
    got = pressure(placed(hang=bare, balloon=omni(), **where))
    np.testing.assert_allclose(got, expected, rtol=1e-5)
    reflected = pressure(placed(hang=bare, balloon=omni(), **where), floor_reflection=0.7)
    mirrored = pressure(placed(hang=hang, **where), floor_reflection=0.7)
    np.testing.assert_allclose(reflected, mirrored, rtol=1e-4, atol=1e-6)


def test_a_balloon_turns_with_its_cabinet() -> None:
    az, el = np.arange(-180.0, 180.0, 5.0), np.arange(-90.0, 91.0, 5.0)
    ahead = np.maximum(np.outer(np.cos(np.radians(el)), np.cos(np.radians(az))), 0.0)
    cosine = ha.acoustics.Balloon([1000.0], az, el, ahead[None])
    hang = builders.hang([], cabinets=[builders.cabinet(source=None)])
    front = ha.pose(hang, -10.0, 9.0).front_m[0]
    where = ha.Placed(hang=hang, tilt_deg=-10.0, top_m=9.0, pan_deg=20.0, balloon=cosine)
    p = ha.acoustics.pressure(ha.Rig(hangs=[where]), receivers_m=POINTS, frequency_hz=[1000.0])[0]
    turn, tilt = np.radians([20.0, -10.0])
    axis = [np.cos(tilt) * np.cos(turn), np.cos(tilt) * np.sin(turn), np.sin(tilt)]
    ray = POINTS - [front[0] * np.cos(turn), front[0] * np.sin(turn), front[1]]
    d = np.linalg.norm(ray, axis=1)
    expected = ray @ axis / d / d * 10 ** (-ha.air_absorption_db_per_m(1000.0) * d / 20)
    # Linear interpolation on a 5° grid: (Δ²/8) of the second derivative, 1e-3, in either angle.
    np.testing.assert_allclose(np.abs(p), expected, rtol=4e-3)


def test_a_balloon_survives_aes69_and_csv(tmp_path: Path) -> None:
    rng = np.random.default_rng(8)
    f = np.array([250.0, 500.0, 1000.0])
    az, el = np.arange(0.0, 360.0, 30.0), np.arange(-90.0, 91.0, 30.0)
    response = rng.normal(size=(3, 7, 12)) + 1j * rng.normal(size=(3, 7, 12))
    grid_az, grid_el = (g.ravel() for g in np.meshgrid(az, el))
    values = response.reshape(3, -1)
    file = sofar.Sofa("FreeFieldDirectivityTF")
    file.ReceiverPosition = np.column_stack([grid_az, grid_el, np.ones_like(grid_az)])
    file.ReceiverPosition_Type = "spherical"
    file.ReceiverPosition_Units = "degree, degree, metre"
    file.Data_Real, file.Data_Imag = values.real.T[None], values.imag.T[None]
    file.N = f
    sofar.write_sofa(str(tmp_path / "demo_data.sofa"), file)
    with (tmp_path / "demo_data.csv").open("w") as table:
        table.write(",".join(COLUMNS) + "\n")
        for line, frequency in enumerate(f):
            for column, value in enumerate(values[line]):
                level, phase = 20 * np.log10(abs(value)), np.degrees(np.angle(value))
                row = (frequency, grid_az[column], grid_el[column], level, phase)
                table.write(",".join(map(repr, map(float, row))) + "\n")
    hang = builders.hang([1.0, 2.0], cabinets=[builders.cabinet(source=None)] * 3)
    expected = pressure(placed(hang=hang, balloon=ha.acoustics.Balloon(f, az, el, response)))
    for read in (
        read_balloon_sofa(tmp_path / "demo_data.sofa"),
        read_balloon_csv(tmp_path / "demo_data.csv"),
    ):
        got = pressure(placed(hang=hang, balloon=[read, read, read]))
        np.testing.assert_allclose(got, expected, rtol=1e-9)


def test_a_broken_balloon_file_is_refused_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "broken.csv"
    path.write_text("frequency_hz,azimuth_deg,elevation_deg,level_db\n")
    with pytest.raises(ha.InputError, match="phase_deg"):
        read_balloon_csv(path)
    path.write_text(",".join(COLUMNS) + "\n100,0,0,loud,0\n")
    with pytest.raises(ha.InputError, match="line 2"):
        read_balloon_csv(path)
    path.write_text(",".join(COLUMNS) + "\n100,0,0,0,0\n100,10,10,0,0\n")
    with pytest.raises(ha.InputError, match="directions"):
        read_balloon_csv(path)
    with pytest.raises(ha.InputError, match="path"):
        read_balloon_sofa(path)


def test_maps_distances_and_seats_are_the_same_levels() -> None:
    rig = ha.Rig(hangs=[placed()])
    plan = ha.acoustics.level_map(rig, [10.0, 20.0, 30.0], y_m=[-5.0, 5.0], z_m=1.2)
    assert plan.level_db.shape == (2, 3)
    assert plan.band_level_db.shape == (10, 2, 3)
    section = ha.acoustics.level_map(rig, [10.0, 20.0], z_m=[0.0, 1.2, 4.0])
    line = ha.acoustics.level_by_distance(rig, [10.0, 20.0], height_m=1.2)
    # Each call cuts the elements for its own nearest point: equal within the tolerance.
    np.testing.assert_allclose(section.level_db[1], line.level_db, atol=0.05)
    side = ha.acoustics.level_by_distance(
        rig, [np.hypot(10, 5)], azimuth_deg=np.degrees(np.arctan2(5, 10))
    )
    assert plan.level_db[1, 0] == pytest.approx(side.level_db[0], abs=0.05)
    hang = builders.hang([1.0, 2.0])
    seats = ha.acoustics.seat_levels(rig, venue=builders.venue())
    np.testing.assert_array_equal(
        seats.level_db, ha.seat_levels(hang, 1.0, 9.0, builders.venue()).level_db
    )


def test_a_line_of_sources_in_free_field_falls_6_db_far_away() -> None:
    rig = ha.Rig(hangs=[placed(hang=builders.hang([]), tilt_deg=0.0, top_m=1.38)])
    far = ha.acoustics.level_by_distance(rig, [50.0, 100.0], highest_hz=1000.0)
    alpha = ha.air_absorption_db_per_m(1000.0)
    drop = far.level_db[0] - far.level_db[1] - 50 * alpha
    assert drop == pytest.approx(20 * np.log10(2), abs=0.02)


def test_headroom_counts_from_the_cabinet_that_is_first_at_its_limit() -> None:
    def rig(first_db: float | None, gain: float = 1.0) -> ha.Rig:
        cabinets = [
            builders.cabinet(
                source=ha.Source(elements=[ha.LineElement(height_m=0.34)], max_level_db=level)
            )
            for level in (first_db, 136.0, 136.0)
        ]
        hang = builders.hang([1.0, 2.0], cabinets=cabinets)
        return ha.Rig(hangs=[placed(hang=hang, drive=[gain, 1.0, 1.0])])

    levels = ha.acoustics.point_levels(rig(136.0), POINTS)
    np.testing.assert_allclose(levels.greatest_level_db, levels.level_db + 136.0)
    np.testing.assert_allclose(ha.acoustics.headroom_db(levels, 100.0), levels.level_db + 36.0)
    weaker = ha.acoustics.point_levels(rig(130.0), POINTS)
    np.testing.assert_allclose(weaker.greatest_level_db, weaker.level_db + 130.0)
    driven = ha.acoustics.point_levels(rig(136.0, 2.0), POINTS)
    np.testing.assert_allclose(driven.greatest_level_db, driven.level_db + 136 - 20 * np.log10(2))
    missing = ha.acoustics.point_levels(rig(None), POINTS)
    assert missing.greatest_level_db is None
    with pytest.raises(ha.InputError, match="not stated"):
        ha.acoustics.headroom_db(missing, 100.0)


@pytest.mark.parametrize(
    ("field", "build"),
    [
        ("floor_reflection", lambda: pressure(placed(), floor_reflection=1.5)),
        ("far_field_tolerance", lambda: pressure(placed(), far_field_tolerance=0.0)),
        ("drive", lambda: pressure(placed(drive=[1.0, 2.0]))),
        ("drive", lambda: pressure(placed(drive=[1.0, np.nan, 1.0]))),
        ("balloon", lambda: placed(balloon=3)),
        ("hangs[0].balloon", lambda: pressure(placed(balloon=[None]))),
        ("azimuth_deg", lambda: omni(azimuth_deg=np.arange(36.0)[::-1])),
        ("response", lambda: omni(response=np.ones((3, 19, 35)))),
        ("hangs[0]", lambda: ha.Rig(hangs=[builders.hang([])])),
        ("delay_s", lambda: placed(delay_s=np.inf)),
        ("position_m", lambda: placed(position_m=(1.0,))),
        (
            "hangs[1].cabinets[0].source",
            lambda: pressure(
                placed(),
                placed(
                    hang=builders.hang([], cabinets=[builders.cabinet(source=None)]),
                    position_m=(0.0, 4.0),
                ),
            ),
        ),
        ("top_m", lambda: pressure(placed(top_m=0.5), floor_reflection=1.0)),
        (
            "z_m",
            lambda: ha.acoustics.level_map(ha.Rig(hangs=[placed()]), [10.0], y_m=[1.0], z_m=[1.0]),
        ),
        (
            "highest_hz",
            lambda: ha.acoustics.point_levels(ha.Rig(hangs=[placed()]), POINTS, highest_hz=1.0),
        ),
    ],
)
def test_bad_rigs_are_refused_by_name(field: str, build: Any) -> None:
    with pytest.raises(ha.InputError) as caught:
        build()
    assert caught.value.field.startswith(field), caught.value.field


@pytest.mark.alone
@pytest.mark.parametrize(
    "work",
    [
        "ha.pressure(rig, receivers_m=points, frequency_hz=np.geomspace(1e3, 8e3, 240))",
        "ha.acoustics.point_levels(rig, points, lines_per_band=24)",
    ],
)
def test_ctrl_c_stops_a_large_field_within_half_a_second(work: str) -> None:
    script = textwrap.dedent(f"""
        import signal, threading, time, builders, numpy as np, hangarc as ha
        signal.signal(signal.SIGINT, signal.default_int_handler)
        hang = builders.hang([1.0] * 47)
        placed = ha.Placed(hang=hang, tilt_deg=0.0, top_m=8.0)
        rig = ha.Rig(hangs=[placed], far_field_tolerance=1e-4)
        points = np.random.default_rng(0).uniform((3, -9, 0), (60, 9, 3), (6_000, 3))
        sent = []
        def send():
            sent.append(time.monotonic())
            signal.raise_signal(signal.SIGINT)
        threading.Timer(0.5, send).start()
        try:
            {work}
        except KeyboardInterrupt:
            print(time.monotonic() - sent[0])
    """)
    run = subprocess.run(
        [sys.executable, "-c", script],
        env={**os.environ, "RAYON_NUM_THREADS": "1"},
        cwd=os.path.dirname(__file__),
        capture_output=True,
        text=True,
        check=True,
    )
    assert float(run.stdout) < 0.5


def test_a_hang_is_a_rig_of_one() -> None:
    hang, venue = builders.hang([1.0, 2.0]), builders.venue()
    one = ha.Placed(hang=hang, tilt_deg=1.0, top_m=8.0, position_m=(0.5, -1.0), pan_deg=3.0)
    where = {"tilt_deg": 1.0, "top_m": 8.0, "position_m": (0.5, -1.0), "pan_deg": 3.0}
    for function, given in (
        (ha.pressure, {"receivers_m": POINTS, "frequency_hz": [1000.0]}),
        (ha.evenness_db, {"venue": venue}),
        (lambda *a, **k: ha.seat_levels(*a, **k).band_level_db, {"venue": venue}),
        (lambda *a, **k: ha.unevenness(*a, **k).band_spread_db, {"venue": venue}),
    ):
        alone = function(hang, **where, **given)
        for rig in (one, ha.Rig(hangs=[one])):
            np.testing.assert_array_equal(function(rig, **given), alone)
            for field, value in where.items():
                with pytest.raises(ha.InputError, match="states its own") as caught:
                    function(rig, **{field: value}, **given)
                assert caught.value.field == field
        with pytest.raises(ha.InputError, match="tilt_deg"):
            function(hang, **given)
    levels = ha.acoustics.point_levels(one, POINTS)
    rig_levels = ha.acoustics.point_levels(ha.Rig(hangs=[one]), POINTS)
    np.testing.assert_array_equal(levels.band_level_db, rig_levels.band_level_db)
    np.testing.assert_array_equal(
        ha.sees(one, venue).seen, ha.sees(ha.Rig(hangs=[one]), venue).seen
    )
    with pytest.raises(ha.InputError, match="a Placed or a Rig"):
        ha.acoustics.point_levels(hang, POINTS)
