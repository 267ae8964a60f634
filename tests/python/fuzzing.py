"""Every public function with arguments that work, and hostile values to put in their place."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bad_input
import builders
import hangarc as ha
import numpy as np
from hangarc._ending import Ended
from hypothesis import strategies as st

HANG, CLOSED, STUDY, RIG = bad_input.HANG, bad_input.CLOSED, bad_input.STUDY, bad_input.RIG
GEARED = builders.hang([1.0] * 3, "compression", gear=builders.gear())
VENUE = builders.venue(areas=[builders.area(profile_m=[(8.0, 0.0), (14.0, 0.0)], width_m=6.0)])
PICKS = (0.2, -0.8)
POINTS_M = [[20.0, 0.0, 1.2], [30.0, 2.0, 1.2]]
ANCHORS_M = [(0.0, 0.0, 10.0), (4.0, 0.0, 10.0), (2.0, 3.0, 10.0)]
ANSWER = ha.evaluate(STUDY)
LEVELS = ha.acoustics.point_levels(RIG, POINTS_M)
LOUD_CABINET = builders.cabinet(
    source=ha.Source(elements=[ha.LineElement(height_m=0.34)], max_level_db=135.0)
)
LOUD_RIG = ha.Rig(
    hangs=[
        ha.Placed(hang=builders.hang([1.0], cabinets=[LOUD_CABINET] * 2), tilt_deg=0.0, top_m=8.0)
    ]
)
LOUD = ha.acoustics.point_levels(LOUD_RIG, POINTS_M)
SEAT_LEVELS = ha.seat_levels(HANG, 0.0, 8.0, VENUE)
BRIDLE = ha.bridle([(0.0, 10.0), (4.0, 10.0)], apex_m=(2.0, 8.0), load_n=1000.0)
NEIGHBOURS = [
    ha.model.Neighbour(
        name=name,
        hang=HANG,
        tilt_deg=0.0,
        top_m=8.0,
        site=ha.model.Site(position_m=(0.0, y_m), feed=name),
    )
    for name, y_m in (("left", 4.0), ("right", -4.0))
]
SYSTEM = ha.search.System(name="one", hangs=[STUDY])
SPHERE = np.ones((2, 3, 3), complex)
BLANK = ha.survey.blank_readings(ANSWER)
READINGS = dataclasses.replace(
    BLANK, at_trim=[dataclasses.replace(row, value=100.0) for row in BLANK.at_trim]
)
ROOF_POINTS = ha.io.roof_plot.bridle_points(BRIDLE, ANCHORS_M[:2], ["A", "B"])

Call = tuple[Callable[..., Any], dict[str, Any]]


def calls() -> dict[str, Call]:
    """Name, function and good arguments of what computes, reads or writes."""
    aimed = {"hang": HANG, "tilt_deg": 0.0, "top_m": 8.0}
    held = {"hang": HANG, "tilt_deg": 0.0, "pick_x_m": PICKS}
    closed = {"hang": CLOSED, "tilt_deg": 0.0}
    acoustics, closing, suspension = ha.acoustics, ha.closing, ha.suspension
    more: list[Call] = [
        (ha.model.seat_count, {"venue": VENUE}),
        (ha.model.seat_counts, {"venue": VENUE}),
        (acoustics.area_levels, {"levels": SEAT_LEVELS}),
        (acoustics.axes_off_seats, {**aimed, "venue": VENUE}),
        (
            acoustics.band_lines_hz,
            {"lowest_hz": 1000.0, "highest_hz": 8000.0, "lines_per_band": 2},
        ),
        (
            acoustics.coverage,
            {"levels": SEAT_LEVELS, "origin_m": (0.0, 0.0, 0.0), "hole_depth_db": 6.0},
        ),
        (acoustics.edge_factor, {"detour_waves": [0.0, 1.0]}),
        (
            ha.evenness_db,
            {
                **aimed,
                "venue": VENUE,
                "air": None,
                "position_m": (0.0, 0.0),
                "pan_deg": 0.0,
                "lines_per_band": 1,
            },
        ),
        (acoustics.headroom_db, {"levels": LOUD, "wanted_db": [90.0, 95.0]}),
        (
            acoustics.lines_of_sight,
            {"venue": VENUE, "from_m": [(0.0, 0.0, 8.0)], "to_m": [(20.0, 0.0, 1.2)]},
        ),
        (
            acoustics.level_by_distance,
            {"rig": RIG, "distance_m": [8.0, 16.0], "height_m": 1.2, "azimuth_deg": 0.0},
        ),
        (
            acoustics.level_map,
            {"rig": RIG, "x_m": [8.0, 16.0], "y_m": [0.0, 1.0], "z_m": 1.2},
        ),
        (
            acoustics.pressure,
            {"hang": RIG, "receivers_m": POINTS_M, "frequency_hz": [500.0], "air": None},
        ),
        (
            acoustics.seat_levels,
            {
                "hang": RIG,
                "venue": VENUE,
                "air": None,
                "lowest_hz": 1000.0,
                "highest_hz": 2000.0,
                "lines_per_band": 1,
            },
        ),
        (ha.sees, {"of": RIG, "venue": VENUE}),
        (acoustics.sound_speed_m_s, {"air": None}),
        (
            ha.unevenness,
            {
                **aimed,
                "venue": VENUE,
                "lowest_hz": 500.0,
                "highest_hz": 1000.0,
                "lines_per_band": 1,
                "position_m": (0.0, 0.0),
                "pan_deg": 0.0,
            },
        ),
        (acoustics.wanted_db, {"study": STUDY}),
        (acoustics.weighted_level_db, {"levels": LEVELS, "weighting": "A"}),
        (
            ha.statics.part_loads,
            {
                "out_of_step_m": 0.03,
                **held,
                "hoist_limit_n": 5000.0,
                "roof_point_limit_n": 5000.0,
                "hoist_mass_kg": 30.0,
                "dynamic_factor": 1.2,
                "preload_n": 0.0,
            },
        ),
        (
            ha.statics.pull_back,
            {
                **held,
                "to_m": (-6.0, 0.0),
                "attach_m": (-0.5, -1.5),
                "top_m": 8.0,
                "force_n": 100.0,
                "limit_n": 500.0,
            },
        ),
        (closing.bypass, {**closed, "take_up_m": 0.001, "stiffness_n_m": 1e6}),
        (closing.closing_remedies, {**closed, "available_n": 5000.0}),
        (closing.closing_sensitivities, {**closed, "pick_x_m": PICKS}),
        (closing.closing_stages, {**closed, "available_n": 5000.0, "cabinets": [2, 4]}),
        (
            suspension.bridle_forces_along,
            {"anchors_m": ANCHORS_M, "apexes_m": [(2.0, 1.0, 8.0)], "load_n": 1000.0},
        ),
        (
            suspension.bridle_from_stock,
            {
                "anchors_m": [(0.0, 10.0), (4.0, 10.0)],
                "apex_m": (2.0, 8.0),
                "load_n": 1000.0,
                "steels_m": [0.5, 1.0, 1.5],
                "pitch_m": 0.03,
                "most_links": 9,
                "most_steels": 2,
                "fittings_m": 0.1,
                "within_m": 0.25,
            },
        ),
        (
            suspension.combine_loads,
            {"actions": {"dead": [1.0, 2.0]}, "sets": {"all": {"dead": 1.35}}},
        ),
        (
            suspension.emergency_stop_force_n,
            {"weight_n": 5000.0, "speed_m_s": 0.07, "stiffness_n_m": 1e6, "gravity_m_s2": 9.8},
        ),
        (
            suspension.hang_on_hoists,
            {
                "hang": HANG,
                "tilt_deg": 0.0,
                "points_m": [(0.2, 0.0, 12.0), (-0.8, 0.4, 12.0), (-0.8, -0.4, 12.0)],
                "top_m": 8.0,
                "position_m": (0.0, 0.0),
                "pan_deg": 0.0,
                "lateral_cg_m": 0.0,
                "stiffness_n_m": 4e5,
                "high_m": [0.0, 0.0, 0.0],
            },
        ),
        (
            suspension.heavy_leg,
            {"span_m": 4.0, "rise_m": 3.0, "weight_n_m": 20.0, "length_m": 5.2},
        ),
        (
            suspension.pan_hold,
            {
                "roof_spacing_m": 2.0,
                "frame_spacing_m": 2.0,
                "line_m": 5.0,
                "weight_n": 5000.0,
                "pan_deg": 20.0,
            },
        ),
        (suspension.start_stop_factor, {"speed_m_s": 0.1, "hoisting_class": "HC2"}),
        (ha.wind.section_coefficient, {"width_m": 1.0, "depth_m": 0.6}),
        (
            ha.wind.wind_speed_at_limits,
            {
                **held,
                "top_m": 8.0,
                "line_limit_deg": 10.0,
                "turn_limit_deg": 10.0,
                "hoist_limit_n": 9000.0,
                "total_limit_n": 9000.0,
                "wind_from": "front",
                "coefficient": 1.2,
                "structural_factor": 1.0,
                "density_kg_m3": 1.25,
                "closed": False,
            },
        ),
        (
            ha.wind.parts_in_wind,
            {
                **held,
                "hang": CLOSED,
                "wind": ha.Wind(speed_m_s=10.0),
                "top_m": 8.0,
                "wind_from": "front",
                "preload_n": 100.0,
                "chain_stiffness_n_m": 1e6,
                "coefficient": 1.2,
                "structural_factor": 1.0,
                "shadows": (),
                "hoist_limit_n": 9000.0,
                "roof_point_limit_n": 9000.0,
                "hoist_mass_kg": 30.0,
            },
        ),
        (
            ha.wind.oblique_forces,
            {
                **held,
                "wind": ha.Wind(speed_m_s=10.0),
                "top_m": 8.0,
                "from_deg": 30.0,
                "coefficient": 1.2,
                "structural_factor": 1.0,
            },
        ),
        (ha.wind.gust_factor, {"gust_s": 3.0, "period_s": 5.0}),
        (
            suspension.hang_on_lines,
            {
                **held,
                "line_m": [6.0, 7.0],
                "stiffness_n_m": [1e6, 2e6],
                "longer_m": [0.0, 0.03],
                "roof_forward_m": [0.1, 0.0],
                "failed": None,
                "trimmed_loaded": True,
                "hoist_limit_n": 9000.0,
            },
        ),
        (
            suspension.lift_off,
            {
                "hang": HANG,
                "pick_x_m": PICKS,
                "raised_m": [0.0, 0.01],
                "cabinets": 2,
                "line_m": 6.0,
                "stiffness_n_m": 1e6,
                "floor_stiffness_n_m": 1e7,
            },
        ),
        (
            ha.statics.forces_per_side,
            {
                "hang": HANG,
                "tilt_deg": 0.0,
                "cg_y_m": 0.02,
                "force_n": np.zeros((len(HANG.cabinets), 2)),
                "lean_deg": 1.0,
                "hinge_spacing_m": 1.0,
                "link_spacing_m": 1.0,
                "chain_spacing_m": 1.0,
                "chain_force_n": None,
                "left_share": 0.5,
                "link_over_hinge": 1.0,
            },
        ),
        (
            ha.model.brought_to_one_metre,
            {
                "frequency_hz": [500.0, 630.0],
                "azimuth_deg": [-90.0, 0.0, 90.0],
                "elevation_deg": [-45.0, 0.0, 45.0],
                "pressure": SPHERE,
                "distance_m": 2.0,
                "delay_s": 0.0,
            },
        ),
        (
            acoustics.full_drive,
            {
                "rig": LOUD_RIG,
                "venue": VENUE,
                "crest_factor_db": 12.0,
                "wanted_db": 90.0,
                "lowest_hz": 500.0,
                "highest_hz": 1000.0,
                "lines_per_band": 1,
            },
        ),
        (
            ha.search.aligned,
            {
                "hung": NEIGHBOURS,
                "moved": "left",
                "to": "right",
                "place_m": (20.0, 0.0, 1.2),
                "later_s": 0.0,
            },
        ),
        (ha.search.arrivals_s, {"hung": NEIGHBOURS, "places_m": np.array(POINTS_M)}),
        (
            ha.search.balanced,
            {
                "hung": NEIGHBOURS,
                "venue": VENUE,
                "lowest_hz": 500.0,
                "highest_hz": 1000.0,
                "lines_per_band": 1,
                "most_db": 6.0,
            },
        ),
        (ha.search.check_space, {"hung": NEIGHBOURS, "venue": VENUE}),
        (ha.search.rigs_of, {"hung": NEIGHBOURS}),
        (
            ha.search.system_levels,
            {
                "hung": NEIGHBOURS,
                "venue": VENUE,
                "lowest_hz": 500.0,
                "highest_hz": 1000.0,
                "lines_per_band": 1,
            },
        ),
        (
            ha.search.system_unevenness,
            {
                "hung": NEIGHBOURS,
                "venue": VENUE,
                "lowest_hz": 500.0,
                "highest_hz": 1000.0,
                "lines_per_band": 1,
            },
        ),
        (ha.search.with_gains, {"hung": NEIGHBOURS, "gain_db": {"left": -3.0}}),
        (
            ha.search.electronics,
            {
                "study": STUDY,
                "tilt_deg": 0.0,
                "top_m": 8.0,
                "least_gain_db": -6.0,
                "most_filter_db": 12.0,
            },
        ),
        (
            ha.search.trade_off,
            {
                "study": STUDY,
                "against": "mean level",
                "points": 2,
                "seed": 0,
                "budget_evaluations": 10,
            },
        ),
        (ha.survey.blank_readings, {"answer": ANSWER}),
        (
            ha.survey.check_readings,
            {"answer": ANSWER, "readings": READINGS},
        ),
        (ha.verify, {"answer": ANSWER}),
        (
            ha.uncertainty.uncertainty_of,
            {"answer": ANSWER, "tolerances": ha.uncertainty.Tolerances(tilt_deg=0.1)},
        ),
        (
            ha.io.roof_plot.bridle_points,
            {
                "bridle": BRIDLE,
                "anchors_m": ANCHORS_M[:2],
                "names": ["A", "B"],
                "dynamic_factor": 1.2,
                "limit_n": 5000.0,
            },
        ),
        (ha.io.roof_plot.roof_table, {"points": ROOF_POINTS}),
        (ha.io.roof_plot.roof_table_csv, {"points": ROOF_POINTS}),
        (ha.sweeps.venues, {"kind": "fan", "count": 2, "seed": 0, "ranges": {}}),
        (ha.shortening, {"hang": GEARED, "tilt_deg": 0.0}),
        (ha.lesson.signs, {"hang": HANG, "tilt_deg": 1.0}),
        (ha.lesson.balance, {"hang": HANG, "pick_x_m": PICKS, "tilt_deg": 0.0}),
        (ha.lesson.forces_below, {"hang": HANG, "tilt_deg": 0.0, "joint": 1}),
        (ha.lesson.free_body, {"hang": CLOSED, "tilt_deg": 0.0, "joint": 1}),
        (ha.lesson.closing, {"hang": CLOSED, "tilt_deg": 0.0, "states": 3, "result": None}),
        (
            ha.lesson.in_wind,
            {"hang": CLOSED, "tilt_deg": 0.0, "pick_x_m": PICKS, "speed_m_s": 10.0},
        ),
        (
            ha.lesson.small_hang,
            {"count": 3, "rigging": "tension", "splays_deg": [1.0, 2.0]},
        ),
        (ha.lesson.line_source, {"length_m": 3.0, "count": 8, "arc_deg": 10.0, "fill": 0.9}),
        (
            ha.lesson.level_db,
            {
                "line": ha.lesson.line_source(2.0, count=4),
                "distance_m": [4.0, 8.0],
                "frequency_hz": [500.0],
            },
        ),
        (
            ha.lesson.pattern_db,
            {
                "line": ha.lesson.line_source(2.0, count=4),
                "angle_deg": [0.0, 10.0],
                "frequency_hz": [500.0],
                "distance_m": 20.0,
            },
        ),
        (ha.lesson.check, {"exercise": "closing 1", "answer": 255.0}),
    ]
    table = dict(bad_input.CALLS)
    for function, good in more:
        name = function.__name__
        table[f"{name} of a rig" if name in table else name] = (function, good)
    return table


CALLS = calls()


class LyingFloat:
    """Says another number each time, or none at all."""

    def __float__(self) -> float:
        raise ZeroDivisionError("a lie")


class LyingArray:
    """An array that is none."""

    def __array__(self, *_: Any, **__: Any) -> Any:
        raise KeyError("a lie")


class GrowingArray:
    """Claims a shape and gives another."""

    shape = (3,)

    def __array__(self, *_: Any, **__: Any) -> Any:
        return np.zeros((2, 2, 2, 2))


def frozen(array: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    array.flags.writeable = False
    return array


NUMBERS: list[Any] = [
    *(math.nan, math.inf, -math.inf, 5e-324, -5e-324, 1e-300, 1e308, -1e308, -0.0, 0.0),
    *(1e-9, -1e-9, 1e9, 90.0, -90.0, 180.0, 1e16, 0, 1, -1, 2**31, 2**53 + 1, 2**63, 10**400),
    *(True, None, "5", "", b"5", 1 + 1j, LyingFloat(), np.float16(1.5), np.bool_(True)),
    *(np.float32("nan"), np.datetime64("2026-11-27"), np.int8(-128), np.uint64(2**64 - 1)),
]
ARRAYS: list[Any] = [
    *([], [[]], [[[]]], (), {}, set(), "points", b"\0" * 24, range(3), object()),
    *(LyingArray(), GrowingArray(), np.empty(0), np.empty((0, 3)), np.empty((3, 0)), np.zeros(())),
    *(np.zeros((1, 2, 3, 4)), np.arange(12.0)[::5], np.arange(12.0).reshape(3, 4).T[:3]),
    *(np.array([1.0, 2.0], ">f8"), np.array([[1.0, 2.0, 3.0]], ">f4"), frozen(np.arange(3.0))),
    *(np.array([1.0, None], object), np.array(["a"]), np.ma.masked_array([1.0, 2.0], [0, 1])),
    *(np.array([1, 2, 3], np.int8), np.array([1.0, np.nan]), np.full((2, 3), 1e308)),
    *(np.full((2, 3), 5e-324), [[0.0, 0.0, 0.0]] * 2, [1.0, [2.0]], [True, 2.0], [1 + 0j]),
    *(np.rec.array([(1.0, 2)], dtype=[("a", "f8"), ("b", "i4")]), [10**400], [LyingFloat()]),
    *(iter([1.0, 2.0]), memoryview(b"12345678"), np.zeros(3)[None].repeat(4, 0)),
]

#: Finite numbers of every size beside the lists above.
numbers = st.one_of(
    st.sampled_from(NUMBERS),
    st.floats(width=64),
    st.floats(-100.0, 100.0),
    st.integers(-10, 10**6),
    st.integers(),
)
hostile = st.one_of(
    numbers,
    st.sampled_from(ARRAYS),
    st.lists(st.floats(width=64), max_size=4),
    st.lists(st.lists(st.floats(width=64), min_size=2, max_size=3), max_size=4),
    st.sampled_from([HANG, CLOSED, GEARED, STUDY, RIG, VENUE, ANSWER, LEVELS, ha.Air(), Path(".")]),
    st.text(max_size=5),
)


def varied(good: Any) -> st.SearchStrategy[Any]:
    """Values like a good one, which get further in than hostile ones."""
    if isinstance(good, bool):
        return st.booleans()
    if isinstance(good, int | float):
        return numbers
    if isinstance(good, list | tuple) and good:
        items = st.one_of(*(varied(item) for item in good[:2]), st.sampled_from(list(good)))
        return st.lists(items, max_size=len(good) + 1).map(type(good))
    if dataclasses.is_dataclass(good) and not isinstance(good, type):
        return st.just(good)
    return hostile


def not_a_number_in(value: Any) -> bool:
    """Tell whether a result holds NaN."""
    if isinstance(value, ha.Hang | ha.Study | ha.Venue) or value is None:
        return False
    if isinstance(value, Ended) and not value._ending.figures:
        return False  # it says that it gives none
    if dataclasses.is_dataclass(value):
        return any(not_a_number_in(getattr(value, f.name)) for f in dataclasses.fields(value))
    if isinstance(value, list | tuple):
        return any(map(not_a_number_in, value))
    if isinstance(value, dict):
        return any(map(not_a_number_in, value.values()))
    if isinstance(value, np.ndarray | np.generic | float | complex):
        array = np.asarray(value)
        return array.dtype.kind in "fc" and bool(np.isnan(array).any())
    return False
