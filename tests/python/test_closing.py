"""Closing: equilibrium against a second statement of the problem, closed pose by moments."""

from __future__ import annotations

from typing import Any

import builders
import hangarc as ha
import numpy as np
import pytest
from closing_reference import GRAVITY, Reference, random_hang
from outside import Outside, ran

PROGRESSIVE = [0.0, 0.5, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0, 10.0]


def hang(splays: list[float] = PROGRESSIVE, **changes: Any) -> ha.Hang:
    return builders.hang(splays, "compression", **changes)


def test_rest_agrees_with_bounded_minimisation_on_random_hangs(outside: Outside) -> None:
    rng = np.random.default_rng(11)
    gaps = []
    for _ in range(50):
        one, tilt = random_hang(rng)
        closing = ha.close(one, tilt, steps=20)
        assert closing.ended == "closed"
        force = float(rng.uniform(0.0, 1.1)) * closing.closing_force_n
        rest = ha.closing.rest_at_force(one, tilt, force)
        assert rest.ended == "at rest"
        reference = Reference(one, tilt)
        theta = reference.rest(force)
        found = np.radians(rest.angle_deg[1:-1])
        gaps.append(np.abs(found - theta).max())
        outside.check(
            "closing a hang", "angles of 50 random hangs at rest under a chain force",
            ran("scipy", "bounded least energy and the chain as a convex hull, by SciPy"),
            theirs=theta, ours=found, unit="rad", within=1e-6, why="where the minimiser stops",
        )  # fmt: skip
        assert rest.chain_m == pytest.approx(reference.chain_m(theta), rel=1e-6)
    assert np.quantile(gaps, 0.5) < 1e-8


def test_closing_force_is_the_greatest_moment_over_lever_of_the_closed_pose() -> None:
    one = hang()
    for tilt in (-12.0, -3.0, 0.0, 5.0):
        closing = ha.close(one, tilt)
        pose = ha.pose(one, tilt)
        moments = ha.joint_loads(one, tilt).moment_nm
        upper, lower = pose.chain_m
        down = (lower - upper) / np.linalg.norm(lower - upper)
        levers = [(lower[0] - h[0]) * down[1] - (lower[1] - h[1]) * down[0] for h in pose.hinge_m]
        forces = moments / np.array(levers)
        np.testing.assert_allclose(closing.straight_line_force_n, forces, rtol=1e-12)
        assert closing.closing_force_n == pytest.approx(forces[1:-1].max(), rel=1e-12)
        assert closing.governing_joint == 1 + forces[1:-1].argmax()


def test_every_row_of_the_path_is_at_rest(outside: Outside) -> None:
    for tilt in (-8.0, 0.0, 8.0):
        one = hang()
        closing = ha.close(one, tilt)
        assert closing.ended == "closed"
        reference = Reference(one, tilt)
        weight = GRAVITY * ha.pose(one, tilt).mass_kg
        for angles, force in zip(closing.path["angle_deg"], closing.path["force_n"], strict=True):
            theta = np.radians(angles[1:-1])
            _, slope = reference.value(theta, force)
            free = (theta > reference.lower + 1e-12) & (theta < reference.upper - 1e-12)
            if free.any():
                outside.check(
                    "closing a hang", "moment left over at every joint that is free on the way",
                    ran("scipy", "moments summed a second time, the chain as SciPy's convex hull"),
                    theirs=0.0, ours=slope[free] / weight, unit="of the weight, at 1 m",
                    within=1e-9, why="rounding",
                )  # fmt: skip
            assert np.all(slope[theta >= reference.upper - 1e-12] < 1e-9 * weight)
            assert np.all(slope[theta <= reference.lower + 1e-12] > -1e-9 * weight)


