"""Every public type goes to another process and comes back the same."""

from __future__ import annotations

import copy
import dataclasses
import inspect
import pickle
import zlib
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc._record import Result
from hangarc.survey.readings import KINDS as READING_KINDS


def inside(value: Any, found: dict[type, Any]) -> None:
    """Note the first of each public type that a value holds."""
    if type(value).__module__.startswith("hangarc") and type(value) not in found:
        found[type(value)] = value
    if dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            inside(getattr(value, field.name), found)
    elif isinstance(value, dict):
        inside(list(value.values()), found)
    elif isinstance(value, list | tuple):
        for item in value:
            inside(item, found)


def unchanged(study: ha.Study) -> ha.Study:
    return study


@pytest.fixture(scope="module")
def samples(demo_answer: ha.Answer) -> dict[type, Any]:
    study = demo_answer.study
    goals = ha.Goals(
        quiet_places=[ha.model.QuietPlace(name="stage", place_m=(-3.0, 0.0, 1.5), most_db=-6.0)],
        sight_lines=[ha.model.SightLine(name="screen", from_m=(20.0, 1.2), to_m=(0.0, 2.0))],
        cabinet_range=(2, 3),
    )
    small = builders.study(hang=builders.hang([1.0, 1.0]), goals=goals)
    search = ha.optimise_splays(small, budget_evaluations=200)
    hang, picks = study.hang, study.pick_x_m
    tension = builders.hang([1.0, 2.0])
    balloon = ha.acoustics.Balloon(
        [100.0, 1000.0], [0.0, 90.0], [-90.0, 0.0, 90.0], np.ones((2, 3, 2)) * 1j
    )
    rig = ha.Rig(hangs=[ha.Placed(hang=tension, tilt_deg=0.0, top_m=8.0, balloon=balloon)])
    levels = ha.acoustics.seat_levels(rig, venue=small.venue)
    square = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]
    anchors = [(-2.0, 0.0, 9.0), (2.0, 0.0, 9.0)]
    beam = ha.beam(8.0, [0.0, 8.0], [(4.0, 1000.0), (0.0, 8.0, 50.0)], ei_nm2=2e6)
    span = ha.suspension.SpanLimit(9.0, uniform_n_m=200.0, point_n=4000.0)
    wind = ha.Wind(speed_m_s=10.0)
    readings = [ha.survey.AngleReading(0, 0.1, 0.1), ha.survey.AngleReading(1, -1.0, 0.1)]
    values = [
        ha.work.Suspension(anchors=[ha.work.Anchor(name="A", place_m=(0.0, 0.0, 12.0))]),
        ha.model.Neighbour(name="fill", hang=tension, tilt_deg=0.0, top_m=5.0),
        ha.model.Site(position_m=(1.0, 2.0), feed="left"),
        ha.search.System(name="one", hangs=[small]),
        ha.model.WantedLevel(area="stalls", level_db=[0.0, -1.0]),
        ha.model.Piece(name="clamp", mass_kg=2.0, at_m=(0.0, 0.1)),
        ha.model.Run(name="cable", mass_kg_m=1.0, x_m=-0.6),
        ha.Surface(name="wall", profile_m=[(40.0, 0.0), (40.0, 9.0)]),
        ha.survey.Readings(
            hang="left", at_trim=[ha.survey.Reading(kind=READING_KINDS[0], number=0, value=1.0)]
        ),
        ha.uncertainty.Tolerances(tilt_deg=0.1),
        demo_answer,
        search,
        small,
        rig,
        levels,
        ha.acoustics.coverage(levels),
        ha.acoustics.point_levels(rig, [(10.0, 0.0, 1.2)]),
        ha.acoustics.level_map(rig, [10.0, 20.0], y_m=[0.0, 1.0]),
        ha.search.one_hole_table(study, demo_answer.hang, demo_answer.search.tilt_deg, 11.0)[0],
        ha.close(hang, 4.0),
        ha.close(demo_answer.hang, 4.0),
        ha.closing.rest_at_force(demo_answer.hang, 0.0, 2000.0),
        ha.closing.Snap(2.0, 500.0, 300.0, 4.0, 25.0),
        ha.shortening(demo_answer.hang, 0.0),
        ha.statics.build_up(hang, picks, tilt_deg=0.0),
        ha.closing.bypass(demo_answer.hang, 0.0),
        ha.closing.closing_remedies(demo_answer.hang, 0.0),
        ha.closing.closing_sensitivities(demo_answer.hang, 0.0, pick_x_m=picks),
        ha.closing.closing_spread(demo_answer.hang, 0.0, cases=10, mass_spread=0.01),
        ha.closing.closing_stages(demo_answer.hang, 0.0),
        ha.hanging_tilt(tension, -0.3),
        ha.pick_for_tilt(tension, 0.0),
        ha.joint_loads(tension, 0.0),
        ha.survey.compare_with_plan(tension, 0.0, readings),
        readings,
        ha.survey.LoadReading(0, 3000.0, 50.0),
        beam,
        beam.limits(moment_limit_nm=4000.0),
        beam.span_uses([span]),
        span,
        ha.suspension.PointLoad(4.0, 100.0),
        ha.suspension.DistributedLoad(0.0, 8.0, 50.0),
        ha.bridle(anchors, [4.0, 4.0], 5000.0),
        ha.suspension.bridle_from_stock(
            anchors,
            (0.0, 0.0, 6.0),
            load_n=5000.0,
            steels_m=[1.0, 1.5, 3.0],
            pitch_m=0.04,
            most_links=12,
        ),
        ha.suspension.heavy_leg(4.0, 2.0, weight_n_m=30.0, length_m=5.0),
        ha.rigid_hang(square, (1.0, 1.0), 1000.0),
        ha.suspension.hang_on_hoists(
            tension, 0.0, [(*xy, 9.0) for xy in square], position_m=(1.0, 1.0)
        ),
        ha.suspension.pan_hold(2.0, 2.0, 5.0, weight_n=5000.0, pan_deg=5.0),
        ha.suspension.hoist_scatter(square, [100.0], [(1.0, 1.0)], stiffness_n_m=4e5, cases=10),
        ha.suspension.combine_loads({"dead": [1.0, 2.0]}, {"one": {"dead": 1.5}}),
        wind,
        wind.at(9.0),
        ha.wind.WindShadow(-0.3, 9.1, 0.2, 1.5),
        ha.wind_loads(tension, 0.0, -0.3, wind, top_m=9.0),
        ha.wind.parts_in_wind(tension, 0.0, -0.3, wind, top_m=9.0),
        ha.suspension.hang_on_lines(tension, 0.0, [0.2, -0.8], 6.0, 1e6),
        ha.suspension.lift_off(tension, -0.3, [0.01], line_m=6.0, stiffness_n_m=1e6),
        ha.statics.forces_per_side(tension, 0.0),
        ha.sweeps.venues("arena", 2),
        ha.sweeps.Option("as it is", (("yes", unchanged),)),
        ha.report.Picture("section", "Section", "a line", "<svg/>"),
    ]
    found: dict[type, Any] = {}
    inside(values, found)
    return found


