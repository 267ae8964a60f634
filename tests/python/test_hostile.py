"""Inputs that ended the process, hung, or went by in silence: each is refused or answered now."""

from __future__ import annotations

import copy
import json
import os
import pickle
import random
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest

HANG = builders.hang([1.0] * 4)
POINTS_M = [[20.0, 0.0, 1.2], [30.0, 2.0, 1.2]]


def refused(call: Callable[[], Any], message: str) -> None:
    with pytest.raises(ha.InputError) as caught:
        call()
    assert str(caught.value) == message


# --- sizes -----------------------------------------------------------------------------------


@pytest.mark.parametrize("step", [1e-5, 1e-12, 1e-30])
def test_a_grid_of_too_many_steps_is_refused(step: float) -> None:
    refused(
        lambda: builders.study(top_range_m=(6.0, 10.0), top_step_m=step),
        f"top_step_m = {step}: allowed is at least 0.002, "
        "so that the range takes at most 2000 steps",
    )
    refused(
        lambda: builders.study(tilt_range_deg=(-6.0, 6.0), tilt_step_deg=step),
        f"tilt_step_deg = {step}: allowed is at least 0.006, "
        "so that the range takes at most 2000 steps",
    )


def test_a_budget_of_time_holds_for_the_largest_grid() -> None:
    study = builders.study(
        hang=builders.hang([1.0] * 11),
        top_range_m=(6.0, 10.0),
        top_step_m=0.002,
        tilt_range_deg=(-8.0, 8.0),
        tilt_step_deg=0.008,
        pick_x_m=(0.2, -0.8),
    )
    begun = time.process_time()
    ha.optimise_splays(study, budget_s=0.1)
    assert time.process_time() - begun < 5.0


def test_a_chain_of_too_many_links_is_refused() -> None:
    refused(
        lambda: builders.gear(links=4_294_967_295, pitch_m=1e-10),
        "links = 4294967295: allowed is a whole number from 1 to 100000",
    )


def test_a_scatter_that_fits_no_memory_is_refused() -> None:
    with pytest.raises(ha.InputError, match="memory that is free") as caught:
        ha.suspension.hoist_scatter(
            points_m=np.random.default_rng(1).uniform(0.0, 5.0, (20_000, 2)),
            mass_kg=[60.0],
            cg_m=[[2.5, 2.5]],
            stiffness_n_m=4e5,
            cases=20_000_000,
        )
    assert caught.value.field == "cases"


def test_a_field_that_fits_no_memory_is_refused() -> None:
    receivers = np.full((10_000_000, 3), 20.0)
    with pytest.raises(ha.InputError, match="memory that is free") as caught:
        ha.pressure(HANG, 0.0, 8.0, receivers, np.linspace(100.0, 1000.0, 100_000))
    assert caught.value.field == "receivers_m"
    assert caught.value.value == "10000000 receivers at 100000 frequencies"


def test_a_stock_of_too_many_combinations_is_refused() -> None:
    def made(**stock: Any) -> ha.suspension.MadeBridle:
        given = {"load_n": 1e3, "steels_m": [0.5, 1.0], "pitch_m": 0.03, "most_links": 9}
        return ha.suspension.bridle_from_stock(
            [(0.0, 10.0), (4.0, 10.0)], (2.0, 8.0), **{**given, **stock}
        )

    refused(lambda: made(most_steels=2**40), "most_steels = 1099511627776: allowed is at most 20")
    refused(
        lambda: made(most_links=2**62),
        "most_links = 4611686018427387904: allowed is few enough that a leg has at most "
        "2000000 combinations",
    )
    refused(
        lambda: made(steels_m=np.arange(1, 100_000) * 0.01, most_steels=3),
        "most_steels = 3: allowed is few enough that a leg has at most 2000000 combinations",
    )


def test_a_venue_of_too_many_places_is_refused() -> None:
    area = builders.area(row_pitch_m=0.001, places_across=1000)
    refused(
        lambda: builders.venue(areas=[area]),
        "areas[0].places_across = 1000: allowed is few enough that the venue has at most "
        "2000000 places",
    )


