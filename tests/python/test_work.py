"""The work in its order against `build_up`, `close`, `pose` and the comparison with the plan."""

from __future__ import annotations

import dataclasses

import builders
import hangarc as ha
import numpy as np
import pytest

G_M_S2 = 9.80665  # ISO 80000-3:2019


def compression(count: int = 10, **changes: object) -> ha.Study:
    fields = {
        "hang": builders.hang([2.0] * (count - 1), "compression"),
        "top_range_m": (9.0, 9.0),
        "tilt_range_deg": (0.0, 2.0),
        "pick_x_m": [0.1, -0.8],
    }
    return builders.study(**{**fields, **changes})


@pytest.fixture(scope="module")
def two_picks() -> ha.Answer:
    return ha.answer(compression(), budget_evaluations=500)


@pytest.fixture(scope="module")
def one_pick() -> ha.Answer:
    return ha.answer(compression(pick_x_m=[], tilt_range_deg=(-6, 2)), budget_evaluations=500)


@pytest.fixture(scope="module")
def tension() -> ha.Answer:
    study = builders.study(hang=builders.hang([1.0] * 6), min_trim_m=2.0)
    return ha.answer(study, job=ha.Job(stack=3), budget_evaluations=500)


def test_the_lifts_are_those_of_build_up(two_picks: ha.Answer, tension: ha.Answer) -> None:
    for answer in (two_picks, tension):
        picks = answer.search.pick_x_m.tolist()
        tilt_deg = answer.search.tilt_deg if len(picks) == 2 else None
        job = answer.job
        stages = ha.statics.build_up(
            answer.hang, picks, stack=job.stack, cart_m=job.cart_m, tilt_deg=tilt_deg
        ).stages
        for lift, stage in zip(answer.work.lifts, stages, strict=False):
            assert (lift.last, lift.mass_kg) == (stage.cabinets, stage.mass_kg)
            np.testing.assert_array_equal(lift.hoist_load_n, stage.hoist_load_n)
            assert lift.pick_m[0] - lift.lowest_m == pytest.approx(-stage.lowest_m, abs=1e-12)
            if stage.lift_m is not None:
                assert lift.lowest_m == stage.lift_m
        cabinets = [n for lift in answer.work.lifts for n in range(lift.first, lift.last + 1)]
        assert cabinets == list(range(1, len(answer.hang.cabinets) + 1))
        pins = [pin for lift in answer.work.lifts for pin in lift.pins]
        assert [pin.joint for pin in pins] == list(range(1, len(cabinets)))
        assert [pin.splay_deg for pin in pins] == list(answer.hang.splays_deg)
        for pin in pins:
            places = answer.hang.cabinets[pin.joint - 1].splay_positions_deg[answer.hang.rigging]
            assert places[pin.position - 1] == pin.splay_deg
            assert pin.positions == len(places)


def test_the_closing_is_that_of_close_at_every_contact(
    two_picks: ha.Answer, one_pick: ha.Answer
) -> None:
    for answer in (two_picks, one_pick):
        rear, hang = answer.work.closing, answer.hang
        assert rear is not None
        assert hang.gear is not None
        picks = answer.search.pick_x_m.tolist()
        one = len(picks) == 1
        whole = ha.close(
            hang,
            None if one else answer.search.tilt_deg,
            frame="one pick" if one else "two hoists",
            pick_x_m=picks,
            preload_n=rear.preload_n,
        )
        events = [event for event in whole.events if "stop" in event.contact]
        assert [c.joint for c in rear.contacts] == [event.joint for event in events]
        for contact, event in zip(rear.contacts, events, strict=True):
            assert contact.force_n == event.force_n
            assert contact.chain_m == event.chain_m
            link_m = rear.link * hang.gear.pitch_m
            assert contact.hoist_m + link_m == pytest.approx(event.chain_m, abs=1e-12)
        assert rear.closing_force_n == whole.closing_force_n
        assert rear.contacts[-1].force_n == pytest.approx(rear.closing_force_n, rel=1e-9)
        # Pulled on, no stop carries less than the job asks, and one carries just that.
        assert whole.at_preload is not None
        least = whole.at_preload.stop_force_n[1:-1].min()
        assert least == pytest.approx(answer.job.stop_force_n, rel=1e-9)
        assert rear.least_stop_n == least