ROOMS = [getattr(ha, name) for name in ha.__all__ if inspect.ismodule(getattr(ha, name))]
PUBLIC = sorted(
    {
        kind
        for room in (ha, *ROOMS)
        for kind in (getattr(room, name) for name in getattr(room, "__all__", ()))
        if inspect.isclass(kind) and dataclasses.is_dataclass(kind)
    },
    key=lambda kind: kind.__name__,
)


def filled(kind: type) -> Any:
    """Fill a result that no calculation above gives with numbers; plain data must have a sample."""
    assert issubclass(kind, Result), "give it a sample"
    value = kind.__new__(kind)
    numbers = enumerate(dataclasses.fields(kind))
    value.__setstate__({field.name: np.array([number + 0.5]) for number, field in numbers})
    return value


def same(a: Any, b: Any) -> bool:
    if isinstance(a, np.ndarray):
        return bool(a.dtype == b.dtype and np.array_equal(a, b, equal_nan=a.dtype.kind in "fc"))
    if dataclasses.is_dataclass(a):
        names = [field.name for field in dataclasses.fields(a)]
        return type(a) is type(b) and all(same(getattr(a, n), getattr(b, n)) for n in names)
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(same(a[key], b[key]) for key in a)
    if isinstance(a, list | tuple):
        return type(a) is type(b) and len(a) == len(b) and all(map(same, a, b))
    return bool(a == b or (a != a and b != b))


@pytest.mark.parametrize("kind", PUBLIC, ids=lambda kind: kind.__name__)
def test_it_comes_back_the_same(kind: type, samples: dict[type, Any]) -> None:
    value = samples[kind] if kind in samples else filled(kind)
    for copied in (pickle.loads(pickle.dumps(value)), copy.deepcopy(value)):
        assert same(value, copied)


def editable(value: Any, path: str = "") -> list[str]:
    """Where a list, dict or array in `value` takes an edit."""
    if isinstance(value, np.ndarray):
        return [path] * bool(value.flags.writeable)
    if isinstance(value, dict):
        found = [place for key, item in value.items() for place in editable(item, f"{path}.{key}")]
        try:
            value["one more"] = None
        except TypeError:
            return found
        return [*found, path]
    if isinstance(value, list | tuple):
        found = [p for i, item in enumerate(value) for p in editable(item, f"{path}[{i}]")]
        return found if isinstance(value, tuple) or type(value) is not list else [*found, path]
    if dataclasses.is_dataclass(value):
        fields = [field.name for field in dataclasses.fields(value)]
        return [p for f in fields for p in editable(getattr(value, f), f"{path}.{f}")]
    return []


