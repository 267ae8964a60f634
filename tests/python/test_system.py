"""Several hangs that share seats: how they add, how they are searched, aligned and balanced."""

from __future__ import annotations

import dataclasses
import re
import time
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc.model import Neighbour, Site
from hangarc.search import (
    System,
    aligned,
    arrivals_s,
    balanced,
    check_space,
    optimise_system,
    rigs_of,
    system_levels,
    system_unevenness,
    with_gains,
)
from hangarc.search import system as system_room
from outside import Outside, ran

F = np.array([250.0, 1000.0, 4000.0])
LEFT = Site(position_m=(0.0, 5.0), pan_deg=-8.0)
GOALS = ha.Goals(level_price=0.0, roughness_price=0.0, highest_hz=4000.0)


def hung(name: str, site: Site, splays_deg: Any = (1.0, 2.0), **changes: Any) -> Neighbour:
    hang = builders.hang(list(splays_deg))
    return Neighbour(
        **{"name": name, "hang": hang, "tilt_deg": 0.0, "top_m": 8.0, "site": site, **changes}
    )


def test_equal_hangs_add_6_db_on_the_line_of_symmetry_and_3_db_where_their_feeds_are_unlike() -> (
    None
):
    venue = ha.Venue(name="middle (demo data)", areas=[builders.area(places_across=1)])
    alone = system_levels([hung("left", LEFT)], venue)
    pair = system_levels([hung("left", LEFT), hung("right", LEFT.mirrored())], venue)
    unlike = system_levels([hung("left", LEFT), hung("right", LEFT.mirrored("other"))], venue)
    assert (alone.position_m[:, 1] == 0.0).all()
    np.testing.assert_allclose(pair.level_db - alone.level_db, 20 * np.log10(2), atol=1e-6)
    np.testing.assert_allclose(unlike.level_db - alone.level_db, 10 * np.log10(2), atol=1e-6)


def test_a_rig_of_one_hang_gives_the_same_bits_as_the_hang() -> None:
    venue = builders.venue()
    one = hung("one", Site())
    np.testing.assert_array_equal(
        system_levels([one], venue).band_level_db,
        ha.seat_levels(one.hang, 0.0, 8.0, venue).band_level_db,
    )
    study = builders.study(hang=builders.hang([1.0, 2.0]))
    sited = dataclasses.replace(study, site=Site(), serves=[])
    assert study.to_json() == sited.to_json()


def test_the_sum_over_any_split_is_the_whole() -> None:
    hangs = [hung(str(i), Site(position_m=(0.0, 4.0 * i), delay_s=0.001 * i)) for i in range(4)]
    places = [[12.0, 1.0, 1.2], [20.0, -4.0, 1.2], [9.0, 6.0, 2.0]]

    def pressure(some: list[Neighbour]) -> np.ndarray:
        (rig,) = rigs_of(some).values()
        return ha.acoustics.pressure(rig, receivers_m=places, frequency_hz=F)

    whole = pressure(hangs)
    for split in ([0], [1, 2], [0, 3], [1, 2, 3]):
        rest = [i for i in range(4) if i not in split]
        parts = pressure([hangs[i] for i in split]) + pressure([hangs[i] for i in rest])
        np.testing.assert_allclose(parts, whole, rtol=1e-9)


