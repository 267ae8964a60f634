"""Measured balloons: known sources come back from what was measured of them at any distance."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
import sofar
from hangarc.io.balloon import COLUMNS, measurement_of_csv, measurement_of_sofa, read_balloon_sofa
from outside import Outside, ran
from scipy import special

C = ha.acoustics.sound_speed_m_s()
THIRDS = 1000.0 * 10 ** (np.arange(-10, 10) / 10)
AZIMUTH, ELEVATION = np.arange(-180.0, 180.0, 5.0), np.arange(-90.0, 91.0, 5.0)


def unit(azimuth_deg: Any, elevation_deg: Any) -> np.ndarray:
    az, el = np.broadcast_arrays(np.radians(azimuth_deg), np.radians(elevation_deg))
    return np.stack([np.cos(el) * np.cos(az), np.cos(el) * np.sin(az), np.sin(el)])


def line(frequency_hz: Any, direction: np.ndarray, height_m: float = 0.12) -> np.ndarray:
    """A uniform line along z: sin x / x (Kinsler, Fundamentals of Acoustics, section 7.3)."""
    return np.sinc(frequency_hz * height_m / C * direction[2])


def piston(frequency_hz: Any, direction: np.ndarray, radius_m: float = 0.06) -> np.ndarray:
    """A circular piston in a baffle, mirrored behind: 2 J1(x) / x (Kinsler, section 7.4)."""
    aside = np.sqrt(np.maximum(1.0 - direction[0] ** 2, 0.0))
    x = 2 * np.pi * frequency_hz / C * radius_m * aside
    small = x < 1e-6
    return np.where(small, 1.0, 2 * special.jv(1, x) / np.where(small, 1.0, x))


SOURCES = {"line": line, "piston": piston}


def measured(source: Any, distance_m: float, delay_s: float, frequency_hz: Any) -> np.ndarray:
    """Far-field pressure at `distance_m` on the grid, with its run time and a delay left in."""
    f = np.asarray(frequency_hz)[:, None, None]
    direction = unit(AZIMUTH[None, :], ELEVATION[:, None])
    late_s = distance_m / C + delay_s
    return source(f, direction) / distance_m * np.exp(-2j * np.pi * f * late_s)


@pytest.mark.parametrize("delay_s", [0.0, 0.0003, 0.001])
@pytest.mark.parametrize("distance_m", [1.0, 2.0, 4.0])
@pytest.mark.parametrize("name", SOURCES)
def test_a_known_source_comes_back_from_any_distance(
    name: str, distance_m: float, delay_s: float, outside: Outside
) -> None:
    pressure = measured(SOURCES[name], distance_m, delay_s, THIRDS)
    found = ha.model.brought_to_one_metre(THIRDS, AZIMUTH, ELEVATION, pressure, distance_m)
    assert found.delay_s == pytest.approx(distance_m / C + delay_s, abs=1e-7)
    rng = np.random.default_rng(2)
    az, el = rng.uniform(-180, 180, 2000), np.degrees(np.arcsin(rng.uniform(-1, 1, 2000)))
    lines = np.concatenate([THIRDS, THIRDS[:-1] * 10**0.05])
    expected = SOURCES[name](lines, unit(az, el)[:, :, None])
    got = found.balloon.towards(az, el, lines)
    # Where a null is near, decibels and degrees say nothing: the loudest is 0 dB, as much counts
    # as lies less than 12 dB under it; what is quieter is within 2 % of the loudest.
    loud = np.abs(expected) > 10 ** (-12 / 20)
    ratio = got[loud] / expected[loud]
    assert loud.mean() > 0.6
    assert np.abs(20 * np.log10(np.abs(ratio))).max() < 0.2
    assert np.abs(np.degrees(np.angle(ratio))).max() < 5.0
    outside.check(
        "directivity",
        f"a balloon measured every 5° of a known {name}, read back between: off the closed form",
        ran("scipy", "sin x / x, and 2 J₁(x) / x with J₁ by SciPy (Kinsler, 7.3 and 7.4)"),
        theirs=0.0, ours=np.abs(got - expected), unit="of the loudest", within=0.02,
        why="what lies between grid points 5° and third octaves apart",
    )  # fmt: skip


def test_a_delay_left_in_makes_no_holes() -> None:
    response = np.exp(-2j * np.pi * THIRDS * 0.0003)[:, None, None] * np.ones((20, 37, 72))
    balloon = ha.model.Balloon(THIRDS, AZIMUTH, ELEVATION, response)
    lines = np.geomspace(100.0, 7900.0, 500)
    got = balloon.towards([3.0], [4.0], lines)[0]
    np.testing.assert_allclose(got, np.exp(-2j * np.pi * lines * 0.0003), atol=1e-6)
    assert balloon.delay_s == pytest.approx(0.0003, abs=1e-9)


def test_a_delay_can_be_kept() -> None:
    pressure = measured(line, 1.0, 0.0, THIRDS)
    kept = ha.model.brought_to_one_metre(THIRDS, AZIMUTH, ELEVATION, pressure, 1.0, 0.0)
    assert kept.delay_s == 0.0
    np.testing.assert_array_equal(np.asarray(kept.balloon.response), pressure)


def test_the_error_stated_bounds_the_error_between_the_lines() -> None:
    pressure = measured(line, 1.0, 0.0, THIRDS)
    found = ha.model.brought_to_one_metre(THIRDS, AZIMUTH, ELEVATION, pressure, 1.0)
    stated = {row.along: row for row in found.left_out}
    assert set(stated) == {"frequency", "elevation", "azimuth"}
    between = THIRDS[3:-3] * 10**0.05
    az, el = np.meshgrid(AZIMUTH, ELEVATION)
    expected = line(between, unit(az.ravel(), el.ravel())[:, :, None])
    got = found.balloon.towards(az.ravel(), el.ravel(), between)
    loud = np.abs(expected) > 0.1
    off_db = np.abs(20 * np.log10(np.abs(got[loud] / expected[loud])))
    assert np.sqrt(np.mean(off_db**2)) < stated["frequency"].level_rms_db
    # A line along z is the same at all azimuths.
    assert stated["azimuth"].level_most_db < 1e-9


def test_a_centre_far_off_is_refused_as_its_phase_cannot_be_followed() -> None:
    direction = unit(AZIMUTH[None, ::2], ELEVATION[::2, None])
    f = THIRDS[:, None, None]
    response = np.exp(2j * np.pi * f * 0.5 / C * direction[0])
    with pytest.raises(ha.InputError, match="turns of phase"):
        ha.model.Balloon(THIRDS, AZIMUTH[::2], ELEVATION[::2], response)


def sofa_file(path: Path, pressure: np.ndarray, distance_m: float) -> Path:
    az, el = (grid.ravel() for grid in np.meshgrid(AZIMUTH, ELEVATION))
    values = pressure.reshape(len(pressure), -1)
    file = sofar.Sofa("FreeFieldDirectivityTF")
    file.ReceiverPosition = np.column_stack([az, el, np.full_like(az, distance_m)])
    file.ReceiverPosition_Type = "spherical"
    file.ReceiverPosition_Units = "degree, degree, metre"
    file.Data_Real, file.Data_Imag = values.real.T[None], values.imag.T[None]
    file.N = THIRDS
    sofar.write_sofa(str(path), file)
    return path


def test_a_file_of_four_metres_is_no_12_db_low(tmp_path: Path) -> None:
    path = sofa_file(tmp_path / "demo_data.sofa", measured(line, 4.0, 0.0, THIRDS), 4.0)
    found = measurement_of_sofa(path)
    assert found.distance_m == pytest.approx(4.0)
    assert found.delay_s == pytest.approx(4.0 / C, abs=1e-7)
    ahead = found.balloon.towards([0.0], [0.0], THIRDS)[0]
    np.testing.assert_allclose(ahead, 1.0, atol=1e-4)
    assert read_balloon_sofa(path) == found.balloon
    table = tmp_path / "demo_data.csv"
    with table.open("w") as file:
        file.write(",".join(COLUMNS) + "\n")
        for f, on_sphere in zip(THIRDS, measured(line, 4.0, 0.0, THIRDS), strict=True):
            for el, row in zip(ELEVATION, on_sphere, strict=True):
                for az, p in zip(AZIMUTH, row, strict=True):
                    level_db, phase_deg = 20 * np.log10(abs(p)), np.degrees(np.angle(p))
                    file.write(
                        f"{f!r},{az},{el},{level_db!r},{phase_deg!r}\n".replace(
                            "np.float64(", ""
                        ).replace(")", "")
                    )
    from_table = measurement_of_csv(table, distance_m=4.0)
    again = from_table.balloon.towards([10.0], [-7.0], THIRDS)
    np.testing.assert_allclose(again, found.balloon.towards([10.0], [-7.0], THIRDS), atol=1e-6)


def balloon_of(element: ha.LineElement) -> ha.model.Balloon:
    pressure = measured(lambda f, u: line(f, u, element.height_m), 2.0, 0.0, THIRDS)
    found = ha.model.brought_to_one_metre(THIRDS, AZIMUTH, ELEVATION, pressure, 2.0)
    return found.balloon


ELEMENT = ha.LineElement(height_m=0.12)


def cabinets(source: ha.Source) -> list[ha.Cabinet]:
    return [builders.cabinet(source=source)] * 3


def test_a_balloon_in_a_cabinet_sounds_like_the_element_it_was_measured_of() -> None:
    by_element = builders.hang([1.0, 2.0], cabinets=cabinets(ha.Source(elements=[ELEMENT])))
    measured_so = ha.Source(balloon=balloon_of(ELEMENT))
    by_balloon = builders.hang([1.0, 2.0], cabinets=cabinets(measured_so))
    points = [[10.0, 0.0, 1.2], [18.0, -4.0, 1.2], [30.0, 6.0, 3.0]]
    f = [125.0, 400.0, 2000.0, 5000.0]
    expected = ha.pressure(by_element, 1.0, 9.0, points, f)
    # Far field of 0.12 m at 10 m and 5 kHz: h² k / 24 d is under 1 %.
    got = ha.pressure(by_balloon, 1.0, 9.0, points, f)
    np.testing.assert_allclose(np.abs(got / expected), 1.0, atol=0.01)
    in_rig = ha.Placed(hang=by_element, tilt_deg=1.0, top_m=9.0, balloon=measured_so.balloon)
    np.testing.assert_array_equal(
        got, ha.acoustics.pressure(ha.Rig(hangs=[in_rig]), receivers_m=points, frequency_hz=f)
    )


def test_a_search_with_a_balloon_finds_what_that_with_the_element_finds() -> None:
    goals = ha.Goals(highest_hz=4000.0)
    small = [
        builders.study(hang=builders.hang([1.0, 2.0], cabinets=cabinets(source)), goals=goals)
        for source in (ha.Source(elements=[ELEMENT]), ha.Source(balloon=balloon_of(ELEMENT)))
    ]
    by_element, by_balloon = (ha.optimise_splays(study, prove=True) for study in small)
    assert by_balloon.unevenness_db == pytest.approx(by_element.unevenness_db, abs=0.02)
    again = ha.Study.from_json(small[1].to_json())
    assert again == small[1]
    assert again.hang.cabinets[0].source.balloon == small[1].hang.cabinets[0].source.balloon


def test_coverage_changes_with_frequency() -> None:
    wide, narrow = 120.0, 60.0
    points = [[10.0, 6.0, 4.0], [20.0, -3.0, 2.0]]
    f = 1000.0 * 10 ** np.array([-0.6, 0.0, 0.6])

    def pressure(**coverage: Any) -> np.ndarray:
        source = ha.Source(elements=[ELEMENT], **coverage)
        return ha.pressure(
            builders.hang([1.0, 2.0], cabinets=cabinets(source)), 1.0, 9.0, points, f
        )

    changing = pressure(coverage_hz_deg=[(f[0], wide), (f[2], narrow)])
    np.testing.assert_allclose(changing[0], pressure(coverage_deg=wide)[0], rtol=1e-9)
    np.testing.assert_allclose(changing[2], pressure(coverage_deg=narrow)[2], rtol=1e-9)
    middle = wide * (narrow / wide) ** 0.5
    np.testing.assert_allclose(changing[1], pressure(coverage_deg=middle)[1], rtol=1e-9)


@pytest.mark.parametrize(
    ("field", "fields"),
    [
        ("elements", {}),
        ("balloon", {"elements": [ELEMENT], "balloon": 1}),
        ("balloon", {"balloon": 2, "coverage_deg": 90.0}),
        ("coverage_deg", {"elements": [ELEMENT], "coverage_deg": 9, "coverage_hz_deg": [(1, 9)]}),
        ("coverage_hz_deg[1][0]", {"elements": [ELEMENT], "coverage_hz_deg": [(9, 9), (9, 9)]}),
        ("coverage_hz_deg[0][1]", {"elements": [ELEMENT], "coverage_hz_deg": [(9, 0)]}),
        ("max_level_hz_db[0][0]", {"elements": [ELEMENT], "max_level_hz_db": [(0, 100)]}),
    ],
)
def test_bad_sources_are_refused_by_name(field: str, fields: dict[str, Any]) -> None:
    if "balloon" in fields:
        fields = {**fields, "balloon": balloon_of(ELEMENT)}
    with pytest.raises(ha.InputError) as caught:
        ha.Source(**fields)
    assert caught.value.field == field
