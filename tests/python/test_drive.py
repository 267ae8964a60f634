"""Levels in dB re 20 µPa at full drive, and the part that runs out first."""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest

BANDS = {"lowest_hz": 250.0, "highest_hz": 4000.0}
COUNT = 13


def rig(*sources: dict[str, Any], **placed: Any) -> ha.Rig:
    element = ha.LineElement(height_m=0.1)
    cabinets = [builders.cabinet(source=ha.Source(elements=[element], **one)) for one in sources]
    hang = builders.hang([0.0] * (len(sources) - 1), cabinets=cabinets)
    return ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=0.0, top_m=6.0, **placed)])


def drive(of: ha.Rig, **changes: Any) -> ha.acoustics.FullDrive:
    return ha.acoustics.full_drive(of, builders.venue(), **{**BANDS, **changes})


def test_a_cabinet_of_130_db_at_1_m_gives_that_less_the_way() -> None:
    found = drive(rig({"max_level_db": 130.0}), crest_factor_db=9.0)
    # One cabinet of 0 dB: what its own unit pressure makes at a seat, over all bands, plus 130.
    np.testing.assert_allclose(found.peak_db, found.levels.level_db + 130.0, atol=1e-9)
    np.testing.assert_allclose(found.level_db, found.peak_db - 9.0, atol=1e-12)
    assert found.gain_db == pytest.approx(130.0)
    assert found.first_out == "hang 1, cabinet 1: all bands together"
    assert found.band_headroom_db == [None] * COUNT


def test_weights_are_those_of_iec_61672() -> None:
    one_band = np.full(COUNT, -200.0)
    one_band[0] = 0.0
    found = drive(rig({"max_level_db": 130.0}), spectrum_db=one_band)
    # IEC 61672-1:2013, table 3: A at 250 Hz −8.6 dB, C at 250 Hz 0.0 dB, rounded to a tenth.
    np.testing.assert_allclose(found.level_a_db - found.level_db, -8.6, atol=0.05)
    np.testing.assert_allclose(found.level_c_db - found.level_db, 0.0, atol=0.05)


def test_the_weakest_band_of_the_weakest_cabinet_runs_out_first() -> None:
    bands = [1000.0 * 10 ** (b / 10) for b in range(-6, 7)]
    strong = {"max_level_hz_db": [(f, 126.0) for f in bands]}
    weak = {"max_level_hz_db": [(f, 120.0 if b == 4 else 126.0) for b, f in enumerate(bands)]}
    found = drive(rig(strong, weak))
    share_db = -10 * np.log10(COUNT)
    assert found.gain_db == pytest.approx(120.0 - share_db)
    assert (found.first_hang, found.first_cabinet) == (0, 1)
    assert found.first_band_hz == pytest.approx(bands[4])
    expected = [0.0 if band == 4 else 6.0 for band in range(COUNT)]
    np.testing.assert_allclose(np.array(found.band_headroom_db, dtype=float), expected, atol=1e-9)
    louder = drive(rig(strong, weak, drive=[1.0, 2.0]))
    assert louder.gain_db == pytest.approx(found.gain_db - 20 * np.log10(2))


def test_headroom_is_told_at_the_farthest_seat() -> None:
    found = drive(rig({"max_level_db": 130.0}), wanted_db=90.0)
    ears = found.levels.position_m
    assert found.farthest == np.argmax(np.linalg.norm(ears - [0.0, 0.0, 6.0], axis=1))
    np.testing.assert_allclose(found.headroom_db, found.level_db - 90.0)
    # Where the seat hears the signal's own spectrum, each band has what the whole has; it hears it
    # less the air's share, which grows with frequency.
    bands_db = found.farthest_headroom_db
    energy = np.mean(10 ** (np.asarray(bands_db) / 10))
    assert 10 * np.log10(energy) == pytest.approx(found.headroom_db[found.farthest])


def test_what_is_not_stated_is_refused_by_name() -> None:
    with pytest.raises(ha.InputError) as caught:
        drive(rig({"max_level_db": 130.0}, {}))
    assert caught.value.field == "hangs[0].cabinets[1].source.max_level_db"
    for field, bad in [("crest_factor_db", 40.0), ("spectrum_db", [1.0]), ("wanted_db", np.nan)]:
        with pytest.raises(ha.InputError) as caught:
            drive(rig({"max_level_db": 130.0}), **{field: bad})
        assert caught.value.field == field


def test_a_map_has_nan_where_a_point_touches_a_source() -> None:
    of = rig({"max_level_db": 130.0})
    # The element's middle is 0.17 m under the top.
    height_m = 6.0 - builders.cabinet().height_m / 2
    found = ha.acoustics.level_map(of, [0.0, 10.0], y_m=[0.0, 1.0], z_m=height_m)
    assert np.isnan(found.level_db).tolist() == [[True, False], [False, False]]
    assert np.isnan(found.band_level_db[:, 0, 0]).all()
    assert np.isfinite(found.band_level_db[:, :, 1]).all()
    alone = ha.acoustics.level_map(of, [0.0], y_m=[0.0], z_m=height_m)
    assert np.isnan(alone.level_db).all()
