"""Bad input is refused by name; good input survives a file and a process boundary."""

from __future__ import annotations

import dataclasses
import json
import pickle
from collections.abc import Callable
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest

NAN, INF = float("nan"), float("inf")

BUILDERS: dict[str, Callable[..., Any]] = {
    "Air": ha.Air,
    "LineElement": lambda **changes: ha.LineElement(**{"height_m": 0.3, **changes}),
    "Source": lambda **changes: ha.Source(
        **{"elements": [ha.LineElement(height_m=0.3)], **changes}
    ),
    "Cabinet": builders.cabinet,
    "FlyFrame": builders.frame,
    "BottomFrame": builders.bottom,
    "ClosingGear": builders.gear,
    "Piece": lambda **changes: ha.model.Piece(
        **{"name": "shackle", "mass_kg": 1.5, "at_m": (-0.3, 0.2), **changes}
    ),
    "Run": lambda **changes: ha.model.Run(
        **{"name": "cable", "mass_kg_m": 0.8, "x_m": -0.6, **changes}
    ),
    "Hang": lambda **changes: builders.hang(**{"splays_deg": [0.0, 1.0], **changes}),
    "SeatArea": builders.area,
    "Venue": builders.venue,
    "QuietPlace": lambda **changes: ha.model.QuietPlace(
        **{"name": "stage", "place_m": (1.0, 0.0, 1.5), "most_db": -6.0, **changes}
    ),
    "SightLine": lambda **changes: ha.model.SightLine(
        **{"name": "screen", "from_m": (30.0, 5.0), "to_m": (-2.0, 6.0), **changes}
    ),
    "Surface": lambda **changes: ha.Surface(
        **{
            "name": "wall",
            "profile_m": [(40.0, 0.0), (40.0, 9.0)],
            "across_m": [-5.0, 5.0],
            **changes,
        }
    ),
    "WantedLevel": lambda **changes: ha.model.WantedLevel(
        **{"area": "stalls", "level_db": [0.0, -3.0], **changes}
    ),
    "Goals": ha.Goals,
    "Site": ha.model.Site,
    "Neighbour": lambda **changes: ha.model.Neighbour(
        **{
            "name": "fill",
            "hang": builders.hang([0.0, 1.0]),
            "tilt_deg": 0.0,
            "top_m": 5.0,
            **changes,
        }
    ),
    "Study": builders.study,
}

