"""Closing a few joints at a time: equilibrium, work, and the whole hang at once."""

from __future__ import annotations

import dataclasses
from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from closing_reference import GRAVITY, Reference, random_hang
from outside import Outside, ran

EVEN = [2.0] * 15


def hang(splays: list[float] = EVEN, **changes: Any) -> ha.Hang:
    return builders.hang(splays, "compression", **changes)


def first(one: ha.Hang, count: int) -> ha.Hang:
    return dataclasses.replace(
        one, cabinets=one.cabinets[:count], splays_deg=one.splays_deg[: count - 1]
    )


def slopes(one: ha.Hang, tilt: float, theta: np.ndarray, force: float) -> np.ndarray:
    """∂(U + T L)/∂θ of the joints that close, by the second statement of the problem."""
    return Reference(one, tilt).value(theta, force)[1]


def levers(one: ha.Hang, tilt: float) -> np.ndarray:
    """∂L/∂θ of the closed hang."""
    theta = np.radians(one.splays_deg)
    return slopes(one, tilt, theta, 1.0) - slopes(one, tilt, theta, 0.0)


def test_each_stage_balances_under_its_chain_and_the_one_left_on() -> None:
    rng = np.random.default_rng(5)
    for _ in range(6):
        one, tilt = random_hang(rng, count=12)
        found = ha.closing.closing_stages(one, tilt, available_n=1e6, cabinets=[4, 7, 12])
        assert found.ok
        before = 1
        for stage in found.stages:
            part = first(one, stage.cabinets)
            weight = GRAVITY * ha.pose(part, tilt).mass_kg
            theta = np.radians(part.splays_deg)
            assert stage.joints == tuple(range(before, stage.cabinets))
            pull = slopes(part, tilt, theta, stage.closing_force_n)
            if before > 1:
                pull[: before - 1] += stage.left_on_closed_n * levers(first(one, before), tilt)
            # Every joint presses on its stop or just touches it; the governing ones just touch.
            assert pull.max() < 1e-9 * weight
            assert abs(pull[before - 1 :].max()) < 1e-9 * weight
            if stage.left_on_closed_n:
                assert abs(pull[: before - 1].max()) < 1e-9 * weight
            alone = slopes(part, tilt, theta, stage.closing_force_n)[: before - 1]
            opens = 1 + np.flatnonzero(alone > 1e-9 * weight)
            assert stage.open_again == tuple(opens)
            assert bool(stage.open_again) == (stage.left_on_closed_n > 0.0)
            before = stage.cabinets


def test_the_new_joints_hang_open_where_bounded_minimisation_puts_them(outside: Outside) -> None:
    rng = np.random.default_rng(8)
    for _ in range(6):
        one, tilt = random_hang(rng, count=9)
        stage = ha.closing.closing_stages(one, tilt, available_n=1e6, cabinets=[5, 9]).stages[1]
        reference = Reference(one, tilt)
        reference.lower[:4] = reference.upper[:4]
        theta = reference.rest(0.0, np.clip(np.zeros(8), reference.lower, reference.upper))
        outside.check(
            "closing a hang", "angles of the joints that a later stage closes, hanging open",
            ran("scipy", "bounded least energy by SciPy"), theirs=theta,
            ours=np.radians(stage.open_angle_deg[1:-1]), unit="rad", within=1e-6,
            why="where the minimiser stops",
        )  # fmt: skip
        assert stage.chain_open_m == pytest.approx(reference.chain_m(theta), abs=1e-6)
        # What the chain left on carries then: moments over levers of the earlier joints.
        moments = slopes(one, tilt, np.radians(stage.open_angle_deg[1:-1]), 0.0)[:4]
        asked = (moments / -levers(first(one, 5), tilt)).max()
        assert stage.left_on_open_n == pytest.approx(max(0.0, asked), rel=1e-9)


def test_the_last_stage_is_the_closed_hang() -> None:
    one, tilt = hang(), -4.0
    whole = ha.close(one, tilt)
    found = ha.closing.closing_stages(one, tilt, available_n=1e6, cabinets=[4, 8, 12, 16])
    last = found.stages[-1]
    assert last.chain_closed_m == pytest.approx(whole.chain_closed_m, abs=1e-12)
    assert last.alone_force_n == pytest.approx(whole.closing_force_n, rel=1e-12)
    # Fewer joints ask for no more, and what they leave to the chain left on is not nothing.
    assert last.closing_force_n < 0.9 * whole.closing_force_n
    assert last.left_on_closed_n > 0.0
    assert last.open_again
    assert all(joint < 12 for joint in last.open_again)