def test_the_closed_hang_swings_to_where_pose_has_it(two_picks: ha.Answer) -> None:
    rear, search = two_picks.work.closing, two_picks.search
    assert rear is not None
    hole = list(two_picks.hang.frame.pick_x_m).index(search.pick_x_m[0])
    closed = ha.pose(two_picks.hang, search.tilt_deg, 0.0)
    assert closed.chain_m is not None
    down = closed.trim_m - closed.pick_m[hole, 1]
    assert rear.lowest_closed_m - rear.pick_m[0] == pytest.approx(down, abs=1e-9)
    place = closed.chain_m[1] - closed.pick_m[hole]
    np.testing.assert_allclose(rear.anchor_closed_m - [0.0, rear.pick_m[0]], place, atol=1e-9)
    free = ha.close(two_picks.hang, search.tilt_deg).free_angle_deg[1:-1]
    opened = ha.pose(two_picks.hang, search.tilt_deg, 0.0, splays_deg=free)
    assert opened.chain_m is not None
    start = opened.chain_m[1] - opened.pick_m[hole]
    np.testing.assert_allclose(rear.anchor_open_m - [0.0, rear.pick_m[0]], start, atol=1e-9)
    assert rear.swing_m == pytest.approx(start[0] - place[0], abs=1e-9)
    assert rear.rise_m == pytest.approx(place[1] - start[1], abs=1e-9)
    assert rear.behind_m >= -min(start[0], place[0]) - 1e-9
    # Nothing comes nearer to the floor than the job asks.
    assert rear.lowest_on_way_m == pytest.approx(two_picks.job.clear_m, abs=1e-12)
    assert rear.lowest_open_m >= rear.lowest_on_way_m


def test_nothing_comes_beyond_the_ground_to_be_cleared(
    two_picks: ha.Answer, one_pick: ha.Answer
) -> None:
    for answer in (two_picks, one_pick):
        rear, hang = answer.work.closing, answer.hang
        assert rear is not None
        assert answer.closing is not None
        path = answer.closing.path
        hole = list(hang.frame.pick_x_m).index(answer.search.pick_x_m[0])
        reach = []
        for tilt_deg, angle_deg in zip(path["tilt_deg"], path["angle_deg"], strict=True):
            here = ha.pose(hang, float(tilt_deg), 0.0, splays_deg=angle_deg[1:-1])
            assert here.chain_m is not None
            x_m = [*here.corners_m[..., 0].ravel(), *here.pick_m[:, 0], here.chain_m[1, 0]]
            reach.append(np.array([min(x_m), max(x_m)]) - here.pick_m[hole, 0])
        low, high = np.min(reach, axis=0)[0], np.max(reach, axis=0)[1]
        assert (-rear.behind_m, rear.ahead_m) == pytest.approx((low, high), abs=1e-12)
        # The frame reaches to both sides of its pick: never less than nothing.
        assert rear.behind_m > 0.0
        assert rear.ahead_m > 0.0


def test_a_raised_hang_reaches_as_far_as_its_pose(two_picks: ha.Answer, tension: ha.Answer) -> None:
    for answer in (two_picks, tension):
        hang, picks = answer.hang, answer.search.pick_x_m.tolist()
        stages = ha.statics.build_up(
            hang, picks, stack=answer.job.stack, cart_m=answer.job.cart_m,
            tilt_deg=answer.search.tilt_deg if len(picks) == 2 else None,
        ).stages  # fmt: skip
        hole = list(hang.frame.pick_x_m).index(picks[0])
        for lift, stage in zip(answer.work.lifts, stages, strict=False):
            part = dataclasses.replace(
                hang,
                cabinets=hang.cabinets[: lift.last],
                splays_deg=hang.splays_deg[: lift.last - 1],
            )
            here = ha.pose(part, stage.tilt_deg, 0.0, splays_deg=stage.angle_deg)
            x_m = here.corners_m[..., 0] - here.pick_m[hole, 0]
            assert lift.behind_m >= -x_m.min() - 1e-12
            assert lift.ahead_m >= x_m.max() - 1e-12
            # As far down as `build_up` has it: the same pose.
            if lift.last < len(hang.cabinets):
                assert here.corners_m[..., 1].min() - here.pick_m[hole, 1] == pytest.approx(
                    stage.lowest_m, abs=1e-6
                )