# What each numeric field refuses besides NaN, infinities and a string.
ANY, NOT_NEGATIVE, ABOVE_ZERO = (), (-1.0,), (-1.0, 0.0)
NUMBERS: dict[str, dict[str, tuple[float, ...]]] = {
    "Air": {"temperature_c": (-300.0,), "humidity_percent": ABOVE_ZERO, "pressure_kpa": ABOVE_ZERO},
    "LineElement": {
        "height_m": ABOVE_ZERO,
        "x_m": ANY,
        "z_m": ANY,
        "gain_db": ANY,
        "delay_s": ANY,
        "curvature_deg": NOT_NEGATIVE,
        "low_hz": NOT_NEGATIVE,
        "high_hz": ABOVE_ZERO,
    },
    "Source": {"coverage_deg": ABOVE_ZERO, "max_level_db": ANY},
    "Cabinet": {
        "mass_kg": ABOVE_ZERO,
        "height_m": ABOVE_ZERO,
        "depth_m": ABOVE_ZERO,
        "width_m": ABOVE_ZERO,
        "hinge_x_m": ANY,
        "rear_pin_x_m": (0.0, 1.0),
        "rear_pin_inset_m": (-0.1, 0.3),
        "rear_height_m": ABOVE_ZERO,
    },
    "FlyFrame": {"mass_kg": NOT_NEGATIVE, "height_m": ABOVE_ZERO, "pick_z_m": ANY},
    "BottomFrame": {"mass_kg": NOT_NEGATIVE, "fixed_splay_deg": (-90.0, 90.0)},
    "ClosingGear": {
        "pitch_m": ABOVE_ZERO,
        "links": (-1, 0, 2.5),
        "hoist_min_m": ABOVE_ZERO,
        "hoist_max_m": (-1.0, 0.0, 0.3),
        "chain_mass_kg_m": NOT_NEGATIVE,
        "hoist_mass_kg": NOT_NEGATIVE,
        "bypass_mass_kg": NOT_NEGATIVE,
    },
    "Piece": {"mass_kg": NOT_NEGATIVE, "cabinet": (-1, 0, 1.5)},
    "Run": {"mass_kg_m": NOT_NEGATIVE, "x_m": ANY, "first": (-1, 0.5), "last": (-1, 0.5)},
    "Hang": {
        "open_limit_deg": (1.0, -90.0),
        "frame_splay_deg": (-90.0, 90.0),
        "gravity_m_s2": (9.6, 32.2),
    },
    "SeatArea": {
        "width_m": ABOVE_ZERO,
        "row_centre_x_m": (8.0, 20.0),
        "ear_height_m": NOT_NEGATIVE,
        "row_pitch_m": ABOVE_ZERO,
        "seat_pitch_m": ABOVE_ZERO,
        "places_across": (-1, 0, 1.5),
        "weight": NOT_NEGATIVE,
    },
    "Venue": {},
    "QuietPlace": {"most_db": ANY},
    "SightLine": {},
    "Surface": {},
    "WantedLevel": {},
    "Site": {"pan_deg": (-361.0, 361.0), "delay_s": ANY, "gain_db": (-301.0, 301.0)},
    "Neighbour": {"tilt_deg": (-91.0, 91.0), "top_m": ANY},
    "Goals": {
        "lowest_hz": (-1.0, 0.0, 10.0, 3e4),
        "highest_hz": (-1.0, 0.0, 200.0, 3e4),
        "level_price": (-1.0, 101.0),
        "roughness_price": (-1.0, 101.0),
        "off_seats_price": (-1.0, 101.0),
        "most_off_seats_db": ANY,
        "spectral_weight": NOT_NEGATIVE,
        "least_mean_db": ANY,
        "least_reach_db": ANY,
        "most_closing_force_n": ABOVE_ZERO,
        "most_mass_kg": ABOVE_ZERO,
        "building_stack": (-1, 0, 1.5),
    },
    "Study": {
        "splay_tolerance_deg": (-1.0, 11.0),
        "tilt_tolerance_deg": (-1.0, 11.0),
        "tilt_step_deg": ABOVE_ZERO,
        "top_step_m": ABOVE_ZERO,
        "min_trim_m": NOT_NEGATIVE,
        "hoist_limit_n": ABOVE_ZERO,
        "hoist_mass_kg": NOT_NEGATIVE,
        "dynamic_factor": (-1.0, 0.0, 0.9, 6.0),
        "roof_point_limit_n": ABOVE_ZERO,
        "fall_db_per_doubling": (-7.0, 7.0),
        "lines_per_band": (-1, 0, 25),
    },
}

# Fields that hold lists of numbers: a good list, the values refused in any place, and an example.
LISTS: dict[str, dict[str, list[Any]]] = {
    "Cabinet": {"cg_m": [-0.2, 0.0], "splay_positions_deg": [0.0, 1.0]},
    "FlyFrame": {
        "cg_m": [-0.2, 0.0],
        "pick_x_m": [0.1, -0.1],
        "chain_anchor_m": [-0.7, 0.0],
        "rear_pin_m": [-0.5, 0.05],
    },
    "BottomFrame": {
        "cg_m": [-0.2, 0.0],
        "chain_anchor_m": [-0.7, 0.0],
        "rear_pin_m": [-0.5, -0.05],
    },
    "ClosingGear": {"clutch_n": [1.0, 2.0]},
    "Piece": {"at_m": [-0.5, 0.1]},
    "Hang": {"splays_deg": [0.0, 1.0]},
    "SeatArea": {"width_m": [10.0, 10.0]},
    "QuietPlace": {"place_m": [1.0, 0.0, 1.5]},
    "SightLine": {"from_m": [30.0, 5.0], "to_m": [-2.0, 6.0]},
    "Surface": {"across_m": [-5.0, 5.0]},
    "WantedLevel": {"level_db": [0.0, -3.0]},
    "Site": {"position_m": [1.0, -2.0]},
    "Goals": {
        "cabinet_range": [1, 2],
        "gains_db": [-3.0, 0.0],
        "band_weight": [1.0] * 16,
    },
    "Study": {
        "tilt_range_deg": [-1.0, 1.0],
        "top_range_m": [7.0, 8.0],
        "pick_x_m": [0.0, -0.5],
    },
}

LIMITS = {
    "Cabinet": ["hinge_n", "rear_link_n", "stop_n"],
    "FlyFrame": ["total_n", "pick_n", "hinge_n", "rear_link_n", "stop_n", "chain_n"],
    "BottomFrame": ["chain_n"],
    "ClosingGear": ["chain_n", "hoist_n"],
}

