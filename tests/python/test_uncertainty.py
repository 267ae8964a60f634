"""First-order uncertainties against closed forms, and against plain sampling with NumPy."""

from __future__ import annotations

import dataclasses

import builders
import hangarc as ha
import numpy as np
import pytest
from hangarc.uncertainty import Tolerances, Uncertainty, sample_of, uncertainty_of

G_M_S2 = 9.80665
FIGURES = (
    "tilt_deg",
    "trim_m",
    "hoist_load_n",
    "closing_force_n",
    "stop_force_n",
    "pulled_stop_force_n",
)
HEARD = ("mean_level_db", "unevenness_db", "seat_level_db")
CASES = 600
# A standard deviation of N draws is itself known to within 1/√(2N) of it; an even spread has less
# kurtosis than a normal one, which makes that smaller.
SAMPLED = 4.0 / np.sqrt(2.0 * CASES)


def answer_of(rigging: str, picks: tuple[float, ...], **changes: object) -> ha.Answer:
    more = {"gear": builders.gear()} if rigging == "compression" else {}
    study = builders.study(
        hang=builders.hang([1.0, 2.0, 3.0], rigging, **more), pick_x_m=picks, lines_per_band=3
    )
    return ha.evaluate(dataclasses.replace(study, **changes))


@pytest.fixture(scope="module")
def closed() -> ha.Answer:
    return answer_of("compression", (0.2, -0.8))


# So small that nothing but first order is left.
SMALL = Tolerances(
    splay_deg=0.01,
    mass_share=0.01,
    cg_m=0.002,
    anchor_m=0.002,
    tilt_deg=0.01,
    temperature_c=0.2,
    humidity_percent=1.0,
)


def test_loads_of_two_hoists_follow_the_closed_form_for_masses() -> None:
    """F₁ = g Σ m (x − x₂)/(x₁ − x₂) is linear in the masses: u² = Σ (∂F₁/∂m u_m)² (GUM, 5.1.2)."""
    answer = answer_of("tension", (0.2, -0.8), tilt_range_deg=(0.0, 0.0))
    hang = dataclasses.replace(answer.hang, splays_deg=[0.0] * 3)
    study = dataclasses.replace(answer.study, hang=hang)
    found = uncertainty_of(ha.evaluate(study, tilt_deg=0.0), Tolerances(mass_share=0.02))
    # Level and straight: every body's own x is its place in the room.
    masses = [(hang.frame.mass_kg, hang.frame.cg_m[0])]
    masses += [(cabinet.mass_kg, cabinet.cg_m[0]) for cabinet in hang.cabinets]
    front, rear = 0.2, -0.8
    u_n = [0.02 / np.sqrt(3.0) * m * G_M_S2 for m, _ in masses]
    by_front = [u * (x - rear) / (front - rear) for u, (_, x) in zip(u_n, masses, strict=True)]
    by_rear = [u * (front - x) / (front - rear) for u, (_, x) in zip(u_n, masses, strict=True)]
    expected = [np.hypot.reduce(by_front), np.hypot.reduce(by_rear)]
    # Central differences of a linear figure: rounding of 1e4 N over steps of 10 N is left.
    np.testing.assert_allclose(found.hoist_load_n, expected, rtol=1e-9)
    assert found.tilt_deg == 0.0
    assert found.mean_level_db == 0.0


def test_a_tilt_read_on_two_picks_is_off_by_its_own_tolerance(closed: ha.Answer) -> None:
    found = uncertainty_of(closed, Tolerances(tilt_deg=0.3))
    assert found.inputs == ("tilt_deg",)
    assert found.tilt_deg == pytest.approx(0.3 / np.sqrt(3.0), rel=1e-9)