@pytest.mark.parametrize(
    ("splays", "hoist_m"), [(PROGRESSIVE, (0.4, 1.9)), ([2.0] * 19, (2.6, 5.0))]
)
def test_a_link_fits_exactly_where_both_ends_of_the_stroke_do(
    splays: list[float], hoist_m: tuple[float, float]
) -> None:
    shortest_m, longest_m = hoist_m
    one = hang(splays, gear=builders.gear(links=240, hoist_min_m=shortest_m, hoist_max_m=longest_m))
    found = ha.shortening(one, -2.0)
    gear = one.gear
    closing = ha.close(one, -2.0)
    fits = [
        k
        for k in range(1, gear.links + 1)
        if closing.chain_closed_m - k * gear.pitch_m >= gear.hoist_min_m
        and closing.chain_free_m - k * gear.pitch_m <= gear.hoist_max_m
    ]
    assert found.ended == "fits"
    assert list(found.links_feasible) == fits
    assert found.link in fits
    assert found.slack_links == gear.links - found.link
    assert found.hoist_open_m == pytest.approx(closing.chain_free_m - found.link * gear.pitch_m)
    spare = min(found.spare_open_m, found.spare_closed_m)
    for other in found.neighbours:
        assert min(other.spare_open_m, other.spare_closed_m) <= spare


@pytest.mark.parametrize(
    ("gear", "ended"),
    [
        ({"links": 20}, "chain too short"),
        ({"hoist_max_m": 0.45}, "stroke too short"),
        ({"hoist_min_m": 6.0, "hoist_max_m": 9.0}, "hang too short for the hoist"),
    ],
)
def test_no_link_says_why(gear: dict[str, Any], ended: str) -> None:
    found = ha.shortening(hang(gear=builders.gear(**gear)), 0.0)
    assert found.ended == ended
    assert found.link is None
    assert len(found.links_feasible) == 0


@pytest.mark.parametrize(
    ("band", "verdict"),
    [
        ((9_000.0, 12_000.0), "closes"),
        ((1_000.0, 12_000.0), "may slip before it closes"),
        ((500.0, 1_000.0), "slips before it closes"),
        (None, "not stated"),
    ],
)
def test_the_clutch_band_decides(band: Any, verdict: str) -> None:
    closing = ha.close(hang(gear=builders.gear(clutch_n=band)), 0.0)
    assert 1_000.0 < closing.closing_force_n < 9_000.0
    assert closing.clutch == verdict


@pytest.mark.parametrize(
    ("preload_n", "verdict"),
    [
        (0.0, "closes"),
        (50.0, "closes"),
        (200.0, "may slip before it closes"),
        (600.0, "slips before it closes"),
    ],
)
def test_the_clutch_has_to_hold_the_preload_too(preload_n: float, verdict: str) -> None:
    force_n = ha.close(hang(gear=builders.gear()), 0.0).closing_force_n
    assert force_n is not None
    geared = hang(gear=builders.gear(clutch_n=(force_n + 100.0, force_n + 500.0)))
    assert ha.close(geared, 0.0, preload_n=preload_n).clutch == verdict


@pytest.mark.parametrize(
    ("build", "field"),
    [
        (lambda: hang(bottom=None), "bottom"),
        (lambda: hang(frame=builders.frame(chain_anchor_m=None)), "frame.chain_anchor_m"),
        (lambda: hang(bottom=builders.bottom(chain_anchor_m=None)), "bottom.chain_anchor_m"),
        (lambda: builders.hang([1.0]), "rigging"),
    ],
)
def test_a_hang_that_cannot_be_closed_by_a_chain_is_refused_by_name(build: Any, field: str) -> None:
    with pytest.raises(ha.InputError) as caught:
        ha.close(build(), 0.0)
    assert caught.value.field == field
    with pytest.raises(ha.InputError):
        ha.shortening(build(), 0.0)


@pytest.mark.parametrize(
    ("argument", "value"),
    [
        ("tilt_deg", float("nan")),
        ("tilt_deg", 120.0),
        ("preload_n", -1.0),
        ("steps", 0),
        ("top_joint", "glued"),
        ("pick_x_m", (-0.4, 0.1)),
        ("pick_x_m", (0.1, -0.2, -0.4)),
    ],
)
def test_a_bad_argument_is_refused_by_name(argument: str, value: Any) -> None:
    arguments = {"tilt_deg": 0.0, argument: value}
    with pytest.raises(ha.InputError) as caught:
        ha.close(hang(), **arguments)
    assert caught.value.field == argument
    with pytest.raises(ha.InputError, match="gear"):
        ha.shortening(hang(gear=None), 0.0)