NOT_NUMBERS = (NAN, INF, -INF, "twelve")
SINGLE = [
    (kind, field, value)
    for kind, fields in NUMBERS.items()
    for field, refused in fields.items()
    for value in (*NOT_NUMBERS, *refused)
]
LISTED = [
    (kind, field, place, value)
    for kind, fields in LISTS.items()
    for field, example in fields.items()
    for place in range(len(example))
    for value in NOT_NUMBERS
]
LIMITED = [
    (kind, field, value)
    for kind, fields in LIMITS.items()
    for field in fields
    for value in (*NOT_NUMBERS, -1.0, 0.0)
]


def assert_names(error: ha.InputError, field: str, value: Any) -> None:
    assert error.field.startswith(field)
    assert error.allowed
    assert field in str(error)
    same = error.value == value or (value != value and error.value != error.value)
    assert same, f"the error's value {error.value!r} is not {value!r}"


@pytest.mark.parametrize(("kind", "field", "value"), SINGLE)
def test_a_bad_number_is_refused_by_name(kind: str, field: str, value: Any) -> None:
    with pytest.raises(ha.InputError) as caught:
        BUILDERS[kind](**{field: value})
    assert_names(caught.value, field, value)


@pytest.mark.parametrize(("kind", "field", "place", "value"), LISTED)
def test_a_bad_number_in_a_list_is_refused_by_place(
    kind: str, field: str, place: int, value: Any
) -> None:
    numbers = list(LISTS[kind][field])
    numbers[place] = value
    with pytest.raises(ha.InputError) as caught:
        BUILDERS[kind](**{field: numbers})
    assert_names(caught.value, field, value)
    assert f"[{place}]" in caught.value.field


@pytest.mark.parametrize(("kind", "field", "value"), LIMITED)
def test_a_bad_limit_is_refused_by_name(kind: str, field: str, value: Any) -> None:
    with pytest.raises(ha.InputError) as caught:
        BUILDERS[kind](limits={field: value})
    assert_names(caught.value, f"limits.{field}", value)


@pytest.mark.parametrize("place", [0, 1])
@pytest.mark.parametrize("value", NOT_NUMBERS)
def test_a_bad_corner_of_a_floor_line_is_refused(place: int, value: Any) -> None:
    corner = [20.0, 1.0]
    corner[place] = value
    with pytest.raises(ha.InputError) as caught:
        builders.area(profile_m=[(8.0, 0.0), corner])
    assert_names(caught.value, f"profile_m[1][{place}]", value)


def test_every_numeric_field_of_every_type_is_in_the_tables() -> None:
    not_numeric = {
        *("name", "splay_positions_deg", "source", "limits", "elements", "inverted", "frame"),
        *("goals", "quiet_places", "sight_lines", "outline_m", "measure", "over", "wanted", "area"),
        *(
            "off_seats_m",
            "more_airs",
            "rear_outline_m",
            "pieces",
            "runs",
            "on",
            "hoist_end",
            "surfaces",
            "floors_block",
            "hidden_seats",
            "polygon_m",
        ),
        *("cabinets", "rigging", "bottom", "gear", "areas", "hang", "venue", "air", "profile_m"),
        *("balloon", "coverage_hz_deg", "max_level_hz_db", "feed", "site", "twin", "beside"),
        *("serves",),
    }
    for kind in BUILDERS:
        fields = {f.name for f in dataclasses.fields(getattr(ha.model, kind))} - not_numeric
        tested = set(NUMBERS[kind]) | set(LISTS.get(kind, {}))
        assert fields <= tested, kind


def test_a_part_of_the_wrong_type_is_refused_by_name() -> None:
    with pytest.raises(ha.InputError, match=r"cabinets\[1\]"):
        builders.hang([0.0], cabinets=[builders.cabinet(), "cabinet"])
    with pytest.raises(ha.InputError, match="frame"):
        builders.hang([0.0], frame=None)
    with pytest.raises(ha.InputError, match="rigging"):
        builders.hang([0.0], rigging="glue")


def test_a_splay_that_is_no_position_names_the_positions() -> None:
    with pytest.raises(ha.InputError) as caught:
        builders.hang([0.0, 0.7])
    assert caught.value.field == "splays_deg[1]"
    assert "0.5" in caught.value.allowed


def test_a_position_of_the_other_rigging_kind_is_refused() -> None:
    two_kinds = builders.cabinet(
        splay_positions_deg={"tension": [0.0, 0.5], "compression": [0.0, 1.0]}
    )
    builders.hang([0.5], cabinets=[two_kinds] * 2)
    with pytest.raises(ha.InputError, match="compression positions"):
        builders.hang([0.5], "compression", cabinets=[two_kinds] * 2)