@pytest.mark.parametrize("feed", [None, "other"])
@pytest.mark.parametrize("measure", ["per band", "broadband"])
def test_the_search_hears_all_that_sound(feed: str | None, measure: str) -> None:
    goals = dataclasses.replace(GOALS, measure=measure)
    beside = [
        hung("centre", Site(position_m=(1.0, 0.0), delay_s=0.002), [2.0, 3.0]),
        hung("fill", Site(position_m=(2.0, -9.0), feed="fill", gain_db=-4.0), [2.0, 3.0]),
    ]
    twin = LEFT.mirrored(feed)
    study = builders.study(
        hang=builders.hang([1.0, 2.0]), goals=goals, site=LEFT, twin=twin, beside=beside
    )
    found = ha.optimise_splays(study, budget_evaluations=150)
    where = {"hang": found.hang, "tilt_deg": found.tilt_deg, "top_m": found.top_m}
    all_hung = [hung("left", LEFT, **where), hung("right", twin, **where), *beside]
    lines = study.lines_per_band
    heard = system_unevenness(
        all_hung,
        study.venue,
        air=study.air,
        lowest_hz=goals.lowest_hz,
        highest_hz=goals.highest_hz,
        lines_per_band=lines,
    )
    assert found.unevenness_db == pytest.approx(heard.unevenness_db, abs=0.01)
    # The search cuts elements for its own bands and places: within the tolerance of cutting.
    np.testing.assert_allclose(found.band_mean_db, heard.band_mean_db, atol=0.05)
    if measure == "broadband":
        even = system_levels(all_hung, study.venue, air=study.air, lines_per_band=lines)
        assert found.objective_db == pytest.approx(even.evenness_db, abs=0.01)
    else:
        assert found.objective_db == pytest.approx(heard.unevenness_db, abs=0.01)


def test_delays_agree_with_cross_correlation_of_impulse_responses(outside: Outside) -> None:
    rate_hz, count = 48_000, 16_384
    small = builders.cabinet(source=ha.Source(elements=[ha.LineElement(height_m=0.05)]))
    one = builders.hang([], cabinets=[small])
    place = [17.3, -2.1, 1.2]
    hangs = [
        hung("mains", Site(position_m=(0.0, 5.0)), hang=one),
        hung("delay", Site(position_m=(9.0, 2.0), delay_s=0.0031), hang=one, top_m=5.0),
    ]
    f = np.fft.rfftfreq(count, 1 / rate_hz)
    band = (f > 200.0) & (f < 10_000.0)

    def impulse(of: Neighbour) -> np.ndarray:
        (rig,) = rigs_of([of]).values()
        spectrum = np.zeros(len(f), dtype=complex)
        spectrum[band] = ha.acoustics.pressure(rig, receivers_m=[place], frequency_hz=f[band])[:, 0]
        return np.fft.irfft(spectrum, count)

    def lag(some: list[Neighbour]) -> int:
        first, second = (np.fft.rfft(impulse(one)) for one in some)
        correlation = np.fft.irfft(second * np.conj(first), count)
        peak = int(np.argmax(correlation))
        return peak if peak < count // 2 else peak - count

    times = arrivals_s(hangs, [place])[:, 0]
    outside.check(
        "delays", "by how much one hang arrives later than another",
        ran("numpy", "greatest cross-correlation of impulse responses, by NumPy's FFT"),
        theirs=lag(hangs), ours=(times[1] - times[0]) * rate_hz, unit="samples of 1/48 000 s",
        within=1.0, why="a peak is found to the sample",
    )  # fmt: skip
    together = aligned(hangs, "delay", "mains", place)
    assert abs(lag(together)) <= 1
    later = aligned(hangs, "delay", "mains", place, later_s=0.010)
    assert abs(lag(later) - 480) <= 1
    assert min(one.site.delay_s for one in aligned(hangs, "mains", "delay", place)) >= 0.0


def test_gains_by_least_squares_undo_a_gain_that_was_wrong() -> None:
    venue = builders.venue(areas=[builders.area(places_across=6)])
    pair = [hung("left", LEFT), hung("right", LEFT.mirrored("other"))]
    wrong = with_gains(pair, {"right": -7.0})
    found = balanced(wrong, venue)
    assert found.gain_db["left"] == 0.0
    # Mirror images in a room that is its own mirror image serve best alike.
    assert found.gain_db["right"] == pytest.approx(7.0, abs=0.05)
    assert found.unevenness_db < found.unevenness_before_db