def test_on_one_pick_the_tilt_follows_from_masses_and_not_from_its_reading() -> None:
    answer = ha.evaluate(builders.study(hang=builders.hang([1.0, 2.0]), lines_per_band=1))
    (pick_x_m,) = answer.search.pick_x_m
    assert uncertainty_of(answer, Tolerances(tilt_deg=0.3)).tilt_deg == 0.0
    found = uncertainty_of(answer, Tolerances(cg_m=0.01))
    # tan φ = (x_P − x_G)/(z_P − z_G): every body's CG off by u in x moves x_G by u m_i/M.
    masses = [answer.hang.frame.mass_kg, *(c.mass_kg for c in answer.hang.cabinets)]
    shares = np.array(masses) / sum(masses)
    turn = np.radians(answer.search.tilt_deg)
    pick_m = np.array([pick_x_m, answer.hang.frame.pick_z_m])
    pick_m = answer.pose.hinge_m[0] + [
        np.cos(turn) * pick_m[0] - np.sin(turn) * pick_m[1],
        np.sin(turn) * pick_m[0] + np.cos(turn) * pick_m[1],
    ]
    below_m = np.linalg.norm(pick_m - answer.pose.cg_m)
    # Across the line from pick to CG a body's two coordinates add up to u, whatever its turn.
    expected = np.degrees(0.01 / np.sqrt(3.0) * np.hypot.reduce(shares) / below_m)
    assert found.tilt_deg == pytest.approx(expected, rel=1e-3)
    assert found.mean_level_db > 0.0, "and what tilts is heard"


def test_colder_and_drier_air_changes_levels_as_its_absorption_does() -> None:
    """One cabinet: L falls by α r, so u_L = |Δα| r (α by the function of ISO 9613-1)."""
    point = ha.Source(elements=[ha.LineElement(height_m=0.01)])
    hang = builders.hang([], cabinets=[builders.cabinet(source=point)])
    study = builders.study(hang=hang, pick_x_m=(0.2, -0.8), lines_per_band=1)
    answer = ha.evaluate(study, tilt_deg=0.0)
    tolerance = 5.0
    found = uncertainty_of(answer, Tolerances(humidity_percent=tolerance))
    air, u = answer.study.air, tolerance / np.sqrt(3.0)
    goals = study.goals
    bands_hz = ha.acoustics.band_lines_hz(goals.lowest_hz, goals.highest_hz, 1).ravel()
    alpha = [
        ha.air_absorption_db_per_m(bands_hz, air.temperature_c, air.humidity_percent + sign * u)
        for sign in (1.0, -1.0)
    ]
    middle_m = [0.0, 0.0, answer.search.top_m - answer.hang.cabinets[0].height_m / 2.0]
    metres = np.linalg.norm(answer.seats.position_m - middle_m, axis=1)
    expected = abs((alpha[0] - alpha[1]).mean()) / 2.0 * metres
    # A source of 1 cm is no point, which leaves some 0.1 % of the distance.
    np.testing.assert_allclose(found.seat_level_db, expected, rtol=3e-3)


def test_first_order_is_what_sampling_gives_where_tolerances_are_small(closed: ha.Answer) -> None:
    first = uncertainty_of(closed, SMALL)
    drawn = sample_of(closed, SMALL, cases=CASES, seed=7)
    for name in (*FIGURES, *HEARD):
        sampled = getattr(drawn, name).std(axis=0)
        expected = np.asarray(getattr(first, name))
        np.testing.assert_allclose(sampled, expected, rtol=SAMPLED, atol=1e-9, err_msg=name)


def test_sampling_agrees_with_the_core_s_own_draws_of_the_closing_force(closed: ha.Answer) -> None:
    """Normal draws there, even ones here, of the same standard deviation."""
    tolerances = Tolerances(mass_share=0.02, cg_m=0.005)
    first = uncertainty_of(closed, tolerances)
    drawn = ha.closing.closing_spread(
        closed.hang,
        closed.search.tilt_deg,
        cases=20_000,
        mass_spread=0.02 / np.sqrt(3.0),
        cg_spread_m=0.005 / np.sqrt(3.0),
        pick_x_m=(0.2, -0.8),
    )
    # 20,000 draws know their deviation to 0.5 %; four times that, and second order, is 3 %.
    assert drawn.closing_force_n.std() == pytest.approx(first.closing_force_n, rel=0.03)
    np.testing.assert_allclose(drawn.hoist_load_n.std(axis=0), first.hoist_load_n, rtol=0.03)


def test_squares_of_contributions_add_up(closed: ha.Answer) -> None:
    found = uncertainty_of(closed, SMALL)
    for name in (*FIGURES, *HEARD):
        column = found.contribution[name]
        assert len(column) == len(found.inputs) == len(found.standard)
        np.testing.assert_allclose(np.sqrt((column**2).sum(axis=0)), getattr(found, name))