@pytest.mark.parametrize("kind", PUBLIC, ids=lambda kind: kind.__name__)
def test_nothing_in_it_can_be_edited(kind: type, samples: dict[type, Any]) -> None:
    value = samples[kind] if kind in samples else filled(kind)
    for one in (value, pickle.loads(pickle.dumps(value))):
        assert not editable(one, kind.__name__)
        for field in dataclasses.fields(kind)[:1]:
            with pytest.raises(dataclasses.FrozenInstanceError):
                setattr(one, field.name, None)
        hash(one)


@pytest.mark.parametrize("kind", PUBLIC, ids=lambda kind: kind.__name__)
def test_a_notebook_shows_it(kind: type, samples: dict[type, Any]) -> None:
    if kind not in samples:
        return  # filled with anything, so that no picture can be drawn of it
    html = samples[kind]._repr_html_()
    assert kind.__name__ in html
    assert "array(" not in html
    assert len(html) < 60_000


@pytest.mark.parametrize("kind", PUBLIC, ids=lambda kind: kind.__name__)
def test_its_repr_is_one_short_line(kind: type, samples: dict[type, Any]) -> None:
    text = repr(samples[kind] if kind in samples else filled(kind))
    assert text.startswith(kind.__name__)
    assert len(text) <= 300
    assert "\n" not in text


def test_lists_and_dicts_in_a_frozen_object_refuse_every_edit(samples: dict[type, Any]) -> None:
    limits = samples[ha.Cabinet].limits
    events = samples[ha.survey.PlanComparison].verdict
    for edit in (
        lambda: limits.update(stop_n=1.0),
        lambda: limits.pop("stop_n"),
        lambda: limits.clear(),
        lambda: limits.setdefault("hinge_n", 1.0),
        lambda: limits.__delitem__("stop_n"),
        lambda: limits.__ior__({"stop_n": 1.0}),
        lambda: events.append("consistent"),
        lambda: events.sort(),
        lambda: events.__setitem__(0, "consistent"),
        lambda: events.__iadd__(["consistent"]),
    ):
        with pytest.raises(TypeError, match="frozen"):
            edit()


def test_arrays_given_to_a_frozen_object_are_its_own() -> None:
    """An edit of the caller's array does not reach the object, nor the core behind it."""
    response, drive = np.ones((1, 1, 1), complex), np.ones(2, complex)
    balloon = ha.acoustics.Balloon([1000.0], [0.0], [0.0], response)
    placed = ha.Placed(hang=builders.hang([1.0]), tilt_deg=0.0, top_m=8.0, drive=drive)
    response[:] = drive[:] = 5.0
    assert np.all(np.asarray(balloon.response) == 1.0)
    assert np.all(np.asarray(placed.drive) == 1.0)


def test_copies_work_like_what_they_were_copied_from(samples: dict[type, Any]) -> None:
    rig = samples[ha.Rig]
    again = pickle.loads(pickle.dumps(rig))
    points = [(10.0, 1.0, 1.2)]
    before = ha.acoustics.pressure(rig, receivers_m=points, frequency_hz=[500.0])
    np.testing.assert_array_equal(
        ha.acoustics.pressure(again, receivers_m=points, frequency_hz=[500.0]), before
    )
    beam = samples[ha.suspension.Beam]
    assert pickle.loads(pickle.dumps(beam)).moment_nm(3.0) == beam.moment_nm(3.0)


@pytest.mark.parametrize("document", [ha.demo.study(), ha.demo.study().hang], ids=["study", "hang"])
def test_a_document_is_pickled_small_and_by_its_versioned_json(document: Any) -> None:
    pickled = pickle.dumps(document)
    assert len(pickled) < 0.1 * len(document.to_json())
    read, (kind, packed) = document.__reduce__()
    assert kind is type(document)
    assert zlib.decompress(packed).decode() == document.to_json()
    assert read(kind, packed) == document


def test_a_document_of_another_version_is_refused_by_name() -> None:
    read, (kind, packed) = ha.Air().__reduce__()
    text = zlib.decompress(packed).decode().replace('"version": 1', '"version": 99')
    with pytest.raises(ha.InputError, match="version = 99"):
        read(kind, zlib.compress(text.encode()))


def test_a_refusal_crosses_processes() -> None:
    error = pickle.loads(pickle.dumps(ha.InputError("mass_kg", -1.0, "a number above 0")))
    assert (error.field, error.value, error.allowed) == ("mass_kg", -1.0, "a number above 0")