def test_a_beam_takes_many_loads_in_linear_time() -> None:
    loads = [(x, 1.0) for x in np.linspace(0.0, 20.0, 20_000)]
    begun = time.process_time()
    beam = ha.beam(20.0, [0.0, 10.0, 20.0], loads, 1e6)
    assert time.process_time() - begun < 5.0
    assert beam.reaction_n.sum() == pytest.approx(20_000.0, rel=1e-12)
    # A load every millimetre is as good as a uniform one: 5/4 q l over the middle support.
    assert beam.reaction_n[1] == pytest.approx(1.25 * 1000.0 * 10.0, rel=1e-3)
    # The bending moment over it is -q l^2/8, from the reactions and from the curve alike.
    assert beam.moment_nm([10.0])[0] == pytest.approx(-1000.0 * 100.0 / 8.0, rel=1e-3)
    refused(
        lambda: ha.beam(20.0, np.linspace(0.0, 20.0, 5000), [], 1e6),
        "supports_m = 5000 of them: allowed is at most 200",
    )


# --- Ctrl-C ----------------------------------------------------------------------------------


def interrupted(script: str) -> list[str]:
    begin = """
        import signal, builders, hangarc as ha
        study = builders.study(
            hang=builders.hang([0.0] * 31), tilt_range_deg=(-8.0, 8.0), tilt_step_deg=0.02,
            pick_x_m=(0.2, -0.8), lines_per_band=24,
        )
        def ask(evaluations):
            signal.raise_signal(signal.SIGINT)
    """
    run = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(begin) + textwrap.dedent(script)],
        cwd=os.path.dirname(__file__),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return run.stdout.split()


def test_ctrl_c_ends_a_loop_of_searches_and_keeps_the_best_so_far() -> None:
    searches, status, joints = interrupted("""
        done = 0
        try:
            while True:
                ha.optimise_splays(study, progress=ask)
                done += 1
        except KeyboardInterrupt as interrupt:
            print(done, interrupt.best.ended, len(interrupt.best.splays_deg))
    """)
    assert (searches, status, joints) == ("0", "interrupted", "31")


@pytest.mark.parametrize(
    "call", ["ha.answer(study, progress=ask)", "ha.search.trade_off(study, progress=ask)"]
)
def test_ctrl_c_leaves_no_answer_of_half_a_search(call: str) -> None:
    (kind,) = interrupted(f"""
        try:
            {call}
        except KeyboardInterrupt as interrupt:
            print(type(interrupt.best).__name__)
    """)
    assert kind == ("Rows" if "trade_off" in call else "SearchResult")


# --- copies ----------------------------------------------------------------------------------


def measured() -> ha.Rig:
    response = np.exp(1j * np.arange(18.0)).reshape(2, 3, 3)
    balloon = ha.acoustics.Balloon(
        [500.0, 1000.0], [-90.0, 0.0, 90.0], [-90.0, 0.0, 90.0], response
    )
    return ha.Rig(hangs=[ha.Placed(hang=HANG, tilt_deg=-2.0, top_m=8.0, balloon=balloon)])


@pytest.mark.parametrize(
    "copied", [copy.deepcopy, copy.copy, lambda rig: pickle.loads(pickle.dumps(rig))]
)
def test_a_rig_with_measured_cabinets_can_be_copied(copied: Callable[[ha.Rig], ha.Rig]) -> None:
    rig = measured()
    (placed,) = copied(rig).hangs
    again = ha.Rig(hangs=[ha.Placed(**{**vars(placed), "balloon": copied(placed.balloon)})])
    expected = ha.acoustics.pressure(rig, receivers_m=POINTS_M, frequency_hz=[700.0])
    assert np.array_equal(
        ha.acoustics.pressure(copied(rig), receivers_m=POINTS_M, frequency_hz=[700.0]), expected
    )
    assert np.array_equal(
        ha.acoustics.pressure(again, receivers_m=POINTS_M, frequency_hz=[700.0]), expected
    )


# --- switches and arrays ---------------------------------------------------------------------

SWITCHES: dict[str, Callable[[Any], Any]] = {
    "inverted": lambda v: ha.LineElement(height_m=0.3, inverted=v),
    "closed": lambda v: ha.wind_loads(
        builders.hang([1.0] * 2, "compression"),
        0.0,
        [0.2, -0.8],
        ha.Wind(speed_m_s=10.0),
        top_m=8.0,
        closed=v,
    ),
    "only_pull": lambda v: ha.beam(4.0, [0.0, 4.0], [], 1e6, self_weight_n_m=1.0, only_pull=v),
    "prove": lambda v: ha.optimise_splays(builders.study(), prove=v, budget_evaluations=1),
}