def test_stops_pulled_to_the_planned_force_are_those_of_the_hang_closed_with_it(
    closed: ha.Answer,
) -> None:
    """Of a tilt that is off, both sides closed again and pulled to the same force in the chain."""
    found = uncertainty_of(closed, Tolerances(tilt_deg=0.3))
    assert closed.work.closing is not None
    stops = []
    for sign in (1.0, -1.0):
        tilt_deg = closed.search.tilt_deg + sign * found.standard[0]
        at_stops = ha.close(closed.hang, tilt_deg)
        assert at_stops.closing_force_n is not None
        preload_n = closed.work.closing.pulled_n - at_stops.closing_force_n
        pulled = ha.close(closed.hang, tilt_deg, preload_n=preload_n).at_preload
        assert pulled is not None
        stops.append(pulled.stop_force_n)
    expected = np.abs(stops[0] - stops[1]) / 2.0
    np.testing.assert_allclose(found.pulled_stop_force_n, expected, atol=1e-6)
    # At its closing force the governing joint's stop carries nothing, however the tilt is read.
    governing = closed.closing.governing_joint if closed.closing else None
    assert governing is not None
    assert found.stop_force_n[governing] < 1e-6 < found.pulled_stop_force_n[governing]


def test_tolerances_are_kept_in_a_file() -> None:
    given = Tolerances(splay_deg=0.1, humidity_percent=10.0)
    assert Tolerances.from_json(given.to_json()) == given
    with pytest.raises(ha.InputError, match="kind = job: allowed is tolerances"):
        Tolerances.from_json(ha.Job().to_json())


def test_nothing_off_is_no_uncertainty(closed: ha.Answer) -> None:
    found = uncertainty_of(closed, Tolerances())
    assert found.inputs == ()
    assert found.closing_force_n == found.unevenness_db == 0.0
    assert not found.hoist_load_n.any()


def test_it_is_said_in_lines_with_what_adds_most(closed: ha.Answer) -> None:
    found = uncertainty_of(closed, Tolerances(tilt_deg=0.3))
    assert isinstance(found, Uncertainty)
    told = found.lines()
    assert told[0] == "tilt_deg: ± 0.346 °, most by tilt_deg"
    assert any(line.startswith("closing_force_n: ± ") for line in told)


def test_a_splay_at_its_first_pin_is_off_to_one_side_only() -> None:
    study = builders.study(hang=builders.hang([0.0, 2.0]), pick_x_m=(0.2, -0.8), lines_per_band=1)
    answer = ha.evaluate(study, tilt_deg=0.0)
    found = uncertainty_of(answer, Tolerances(splay_deg=0.1))
    assert found.hoist_load_n[0] > 0.0
    drawn = sample_of(answer, Tolerances(splay_deg=0.1), cases=20)
    assert np.isfinite(drawn.unevenness_db).all()


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"splay_deg": -0.1}, "splay_deg = -0.1: allowed is a number from 0 to 10"),
        ({"mass_share": 0.6}, "mass_share = 0.6: allowed is a number from 0 to 0.5"),
        (
            {"tilt_deg": float("inf")},
            "tilt_deg = inf: allowed is a finite number of a size up to 1e+15",
        ),
        ({"cg_m": "1"}, "cg_m = 1: allowed is a number; this is text"),
    ],
)
def test_bad_tolerances_are_refused(fields: dict[str, float], message: str) -> None:
    with pytest.raises(ha.InputError) as caught:
        Tolerances(**fields)
    assert str(caught.value) == message


def test_other_arguments_are_refused(closed: ha.Answer) -> None:
    with pytest.raises(ha.InputError, match="answer"):
        uncertainty_of(closed.study, Tolerances())  # type: ignore[arg-type]
    with pytest.raises(ha.InputError, match="tolerances"):
        uncertainty_of(closed, {"tilt_deg": 0.1})  # type: ignore[arg-type]
    with pytest.raises(ha.InputError, match=r"cases = 0: allowed is 1 to 100000"):
        sample_of(closed, Tolerances(), cases=0)