def four(places_across: int = 3) -> System:
    stalls = builders.area(name="stalls", places_across=places_across)
    back = builders.area(
        name="back", profile_m=[(32.0, 3.0), (44.0, 5.0)], places_across=places_across
    )
    venue = ha.Venue(name="hall (demo data)", areas=[stalls, back])

    def study(name: str, site: Site, **changes: Any) -> ha.Study:
        fields: dict[str, Any] = {
            "name": name,
            "venue": venue,
            "goals": GOALS,
            "site": site,
            "hang": builders.hang([1.0, 1.0, 1.0, 2.0, 2.0]),
        }
        return builders.study(**{**fields, **changes})

    far = Site(position_m=(26.0, 4.0), feed="left", delay_s=0.075, gain_db=-6.0)
    return System(
        name="four hangs (demo data)",
        hangs=[
            study(
                "mains",
                dataclasses.replace(LEFT, feed="left"),
                twin=LEFT.mirrored("right"),
            ),
            study(
                "delays",
                far,
                twin=far.mirrored("right"),
                hang=builders.hang([2.0, 3.0]),
                serves=["back"],
            ),
        ],
    )


def test_turns_never_make_a_system_worse_than_its_hangs_searched_one_by_one() -> None:
    system = four()
    found = optimise_system(system, rounds=2)
    assert len(found.hung) == 4
    assert found.unevenness_db <= found.one_by_one_db + 1e-3
    for turn in found.turns:
        assert turn.after_db <= turn.before_db + 1e-9
    again = optimise_system(system, rounds=2)
    assert [one.hang for one in again.hung] == [one.hang for one in found.hung]
    mains, twin = found.hung[:2]
    assert mains.hang == twin.hang
    assert twin.site.position_m == (0.0, -5.0)
    # The last turn's objective is what the seats hear of all hangs, and so is the sheet's.
    assert found.turns[-1].after_db == pytest.approx(found.unevenness_db, abs=0.02)
    sheet = ha.evaluate(found.studies["delays"])
    assert sheet.search.unevenness_db == pytest.approx(found.unevenness_db, abs=0.02)


def test_a_system_goes_through_json() -> None:
    system = four()
    assert System.from_json(system.to_json()) == system


def test_bad_systems_are_refused_by_name() -> None:
    system = four()
    mains, delays = system.hangs
    same_name = dataclasses.replace(delays, name="mains")
    other_air = dataclasses.replace(delays, air=ha.Air(temperature_c=5.0))
    for field, build in {
        "hangs[1].name": lambda: System(name="x", hangs=[mains, same_name]),
        "hangs[1].air": lambda: System(name="x", hangs=[mains, other_air]),
        "given[0]": lambda: System(name="x", hangs=[mains], given=["left"]),
        "hangs[0].tilt_range_deg": lambda: System(name="x", hangs=[mains], given=["mains"]),
        "serves[0]": lambda: dataclasses.replace(mains, serves=["pit"]),
        "twin.position_m": lambda: dataclasses.replace(mains, twin=mains.site),
        "feed": lambda: Site(feed=""),
        "moved": lambda: aligned([hung("one", LEFT)], "two", "one", (9.0, 0.0, 1.0)),
    }.items():
        with pytest.raises(ha.InputError) as caught:
            build()
        assert caught.value.field == field


def test_hangs_in_each_other_and_in_walls_are_refused_by_name() -> None:
    venue = builders.venue()
    crossed = [hung("left", LEFT), hung("centre", Site(position_m=(0.2, 5.1)))]
    with pytest.raises(ha.InputError, match=r"centre\.cabinets\[\d\] = in left\.cabinets"):
        check_space(crossed, venue)
    wall = ha.Surface(name="wall", profile_m=[(-0.3, 0.0), (-0.3, 12.0)], across_m=[-9.0, 9.0])
    with pytest.raises(ha.InputError, match="in wall"):
        system_levels([hung("left", LEFT)], dataclasses.replace(venue, surfaces=[wall]))
    system = four()
    walled = dataclasses.replace(system.venue, surfaces=[wall])
    inside = [dataclasses.replace(study, venue=walled) for study in system.hangs]
    with pytest.raises(ha.InputError, match=r"mains\.cabinets\[\d\] = in wall"):
        optimise_system(System(name="walled", hangs=inside))