@pytest.mark.parametrize("name", SWITCHES)
@pytest.mark.parametrize("value", ["False", "", 0, 1, None, [], np.int64(1)])
def test_a_switch_takes_true_or_false_and_nothing_else(name: str, value: Any) -> None:
    text = "; this is text" if isinstance(value, str) else ""
    refused(lambda: SWITCHES[name](value), f"{name} = {value}: allowed is True or False{text}")
    SWITCHES[name](np.bool_(False))


LOSSY: dict[str, Any] = {
    "text": [["20", "0", "1"]],
    "text as an array": np.array([["20", "0", "1"]]),
    "bytes": b"20",
    "truth values": [[True, True, False]],
    "truth values as an array": np.array([[True, True, False]]),
    "a truth value among numbers": [[20.0, True, 1.0]],
    "NumPy's truth value among numbers": [[20.0, np.True_, 1.0]],
    "a truth value among objects": np.array([[20.0, True, 1.0]], dtype=object),
    "complex numbers": np.array([[20.0 + 5.0j, 0.0, 1.0]]),
    "a complex number among numbers": [[20.0, 0.0j, 1.0]],
    "dates": np.array([["2026-01-01", "2026-01-02", "2026-01-03"]], dtype="datetime64[D]"),
    "time spans": np.array([[1, 2, 3]], dtype="timedelta64[s]"),
    "a mask": np.ma.array([[20.0, 0.0, 1.0]], mask=[[True, False, False]]),
    "a masked row in a list": [np.ma.array([20.0, 0.0, 1.0], mask=[True, False, False])],
    "a record": np.zeros((1, 3), dtype=[("x", float)]),
    "a set": {1.0, 2.0, 3.0},
    "a mapping": {"x": 1.0},
    "ragged rows": [[1.0, 2.0, 3.0], [1.0]],
    "None": None,
    "None among numbers": [[20.0, None, 1.0]],
}


@pytest.mark.parametrize("kind", LOSSY)
def test_an_array_loses_nothing_on_its_way_in(kind: str) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.pressure(HANG, 0.0, 8.0, LOSSY[kind], [1000.0])
    assert caught.value.field == "receivers_m"
    assert str(caught.value).endswith("allowed is an array of numbers")


class Liar:
    """Says it is a number or an array, and fails when asked for it."""

    def __array__(self, *_: Any, **__: Any) -> Any:
        raise RuntimeError("no array at all")

    def __float__(self) -> float:
        raise RuntimeError("no number at all")

    __index__ = __int__ = __len__ = __float__

    def __str__(self) -> str:
        raise RuntimeError("no text at all")

    __repr__ = __str__


class LyingFloat(float):
    def __float__(self) -> float:
        raise RuntimeError("no number at all")


def test_objects_that_lie_are_refused_with_one_clear_error() -> None:
    refused(
        lambda: ha.pressure(HANG, 0.0, 8.0, Liar(), [1000.0]),
        "receivers_m = a Liar: allowed is an array of numbers",
    )
    refused(lambda: ha.pose(HANG, Liar()), "tilt_deg = a Liar: allowed is a number")
    refused(lambda: ha.pose(HANG, LyingFloat(1.0)), "tilt_deg = 1.0: allowed is a number")
    refused(
        lambda: ha.close(builders.hang([1.0] * 2, "compression"), 0.0, steps=Liar()),
        "steps = a Liar: allowed is a whole number of at least 0",
    )


@pytest.mark.parametrize(
    "alike",
    [
        lambda a: a.astype(">f8"),
        lambda a: a.astype(np.float32),
        lambda a: np.asfortranarray(a),
        lambda a: np.repeat(a, 2, axis=0)[::2],
        lambda a: a[:, ::-1][:, ::-1],
        lambda a: a.astype(object),
        lambda a: a.astype(np.longdouble),
        lambda a: a.astype(int).tolist(),
        lambda a: np.ma.array(a),
        lambda a: memoryview(a),
    ],
)
def test_an_array_in_another_form_gives_the_same_answer(alike: Callable[[Any], Any]) -> None:
    points = np.array([[20.0, 0.0, 1.0], [30.0, 2.0, 1.0]])
    points.flags.writeable = False
    expected = ha.pressure(HANG, 0.0, 8.0, points, [1000.0])
    assert np.array_equal(ha.pressure(HANG, 0.0, 8.0, alike(points), [1000.0]), expected)