def test_the_frame_by_itself_hangs_with_its_cg_under_the_pick(
    one_pick: ha.Answer, two_picks: ha.Answer
) -> None:
    frame, up = one_pick.hang.frame, one_pick.work.frame
    assert up.alone_deg is not None
    turn = np.radians(up.alone_deg)
    along_m, up_m = frame.cg_m[0] - up.pick_x_m[0], frame.cg_m[1] - frame.pick_z_m
    # Section 3 of the conventions: R(φ) = [[cos φ, −sin φ], [sin φ, cos φ]].
    assert np.cos(turn) * along_m - np.sin(turn) * up_m == pytest.approx(0.0, abs=1e-12)
    assert np.sin(turn) * along_m + np.cos(turn) * up_m < 0.0
    assert two_picks.work.frame.alone_deg is None


def test_the_pose_at_other_angles_is_that_of_a_hang_pinned_there() -> None:
    hang = builders.hang([1.0, 2.0, 3.0])
    pinned = dataclasses.replace(hang, splays_deg=[4.0, 0.0, 9.0])
    there, here = ha.pose(pinned, -3.0, 7.0), ha.pose(hang, -3.0, 7.0, splays_deg=[4.0, 0.0, 9.0])
    np.testing.assert_array_equal(there.corners_m, here.corners_m)
    assert there.trim_m == here.trim_m
    for bad, field in (([1.0], "splays_deg"), ([1.0, 2.0, 91.0], "splays_deg[2]")):
        with pytest.raises(ha.InputError) as caught:
            ha.pose(hang, -3.0, 7.0, splays_deg=bad)
        assert caught.value.field == field


def test_a_reading_off_by_its_bound_is_where_the_plan_is_refused(two_picks: ha.Answer) -> None:
    from hangarc.work.trim import reading

    picks, tilt_deg = two_picks.search.pick_x_m.tolist(), two_picks.search.tilt_deg
    bounds = two_picks.work.bounds
    assert [b.kind for b in bounds].count("hoist load") == 2
    for index, bound in enumerate(bounds):
        for share, accepted in ((0.99, True), (1.01, False)):
            readings = [
                reading(b.kind, b.number, b.planned + share * bound.may_differ * (i == index),
                        b.uncertainty)
                for i, b in enumerate(bounds)
            ]  # fmt: skip
            found = ha.survey.compare_with_plan(two_picks.hang, tilt_deg, readings, picks)
            assert found.ok is accepted