def test_a_hang_that_is_clear_at_some_heights_is_looked_at_where_it_is_found() -> None:
    study = builders.study(hang=builders.hang([1.0] * 3), top_range_m=(6.0, 9.0), min_trim_m=2.0)
    middle_deg = sum(study.tilt_range_deg) / 2.0
    # A ledge through the hang at its lowest height only.
    z_m = float(ha.pose(study.hang, middle_deg, 6.0).corners_m[-1, :, 1].mean())
    ledge = ha.Surface(name="ledge", profile_m=[(-0.4, z_m), (-0.1, z_m)])
    ledged = dataclasses.replace(study, venue=dataclasses.replace(study.venue, surfaces=[ledge]))
    system_room.check_start([ledged])
    with pytest.raises(ha.InputError, match="in ledge"):
        system_room.check_start([dataclasses.replace(ledged, top_range_m=(6.0, 6.0))])
    system_room.check_found(ledged, study.hang, middle_deg, 9.0)
    with pytest.raises(ha.InputError, match=r"in ledge.*found at a height of 6 m"):
        system_room.check_found(ledged, study.hang, middle_deg, 6.0)
    # Pins that are given are looked at there too.
    with pytest.raises(ha.InputError, match="in ledge"):
        ha.evaluate(ledged, top_m=6.0)
    assert ha.evaluate(ledged, top_m=9.0).search.top_m == 9.0


def test_a_study_in_a_wall_or_in_another_hang_is_refused_by_name_before_its_search() -> None:
    study = builders.study(hang=builders.hang([1.0] * 3), min_trim_m=2.0)
    wall = ha.Surface(name="wall", profile_m=[(-0.3, 0.0), (-0.3, 20.0)])
    walled = dataclasses.replace(study.venue, surfaces=[wall])
    other = hung("other", Site(position_m=(0.2, 0.2)))
    asked = {
        "in wall": dataclasses.replace(study, venue=walled),
        "other.cabinets[0] = in ": dataclasses.replace(
            study, beside=[dataclasses.replace(other, top_m=study.top_range_m[0])]
        ),
        "(twin)": dataclasses.replace(study, twin=Site(position_m=(0.0, 0.3))),
    }
    for words, refused in asked.items():
        for search in (ha.optimise_splays, ha.answer):
            with pytest.raises(ha.InputError, match=re.escape(words)):
                search(refused)
    # A roof below the ears of a seat, and outlines that cross themselves.
    low = ha.Surface(name="roof", profile_m=[(7.0, 0.8), (31.0, 0.8)])
    with pytest.raises(ha.InputError, match="clear of the ears of"):
        dataclasses.replace(study.venue, surfaces=[low])
    sunk = ha.Surface(name="roof", profile_m=[(7.0, -4.0), (31.0, -4.0)])
    with pytest.raises(ha.InputError, match="not below every floor") as caught:
        dataclasses.replace(study.venue, surfaces=[wall, sunk])
    assert caught.value.field == "surfaces[1]"
    assert "roof" in str(caught.value)
    # Not under seats, as a pit, or over others, as a soffit: both are taken.
    pit = ha.Surface(name="pit", profile_m=[(-3.0, -2.0), (5.0, -2.0)])
    assert dataclasses.replace(study.venue, surfaces=[pit]).surfaces
    with pytest.raises(ha.InputError, match="polygon_m"):
        ha.Surface(name="bow", polygon_m=[(5, 0, 3), (9, 4, 3), (9, 0, 3), (5, 5, 3)])


def test_four_hangs_and_3000_seats(record_property: Any) -> None:
    system = four(places_across=80)
    seats = len(system_levels([hung("one", LEFT)], system.venue).weight)
    assert seats >= 2900
    start = time.perf_counter()
    found = optimise_system(system)
    record_property("seconds", time.perf_counter() - start)
    assert found.unevenness_db <= found.one_by_one_db + 1e-3