@pytest.mark.parametrize(
    ("build", "field", "allowed"),
    [
        (lambda v: builders.cabinet(mass_kg=v), "mass_kg", "a number"),
        (lambda v: builders.cabinet(cg_m=(v, 0.0)), "cg_m[0]", "a number"),
        (lambda v: builders.cabinet(name=v), "name", "a string"),
        (lambda v: builders.cabinet(limits={"hinge_n": v}), "limits.hinge_n", "a number"),
        (lambda v: builders.gear(links=v), "links", "a whole number of at least 0"),
    ],
)
def test_a_truth_value_is_no_number_of_a_record(build: Any, field: str, allowed: str) -> None:
    refused(lambda: build(True), f"{field} = True: allowed is {allowed}")


# --- files and messages ----------------------------------------------------------------------


def test_a_message_is_short_whatever_was_given() -> None:
    study = builders.study()
    refused(lambda: ha.pose(study, 0.0), "hang = a Study: allowed is a Hang")
    with pytest.raises(ha.InputError) as caught:
        ha.pose(HANG, 0.0, list(range(10_000)))
    assert len(str(caught.value)) < 250
    assert caught.value.value == list(range(10_000))


def test_a_number_that_the_core_refuses_is_given_back_as_it_was() -> None:
    hang, points = builders.hang([0.0, 1.0]), [(20.0, 0.0, 1.2), (0.0, 0.0, 8.0)]
    for call, field, value in (
        (lambda: ha.pose(hang, np.float32(91.5)), "tilt_deg", np.float32(91.5)),
        (lambda: ha.pose(hang, [0.0, 91.5]), "tilt_deg[1]", 91.5),
        (lambda: ha.pose(hang, 0.0, splays_deg=[0.0, 95.0]), "splays_deg[1]", 95.0),
        (lambda: ha.statics.part_loads(hang, 0.0, 0.0, dynamic_factor=9), "dynamic_factor", 9),
        (lambda: ha.pressure(hang, 0.0, 8.0, points, [1e3, -2.0]), "frequency_hz[1]", -2.0),
    ):
        with pytest.raises(ha.InputError) as caught:
            call()
        assert caught.value.field == field
        assert type(caught.value.value) is type(value)
        assert caught.value.value == value


def test_json_that_is_no_text_is_refused() -> None:
    text = HANG.to_json()
    refused(lambda: ha.Hang.from_json(b"{}"), "json = b'{}': allowed is a string")
    refused(lambda: ha.Hang.from_json(None), "json = None: allowed is a string")
    long = text + " " * (64 * 2**20)
    refused(
        lambda: ha.Hang.from_json(long),
        f"json = {len(long)} bytes: allowed is at most 67108864 bytes",
    )


def test_a_field_given_twice_is_refused_by_name() -> None:
    text = builders.study().to_json()
    once = '"mass_kg": 75.0'
    doubled = text.replace(once, f"{once}, {once}", 1)
    refused(
        lambda: ha.Study.from_json(doubled),
        "hang.frame.mass_kg = given twice: allowed is one value",
    )
    doubled = text.replace('"name"', '"name": "one", "name"', 1)
    with pytest.raises(ha.InputError, match="given twice: allowed is one value"):
        ha.Study.from_json(doubled)
    doubled = text.replace('"version": 2', '"version": 2, "version": 2', 1)
    with pytest.raises(ha.InputError, match="version = given twice: allowed is one value"):
        ha.Study.from_json(doubled)


DOCUMENTS = [
    (ha.Job, ha.Job(project="one").to_json(), "job"),
    (ha.uncertainty.Tolerances, ha.uncertainty.Tolerances(cg_m=0.01).to_json(), "tolerances"),
    (ha.Answer, None, "answer"),
    (ha.survey.Readings, None, "readings"),
]