def test_hoists_and_roof_carry_what_hangs_and_what_belongs_to_them() -> None:
    anchors = [
        ha.work.Suspension(anchors=[ha.work.Anchor(name="A", place_m=(0.2, -3.0, 20.0)),
                               ha.work.Anchor(name="B", place_m=(0.2, 5.0, 20.0))], apex_m=16.0),
        ha.work.Suspension(anchors=[ha.work.Anchor(name="C", place_m=(-0.8, 1.0, 20.0))]),
    ]  # fmt: skip
    job = ha.Job(
        position_m=(0.1, 1.0),
        above_kg={"hoist": 40.0, "chain": 12.0, "cable": 3.0, "steel": 5.0},
        suspensions=anchors,
    )
    study = compression(hoist_mass_kg=60.0, dynamic_factor=1.25)
    answer = ha.answer(study, job=job, budget_evaluations=500)
    front, rear = answer.work.hoists
    for hoist, load_n in zip((front, rear), answer.hoists.load_n, strict=True):
        assert hoist.load_n == load_n
        assert hoist.mass_kg * G_M_S2 == pytest.approx(load_n)
        assert hoist.roof_n == pytest.approx(load_n + 60.0 * G_M_S2)
        assert hoist.factored_load_n == pytest.approx(1.25 * load_n)
        assert hoist.factored_roof_n == pytest.approx(1.25 * hoist.roof_n)
    assert sum(leg.vertical_n for leg in front.legs) == pytest.approx(front.roof_n)
    by_hand = ha.bridle(
        [(-3.0, 20.0), (5.0, 20.0)], load_n=front.roof_n, apex_m=(front.place_m[1], 16.0)
    )
    np.testing.assert_allclose([leg.force_n for leg in front.legs], by_hand.force_n, rtol=1e-12)
    assert front.off_plumb_m == pytest.approx(abs(front.place_m[0] - 0.2))
    assert rear.legs[0].force_n == rear.roof_n
    with pytest.raises(ha.InputError, match="above_kg"):
        ha.answer(study, job=ha.Job(above_kg={"hoist": 40.0}), budget_evaluations=10)
    with pytest.raises(ha.InputError, match="suspensions"):
        ha.answer(study, job=ha.Job(suspensions=anchors[:1]), budget_evaluations=10)


def test_a_hang_that_does_not_close_has_no_closing_to_follow(two_picks: ha.Answer) -> None:
    short = builders.gear(links=4)
    study = compression(hang=dataclasses.replace(two_picks.study.hang, gear=short))
    assert ha.answer(study, budget_evaluations=500).work.closing is None


def test_a_job_comes_back_from_its_json() -> None:
    hung = ha.work.Suspension(anchors=[ha.work.Anchor(name="A", place_m=(0, 0, 9))])
    job = ha.Job(project="Hall", side="left", date="2026-11-26", suspensions=[hung])
    assert ha.Job.from_json(job.to_json()) == job


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("side", "up"),
        ("date", "tomorrow"),
        ("stack", 0),
        ("clear_m", -1.0),
        ("position_m", [1.0]),
        ("tilt_uncertainty_deg", 0.0),
        ("project", 3),
        ("pan_deg", 400.0),
    ],
)
def test_a_job_that_makes_no_sense_is_refused_by_name(field: str, value: object) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.Job(**{field: value})
    assert caught.value.field == field


def test_a_flat_bridle_pulls_its_points_past_a_limit_that_the_load_keeps() -> None:
    def answer(apex_m: float) -> ha.Answer:
        flat = ha.work.Suspension(
            anchors=[
                ha.work.Anchor(name="A", place_m=(0.1, -4.0, 20.0)),
                ha.work.Anchor(name="B", place_m=(0.1, 4.0, 20.0)),
            ],
            apex_m=apex_m,
        )
        plumb = ha.work.Suspension(anchors=[ha.work.Anchor(name="C", place_m=(-0.8, 0.0, 20.0))])
        study = compression(roof_point_limit_n=9_000.0, dynamic_factor=1.2)
        return ha.answer(study, job=ha.Job(suspensions=[flat, plumb]), budget_evaluations=200)

    for apex_m, over in ((16.0, False), (19.8, True)):
        found = answer(apex_m)
        legs = [row for row in found.limits if row.part == "bridle_leg"]
        roof = next(r for r in found.limits if (r.part, r.number) == ("roof_point", 0))
        assert [row.number for row in legs] == [0, 1]
        # Two like legs: each pulls half the load over the sine of its slope.
        slope = np.arctan2(20.0 - apex_m, 4.0)
        for row in legs:
            assert row.force_n == pytest.approx(roof.force_n / 2.0 / np.sin(slope), rel=1e-9)
            assert row.utilisation == row.force_n / 9_000.0
            assert row.state == roof.state
        assert roof.utilisation is not None
        assert roof.utilisation < 1.0
        against = ha.report.reasons_against(found)
        named = "roof point A, along its leg" in " ".join(against)
        assert named is over
    assert ha.verify(found).differing == ()