def test_one_stage_is_the_whole_path() -> None:
    one, tilt = hang(), -4.0
    whole = ha.close(one, tilt)
    (stage,) = ha.closing.closing_stages(one, tilt, available_n=1e6, cabinets=[16]).stages
    assert stage.closing_force_n == stage.alone_force_n == whole.closing_force_n
    assert stage.peak_force_n == pytest.approx(whole.peak_force_n, rel=1e-9)
    assert stage.chain_open_m == whole.chain_free_m
    np.testing.assert_array_equal(stage.open_angle_deg, whole.free_angle_deg)
    assert stage.open_again == ()
    assert stage.left_on_peak_n == 0.0
    assert stage.shortening.link == ha.shortening(one, tilt).link


def test_a_force_that_is_short_for_the_whole_hang_closes_it_in_stages() -> None:
    one, tilt = hang(), -6.0
    whole = ha.close(one, tilt).closing_force_n
    found = ha.closing.closing_stages(one, tilt, available_n=0.8 * whole)
    assert found.ok
    assert len(found.stages) > 1
    counts = [stage.cabinets for stage in found.stages]
    assert counts[-1] == 16
    for before, stage in zip([0, *counts], found.stages, strict=False):
        assert stage.peak_force_n <= found.available_n
        assert stage.closing_force_n <= found.available_n
        assert stage.chain_closed_m - stage.chain_open_m < 0.0
        if stage.cabinets < 16:
            # One cabinet more in the same stage asks for too much.
            more = [*[count for count in counts if count <= before], stage.cabinets + 1]
            more = more if more[-1] == 16 else [*more, 16]
            again = ha.closing.closing_stages(
                one, tilt, available_n=found.available_n, cabinets=more
            )
            assert not again.ok
            assert again.stages[-1].ended == "more force than available"


def test_the_closing_force_of_a_stage_is_that_of_virtual_work() -> None:
    """dU = −T dL on the last bit of the way of the governing joint."""
    one, tilt = hang(), -4.0
    stage = ha.closing.closing_stages(one, tilt, available_n=1e6, cabinets=[8, 16]).stages[1]
    theta = np.radians(one.splays_deg)
    reference = Reference(one, tilt)
    step = 1e-6
    bent = theta.copy()
    bent[stage.governing_joint - 1] -= step
    rise = reference.value(theta, 0.0)[0] - reference.value(bent, 0.0)[0]
    drawn = reference.chain_m(bent) - reference.chain_m(theta)
    assert rise / drawn == pytest.approx(stage.closing_force_n, rel=1e-4)


def test_the_remedies_hold_the_stages_that_the_force_closes() -> None:
    one, tilt = hang(), -6.0
    available = 0.8 * ha.close(one, tilt).closing_force_n
    staged = ha.closing.closing_remedies(one, tilt, available_n=available).staged
    alone = ha.closing.closing_stages(one, tilt, available_n=available)
    assert staged.ok
    assert staged.available_n == available
    for a, b in zip(staged.stages, alone.stages, strict=True):
        assert (a.cabinets, a.peak_force_n) == (b.cabinets, b.peak_force_n)


def test_too_little_force_ends_at_the_first_stage_that_does_not_close() -> None:
    found = ha.closing.closing_stages(hang(), -6.0, available_n=1.0)
    assert not found.ok
    assert found.stages[-1].ended == "more force than available"
    assert found.stages[-1].cabinets < 16


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"cabinets": [4, 4, 16]}, "cabinets"),
        ({"cabinets": [4, 8]}, "cabinets"),
        ({"cabinets": []}, "cabinets"),
        ({"cabinets": [0, 16]}, "cabinets"),
        ({"available_n": 0.0}, "available_n"),
        ({"tilt_deg": 75.0}, "tilt_deg"),
    ],
)
def test_stages_that_make_no_sense_are_refused_by_name(
    arguments: dict[str, Any], field: str
) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.closing.closing_stages(hang(), **{"tilt_deg": 0.0, **arguments})
    assert caught.value.field == field


@pytest.mark.parametrize("far_m", [1e9, 1e12, 1e15])
@pytest.mark.parametrize("which", ["frame", "bottom"])
def test_a_chain_whose_closing_is_lost_in_rounding_ends(which: str, far_m: float) -> None:
    """Between two lengths a last digit apart lies nothing: bisecting them went on for ever."""
    given = hang([1.0] * 3)
    part = getattr(given, which)
    far = dataclasses.replace(part, chain_anchor_m=(-far_m, part.chain_anchor_m[1]))
    stages = ha.closing.closing_stages(
        dataclasses.replace(given, **{which: far}), -11.0, available_n=5000.0
    )
    assert stages.stages
