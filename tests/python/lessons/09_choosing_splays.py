import numpy as np

given("250 Hz", "8 kHz", "0 dB", "11 m", "3 dB", "0.9° to 9.5°")
u = {
    name: ha.unevenness(hang, 0, 11, study.venue).unevenness_db
    for name, hang in {"straight": straight, "curved": curved, "changed": changed}.items()
}
states(f"from {u['straight']:.1f} dB to {u['curved']:.1f} dB", f"{u['changed']:.1f} dB")
before, after = (ha.pose(hang, 0).axis_deg for hang in (curved, changed))
assert np.allclose(after[:3], before[:3]) and np.allclose(before[3:] - after[3:], 8.6)
states("the nine lower cabinets aim 8.6°")
assert np.ptp(ha.pose(straight, 0).axis_deg) < 1e-9
# What the search promises.
assert found.ended == "budget spent"
assert found.straight_sound.unevenness_db - found.unevenness_db >= 2.0
assert found.unevenness_db < u["curved"]
assert found.sound.share_6_db_below == 0.0
assert all(margin.margin >= 0.0 for margin in found.margins)
# The picture shows what the search made least.
heard = ha.acoustics.seat_levels(
    ha.Rig(hangs=[ha.Placed(hang=found.hang, tilt_deg=found.tilt_deg, top_m=found.top_m)]),
    venue=study.venue,
    air=study.air,
    lowest_hz=250.0,
    highest_hz=8000.0,
    lines_per_band=study.lines_per_band,
)
over_db = (
    heard.band_level_db - np.average(heard.band_level_db, axis=1, weights=heard.weight)[:, None]
)
shown_db = np.sqrt(np.average((over_db**2).mean(axis=0), weights=heard.weight))
assert abs(shown_db - found.unevenness_db) < 1e-3
assert {row.joint for row in rows} == set(range(1, 12))
# The hall is drawn in the DXF section as well.
drawn = ha.io.dxf.read_venue(
    ha.demo.SECTION_DXF,
    ha.demo.section_layers(),
    name=study.venue.name,
    origin=ha.demo.ORIGIN_LAYER,
)
assert drawn == study.venue