@pytest.mark.parametrize(
    "build", [lambda: builders.hang([0.5, 2.0], "compression"), builders.study]
)
def test_json_and_pickle_give_the_same_value_back(build: Callable[[], Any]) -> None:
    value = build()
    assert type(value).from_json(value.to_json()) == value
    assert pickle.loads(pickle.dumps(value)) == value


def test_json_keeps_every_bit_of_a_number() -> None:
    rng = np.random.default_rng(5)
    for number in rng.uniform(1e-3, 1e3, 200):
        air = ha.Air(pressure_kpa=number / 10)
        assert ha.Air.from_json(air.to_json()).pressure_kpa == number / 10


def test_json_refuses_unknown_fields_versions_and_kinds_by_name() -> None:
    data = json.loads(builders.hang([0.0]).to_json())
    data["value"]["frame"]["colour"] = "red"
    with pytest.raises(ha.InputError) as caught:
        ha.Hang.from_json(json.dumps(data))
    assert caught.value.field == "frame.colour"
    with pytest.raises(ha.InputError, match="version"):
        ha.Hang.from_json('{"kind": "hang", "version": 99, "value": {}}')
    with pytest.raises(ha.InputError, match="kind"):
        ha.Venue.from_json(builders.hang([0.0]).to_json())
    with pytest.raises(ha.InputError, match="json"):
        ha.Hang.from_json("not json")


def test_a_missing_field_of_a_file_is_named() -> None:
    data = json.loads(builders.hang([0.0]).to_json())
    del data["value"]["cabinets"][1]["mass_kg"]
    with pytest.raises(ha.InputError, match=r"cabinets\[1\].mass_kg"):
        ha.Hang.from_json(json.dumps(data))


def test_numpy_numbers_and_arrays_are_accepted() -> None:
    hang = builders.hang(list(np.array([0.5, 1.0])), open_limit_deg=np.float32(-2.0))
    assert hang.splays_deg == (0.5, 1.0)
    assert hang.open_limit_deg == -2.0
    assert builders.gear(links=np.int64(12)).links == 12


@pytest.mark.parametrize(
    ("height_m", "depth_m", "hinge_x_m", "most_deg"),
    # Each box can give no more than its whole half height over its depth: by hand, twice the
    # wedge's half angle, for hinges on the front face.
    [(0.34, 0.60, 0.0, 2 * np.degrees(np.arctan(0.17 / 0.60))), (0.5, 0.4, 0.0, 64.0)],
)
def test_boxes_pinned_into_each_other_are_refused_by_name(
    height_m: float, depth_m: float, hinge_x_m: float, most_deg: float
) -> None:
    positions = [0.0, 10.0, 25.0, 31.0, 33.0, 45.0]
    box = builders.cabinet(
        height_m=height_m,
        depth_m=depth_m,
        hinge_x_m=hinge_x_m,
        splay_positions_deg=positions,
    )
    for splay_deg in positions:
        if splay_deg <= most_deg:
            builders.hang([0.0, splay_deg], cabinets=[box] * 3)
            continue
        with pytest.raises(ha.InputError, match="into each other") as refused:
            builders.hang([0.0, splay_deg], cabinets=[box] * 3)
        assert refused.value.field == "splays_deg[1]"
        assert refused.value.value == splay_deg


def test_the_overlap_told_is_the_one_worked_out_by_hand() -> None:
    """45° at rectangular boxes of 0.34 by 0.6 m: by hand, wedges of 15.82° overlap by 13.36°."""
    box = builders.cabinet(height_m=0.34, depth_m=0.6, splay_positions_deg=[0.0, 45.0])
    half = np.arctan(0.17 / 0.6)
    # The line from the shared hinge to the upper box's rear point, and the lower box's rear point
    # beyond it: its distance from that line.
    beyond_m = np.hypot(0.17, 0.6) * np.sin(np.radians(45.0) - 2 * half)
    with pytest.raises(ha.InputError, match=f"reach {beyond_m * 1e3:.0f} mm into each other"):
        builders.hang([45.0], cabinets=[box] * 2)


@pytest.mark.parametrize("kind", LIMITS)
def test_the_keys_of_limits_stand_in_the_reference(kind: str) -> None:
    for key in LIMITS[kind]:
        assert f"``{key}``" in (getattr(ha, kind).__doc__ or "")
