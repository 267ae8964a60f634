import numpy as np

given("2,400 seats")
assert len(answer.hang.cabinets) == 12
assert 2350 < ha.model.seat_count(answer.study.venue) < 2450
used = [row for row in answer.limits if row.utilisation is not None]
worst = max(used, key=lambda row: row.utilisation)
assert worst.item == "lever hoist" and worst.utilisation < 1.0
states(f"{100 * worst.utilisation:.0f} %")
assert any(row.limit_n is None for row in answer.limits)
sheet = ha.report.text(answer)
assert ha.report.CAUTION.split(".")[0] in sheet
assert f"{answer.hoists.load_n[0] / 1000:.2f} kN" in sheet
closing, gear = answer.closing, answer.hang.gear
assert closing.clutch == "closes" and closing.closing_force_n < gear.clutch_n[0]
assert sorted(closing.order) == list(range(1, 12))
link = answer.shortening
assert link.ended == "fits" and f"link {link.link}," in sheet
assert link.hoist_open_m <= gear.hoist_max_m and link.hoist_closed_m >= gear.hoist_min_m
assert np.isclose(answer.hoists.load_n.sum(), weight_n, rtol=1e-9)
assert not answer.hoists.slack.any()
# What the search promises.
found, venue = answer.search, answer.study.venue
assert found.ended == "settled"
assert found.straight_sound.unevenness_db - found.unevenness_db >= 2.0
assert found.sound.share_6_db_below == 0.0
assert all(margin.margin >= 0.0 for margin in found.margins)
rows = ha.search.one_hole_table(answer.study, found.hang, found.tilt_deg, found.top_m)
assert not any(row.objective_change_db < -0.01 - 1e-9 for row in rows if row.missed is None)
met = [throw for throw in ha.throws(found.hang, found.tilt_deg, found.top_m, venue) if throw]
assert {throw.area for throw in met} >= {0, 1, 2}
off = ha.acoustics.axes_off_seats(found.hang, found.tilt_deg, found.top_m, venue)
assert sum(axis is None for axis in off) >= 8
# The pictures of the sheet show what the search made least.
heard = answer.seats
over_db = (
    heard.band_level_db - np.average(heard.band_level_db, axis=1, weights=heard.weight)[:, None]
)
shown_db = np.sqrt(np.average((over_db**2).mean(axis=0), weights=heard.weight))
assert abs(shown_db - found.unevenness_db) < 1e-3
# The exercises are about this very sheet, so it is not answered once more.
from hangarc.lesson.questions import working

working.sheet = lambda: answer
for name, figure in (
    ("sheet 1", answer.hoists.load_n[0]),
    ("sheet 2", link.link),
    ("sheet 3", 100 * worst.utilisation),
):
    assert ha.lesson.check(name, round(float(figure))).right, name