@pytest.mark.parametrize(("kind", "text", "name"), DOCUMENTS)
def test_documents_of_the_face_are_read_whole_or_refused(
    kind: Any, text: str | None, name: str
) -> None:
    if text is None:
        answer = ha.evaluate(builders.study(hang=builders.hang([1.0]), lines_per_band=1))
        text = answer.to_json() if name == "answer" else ha.survey.blank_readings(answer).to_json()
    allowed = f"allowed is a hangarc document of kind '{name}'"
    refused(
        lambda: kind.from_json(text.replace('"version"', '"version": 9, "version"', 1)),
        f"json = 'version' stands twice: {allowed}",
    )
    inside = '"value": {'
    refused(
        lambda: kind.from_json(text.replace(inside, f'{inside}"a": 1, "a": 2, ', 1)),
        f"json = 'a' stands twice: {allowed}",
    )
    refused(lambda: kind.from_json(5), "json = 5: allowed is a string")
    refused(lambda: kind.from_json(b"{}"), "json = b'{}': allowed is a string")
    refused(
        lambda: kind.from_json("[" * 200_000),
        "json = brackets nested too deeply: allowed is fewer within each other",
    )
    newer = text.replace(f'"kind": "{name}", "version": ', f'"kind": "{name}", "version": 9', 1)
    newer = newer.replace('"version": 1,', '"version": 91,', 1)
    with pytest.raises(ha.InputError, match=r"version = 9\d: allowed is \d"):
        kind.from_json(newer)
    for cut in range(0, len(text) - 2, max(len(text) // 40, 1)):
        with pytest.raises(ha.InputError):
            kind.from_json(text[:cut])


def test_a_list_in_the_place_of_a_record_is_refused() -> None:
    """`[]` was read as a record of nothing but defaults, a list as fields in their order."""
    refused(
        lambda: ha.Air.from_json('{"kind": "air", "version": 1, "value": []}'),
        "value = a list: allowed is fields by their names",
    )
    refused(
        lambda: ha.Air.from_json('{"kind": "air", "version": 1, "value": [20.0, 50.0, 100.0]}'),
        "value = a list: allowed is fields by their names",
    )
    with pytest.raises(ha.InputError, match="json = a list: allowed is fields by their names"):
        ha.Air.from_json('["air", 1, {}]')
    document = json.loads(builders.study().to_json())
    document["value"]["goals"] = []
    refused(
        lambda: ha.Study.from_json(json.dumps(document)),
        "goals = a list: allowed is fields by their names",
    )
    document["value"]["goals"] = {}
    document["value"]["hang"]["cabinets"][0]["source"] = [[]]
    refused(
        lambda: ha.Study.from_json(json.dumps(document)),
        "hang.cabinets[0].source = a list: allowed is fields by their names",
    )
    with pytest.raises(ha.InputError, match="trailing characters"):
        ha.Air.from_json(ha.Air().to_json() + "]")


def test_a_newer_version_is_refused_by_a_clear_message() -> None:
    text = HANG.to_json()
    refused(
        lambda: ha.Hang.from_json(text.replace('"version": 1', '"version": 2')),
        "version = 2: allowed is at most 1; a newer hangarc wrote this",
    )
    refused(
        lambda: ha.Hang.from_json(text.replace('"version": 1', '"version": 0')),
        "version = 0: allowed is 1 to 1",
    )


def test_a_file_cut_short_anywhere_is_refused() -> None:
    text = HANG.to_json()
    for length in range(0, len(text) - 1, 97):
        with pytest.raises(ha.InputError) as caught:
            ha.Hang.from_json(text[:length])
        assert caught.value.field == "json"


def test_json_with_one_byte_changed_is_refused_or_read_whole() -> None:
    text = builders.study().to_json()
    draw = random.Random(5)
    for _ in range(300):
        place = draw.randrange(len(text))
        edited = text[:place] + draw.choice('"{}[],:.-e0 9ax\\') + text[place + 1 :]
        try:
            read = ha.Study.from_json(edited)
        except ha.InputError:
            continue
        assert json.loads(read.to_json())["value"].keys() == json.loads(text)["value"].keys()


def mutated(content: bytes, draw: random.Random) -> bytes:
    """Cut short, or with some bytes changed, taken out or put in."""
    if draw.random() < 0.3:
        return content[: draw.randrange(len(content))]
    edited = bytearray(content)
    for _ in range(draw.randint(1, 8)):
        place = draw.randrange(len(edited))
        match draw.randrange(3):
            case 0:
                edited[place] = draw.randrange(256)
            case 1:
                del edited[place : place + draw.randint(1, 40)]
            case _:
                edited[place:place] = draw.choice(
                    [b"0\n", b"\n", b"-1e400", b"nan", b"\xff", b",,"]
                )
    return bytes(edited)


def test_a_broken_drawing_is_refused_and_nothing_else(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("CRITICAL", logger="ezdxf")  # it logs what no encoding can write
    path = tmp_path / "hall.dxf"
    ha.io.dxf.write_section(path, builders.venue())
    whole = path.read_bytes()
    (layer,) = (area.name for area in builders.venue().areas)
    draw = random.Random(7)
    for content in [whole[:100], *(mutated(whole, draw) for _ in range(60))]:
        path.write_bytes(content)
        try:
            venue = ha.io.dxf.read_venue(path, {layer: {"width_m": [10.0, 10.0]}})
        except ha.InputError:
            continue
        assert isinstance(venue, ha.Venue)


def test_a_broken_table_is_refused_and_nothing_else(tmp_path: Path) -> None:
    rows = ["frequency_hz,azimuth_deg,elevation_deg,level_db,phase_deg"]
    rows += [
        f"{frequency},{azimuth},{elevation},-3.5,20"
        for frequency in (500, 1000)
        for azimuth in (-90, 0, 90)
        for elevation in (-45, 0, 45)
    ]
    whole = "\n".join(rows).encode()
    path = tmp_path / "balloon.csv"
    draw = random.Random(3)
    for content in [b"", rows[0].encode(), whole, *(mutated(whole, draw) for _ in range(400))]:
        path.write_bytes(content)
        try:
            balloon = ha.io.balloon.read_balloon_csv(path)
        except ha.InputError:
            continue
        assert np.isfinite(balloon.response).all()


def test_rows_of_tilts_of_unlike_length_are_refused() -> None:
    """NumPy's own ValueError came through."""
    for call in (ha.joint_loads, ha.pick_for_tilt, lambda *a: ha.hoist_loads(*a, [0.2, -0.8])):
        with pytest.raises(ha.InputError) as caught:
            call(HANG, [[0.0, 0.0], [0.0, 0.0, 0.0]])
        assert caught.value.field.startswith("tilt_deg")


def test_readings_that_are_no_list_are_refused() -> None:
    refused(
        lambda: ha.survey.compare_with_plan(HANG, 0.0, 5),
        "readings = 5: allowed is a list of AngleReading and LoadReading",
    )


# --- found by fuzzing ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: ha.acoustics.weighted_level_db(5), "levels = 5: allowed is a PointLevels or"),
        (lambda: ha.acoustics.headroom_db(5, 90.0), "levels = 5: allowed is a PointLevels or"),
        (
            lambda: ha.closing.closing_stages(
                builders.hang([1.0], "compression"), 0.0, available_n=1e3, cabinets=5
            ),
            "cabinets = 5: allowed is a list",
        ),
        (lambda: ha.survey.blank_readings(5), "answer = 5: allowed is an Answer"),
        (lambda: ha.io.roof_plot.roof_table(5), "points = 5: allowed is a list of RoofPoint"),
        (lambda: ha.io.roof_plot.roof_table_csv(5), "points = 5: allowed is a list of RoofPoint"),
        (
            lambda: ha.io.roof_plot.bridle_points(5, [], []),
            "bridle = 5: allowed is a Bridle",
        ),
        (
            lambda: ha.sweeps.venues("fan", 1, ranges=5),
            "ranges = 5: allowed is a mapping of measures to (lowest, highest)",
        ),
        (lambda: ha.sweeps.venues([], 1), "kind = []: allowed is one of shoebox"),
    ],
)
def test_what_is_of_another_kind_is_refused_by_name(call: Any, message: str) -> None:
    with pytest.raises(ha.InputError) as caught:
        call()
    assert str(caught.value).startswith(message)


def test_as_many_wanted_levels_as_places() -> None:
    loud = builders.cabinet(
        source=ha.Source(elements=[ha.LineElement(height_m=0.34)], max_level_db=135.0)
    )
    hang = builders.hang([1.0], cabinets=[loud] * 2)
    rig = ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=0.0, top_m=8.0)])
    levels = ha.acoustics.point_levels(rig, POINTS_M)
    assert ha.acoustics.headroom_db(levels, [90.0, 95.0]).shape == (2,)
    refused(
        lambda: ha.acoustics.headroom_db(levels, [90.0] * 3),
        "wanted_db = [90.0, 90.0, 90.0]: allowed is one number or 2",
    )


def test_a_map_of_no_places_is_empty() -> None:
    rig = ha.Rig(hangs=[ha.Placed(hang=HANG, tilt_deg=0.0, top_m=8.0)])
    found = ha.acoustics.level_map(rig, [], y_m=[0.0, 1.0])
    assert found.level_db.shape == (2, 0)


@pytest.mark.parametrize("value", ["0.0", '"text"', "null"])
def test_a_document_that_holds_something_else_says_where(value: str) -> None:
    """The message began with nothing: ` = floating point …`."""
    with pytest.raises(ha.InputError) as caught:
        ha.Air.from_json(f'{{"kind": "air", "version": 1, "value": {value}}}')
    assert caught.value.field == "value"
    assert str(caught.value).startswith("value = ")
