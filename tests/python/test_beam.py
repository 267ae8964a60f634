"""Beams against the steel manual's table, two frame libraries and closed forms."""

from __future__ import annotations

import copy
import json
import pickle
from pathlib import Path
from typing import Any

import hangarc as ha
import numpy as np
import pycba
import pytest
from outside import Kind, Outside, Source, ran
from Pynite import FEModel3D
from scipy.optimize import minimize

TABLE = json.loads(
    (Path(__file__).parent / "validation" / "aisc_continuous_beams.json").read_text(
        encoding="utf-8"
    )
)
EI = 4.2e6


@pytest.mark.parametrize("case", ["two_spans", "three_spans"])
def test_equal_spans_under_uniform_load_have_the_steel_manuals_coefficients(
    case: str, outside: Outside
) -> None:
    row, span, load = TABLE[case], 5.0, 300.0
    count = len(row["reactions_wl"]) - 1
    beam = ha.beam(
        count * span, span * np.arange(count + 1), [(0.0, count * span, load)], ei_nm2=EI
    )
    unit = load * span**2
    outside.check(
        "beams",
        f"{case.replace('_', ' ')}, equal, under a uniform load: reactions, moment at a support",
        Source(TABLE["source"], Kind.MEMORY),
        theirs=[*row["reactions_wl"], row["support_moment_wl2"]],
        ours=[*beam.reaction_n / (load * span), float(beam.moment_nm(span)) / unit],
        unit="of w l, of w l²",
        within=5e-5,
        why="printed to three or four digits",
    )
    greatest = np.max(beam.moment_nm(np.linspace(0, span, 4001))) / unit
    assert greatest == pytest.approx(np.atleast_1d(row["span_moment_wl2"])[0], abs=5e-5)
    assert beam.moment_range_nm[1][0] / unit == pytest.approx(greatest, abs=1e-7)


def random_beam(rng: np.random.Generator) -> dict[str, Any]:
    """Two to six supports, overhangs, both kinds of load, settlement, some springs."""
    gaps = rng.uniform(1.0, 6.0, rng.integers(1, 6))
    left, right = rng.choice([0.0, 1.0], 2) * rng.uniform(0.3, 2.0, 2)
    supports = left + np.concatenate([[0.0], np.cumsum(gaps)])
    length = float(supports[-1] + right)
    loads: list[Any] = [
        ha.suspension.PointLoad(rng.uniform(0, length), rng.uniform(500, 5000))
        for _ in range(rng.integers(1, 4))
    ]
    for _ in range(rng.integers(1, 3)):
        ends = np.sort(rng.uniform(0, length, 2))
        loads.append(ha.suspension.DistributedLoad(ends[0], ends[1], *rng.uniform(50, 900, 2)))
    springs = rng.random(len(supports)) < 0.3
    return {
        "length_m": length,
        "supports_m": supports,
        "loads": loads,
        "ei_nm2": EI,
        "settlement_m": rng.uniform(-0.02, 0.02, len(supports)),
        "stiffness_n_m": [float(rng.uniform(2e5, 5e6)) if spring else None for spring in springs],
    }


def frame_model(beam: dict[str, Any]) -> tuple[FEModel3D, list[str]]:
    model = FEModel3D()
    model.add_material("section", E=1.0, G=1.0, nu=0.0, rho=0.0)
    model.add_section("section", A=1e4, Iy=EI, Iz=EI, J=1e4)
    places = {0.0, beam["length_m"], *beam["supports_m"]}
    names = {x: f"N{i}" for i, x in enumerate(sorted(places))}
    for x, name in names.items():
        model.add_node(name, x, 0, 0)
    model.add_member("B", names[0.0], names[beam["length_m"]], "section", "section")
    supports = zip(beam["supports_m"], beam["settlement_m"], beam["stiffness_n_m"], strict=True)
    order = []
    for index, (x, sunk, rate) in enumerate(supports):
        end, name = (names[x], names[x])
        if rate is not None:
            # A stiff axial bar of length 1 m below the node carries the settlement.
            end = f"G{index}"
            model.add_node(end, x, -1.0, 0)
            model.add_spring(f"S{index}", end, name, rate)
        first = index == 0
        if rate is not None:
            model.def_support(end, True, True, True, True, True, True)
            model.def_support(name, first, False, True, first, False, False)
        else:
            model.def_support(name, first, True, True, first, False, False)
        model.def_node_disp(end, "DY", -sunk)
        order.append(end)
    for load in beam["loads"]:
        if isinstance(load, ha.suspension.PointLoad):
            model.add_member_pt_load("B", "Fy", -load.force_n, load.x_m)
            continue
        # Cut at the nodes: of a varying load over several nodes the library loses some per cent,
        # so that its reactions no longer add up to the load.
        cuts = [load.from_m, *(x for x in sorted(places) if load.from_m < x < load.to_m), load.to_m]
        ends = np.interp(cuts, [load.from_m, load.to_m], [load.start_n_m, load.end_n_m])
        for index in range(len(cuts) - 1):
            model.add_member_dist_load(
                "B", "Fy", -ends[index], -ends[index + 1], cuts[index], cuts[index + 1]
            )
    model.analyze_linear(check_statics=False)
    return model, order


def test_a_hundred_random_beams_agree_with_a_frame_library(outside: Outside) -> None:
    rng = np.random.default_rng(2026)
    errors: dict[str, list[float]] = {"reaction": [], "moment": [], "deflection": []}
    for _ in range(100):
        case = random_beam(rng)
        beam = ha.beam(**case)
        model, order = frame_model(case)
        member = model.members["B"]
        reaction = np.array([model.nodes[name].RxnFY["Combo 1"] for name in order])
        x = np.linspace(0.013, 0.987, 23) * case["length_m"]
        moment = np.array([-member.moment("Mz", place, "Combo 1") for place in x])
        sunk = np.array([-member.deflection("dy", place, "Combo 1") for place in x])
        for name, ours, theirs in [
            ("reaction", beam.reaction_n, reaction),
            ("moment", beam.moment_nm(x), moment),
            ("deflection", beam.deflection_m(x), sunk),
        ]:
            errors[name].append(np.abs(ours - theirs).max() / np.abs(theirs).max())
    for name, found in errors.items():
        assert len(found) == 100
        assert np.median(found) < 1e-10, name
        outside.check(
            "beams",
            f"{name} of 100 random beams with springs, settlements and both kinds of load",
            Source("matrix statics by PyNite", Kind.LIBRARY, "PyNiteFEA"),
            theirs=0.0,
            ours=found,
            unit="of the greatest of the beam",
            within=1e-8,
            why="rounding of both",
        )


def test_a_hundred_random_beams_agree_with_a_continuous_beam_library(outside: Outside) -> None:
    rng = np.random.default_rng(7)
    for _ in range(100):
        spans = rng.uniform(2.0, 7.0, rng.integers(1, 6))
        supports = np.concatenate([[0.0], np.cumsum(spans)])
        analysis = pycba.BeamAnalysis(spans, EI, [-1, 0] * len(supports))
        loads: list[Any] = []
        for index, span in enumerate(spans):
            spread = rng.uniform(100, 900)
            analysis.add_udl(index + 1, spread)
            loads.append((supports[index], supports[index] + span, spread))
            place, force = rng.uniform(0.1, 0.9) * span, rng.uniform(500, 4000)
            analysis.add_pl(index + 1, force, place)
            loads.append((supports[index] + place, force))
        analysis.analyze()
        beam = ha.beam(float(supports[-1]), supports, loads, ei_nm2=EI)
        theirs = np.asarray(analysis.beam_results.R)
        outside.check(
            "beams", "reactions of 100 random continuous beams",
            ran("pycba", "stiffness method by PyCBA"), theirs=theirs / np.abs(theirs).max(),
            ours=beam.reaction_n / np.abs(theirs).max(), unit="of the greatest", within=1e-8,
            why="the library solves for settlements of stiff supports",
        )  # fmt: skip


def test_a_hinge_splits_a_beam_into_a_simple_span_on_a_cantilever() -> None:
    """The drop-in span's shear at the hinge loads the other as a tip load; closed form."""
    beam = ha.beam(9.0, [0.0, 4.0, 9.0], [(4.0, 9.0, 100.0)], ei_nm2=EI, hinges_m=[5.0])
    hinge_n = 100.0 * 4.0 / 2
    tip_moment = -(hinge_n * 1.0 + 100.0 * 1.0**2 / 2)
    assert beam.moment_nm(5.0) == pytest.approx(0.0, abs=1e-8)
    assert beam.moment_nm(4.0) == pytest.approx(tip_moment)
    np.testing.assert_allclose(
        beam.reaction_n, [tip_moment / 4.0, 100.0 + hinge_n - tip_moment / 4.0, hinge_n]
    )


def test_a_hinge_beside_a_loaded_overhang_passes_its_moment_on() -> None:
    """Loaded at the tip only: no moment at the hinge gives one reaction after the other."""
    tip_n = 300.0
    beam = ha.beam(10.0, [1.0, 5.0, 10.0], [(0.0, tip_n)], ei_nm2=EI, hinges_m=[3.0])
    first_n = tip_n * 3.0 / 2.0
    sag_nm = (first_n - tip_n) * 2.0
    last_n = sag_nm / 5.0
    np.testing.assert_allclose(beam.reaction_n, [first_n, tip_n - first_n - last_n, last_n])
    at = np.array([1.0, 3.0, 5.0])
    np.testing.assert_allclose(beam.moment_nm(at), [-tip_n * 1.0, 0.0, sag_nm], atol=1e-8)


def test_a_piece_that_hangs_on_a_hinge_alone_is_refused() -> None:
    """The last hoist slackens under a pull up at the tip; the piece beyond the hinge then turns."""
    loads = [(0.0, 8.0, 3000.0), (12.0, -1000.0)]
    where = {"length_m": 12.0, "supports_m": [0.0, 4.0, 8.0, 12.0], "ei_nm2": EI}
    with pytest.raises(ha.InputError, match=r"loads = 2 loads: .* hoists that only pull"):
        ha.beam(**where, loads=loads, hinges_m=[9.0], only_pull=True)
    whole = ha.beam(**where, loads=loads, only_pull=True)
    assert whole.slack.tolist() == [False, False, False, True]


def test_the_beams_own_weight_is_a_load_over_all_of_it() -> None:
    case = {"length_m": 11.0, "supports_m": [2.0, 5.0, 9.0], "ei_nm2": EI}
    own = ha.beam(**case, loads=[(3.0, 400.0)], self_weight_n_m=120.0)
    given = ha.beam(**case, loads=[(3.0, 400.0), (0.0, 11.0, 120.0)])
    np.testing.assert_allclose(own.reaction_n, given.reaction_n, rtol=1e-12)
    assert own.reaction_n.sum() == pytest.approx(400.0 + 11.0 * 120.0)


def test_the_ranges_hold_what_many_places_show_and_no_more() -> None:
    """Loads that change from down to up between their ends among them, as wind on a roof does."""
    rng = np.random.default_rng(5)
    for _ in range(60):
        case = random_beam(rng)
        ends = np.sort(rng.uniform(0, case["length_m"], 2))
        case["loads"].append(ha.suspension.DistributedLoad(*ends, *rng.uniform(-2500, 2500, 2)))
        beam = ha.beam(**case)
        x = np.linspace(0.0, case["length_m"], 4001)
        for (least, greatest), seen in (
            (beam.moment_range_nm, beam.moment_nm(x)),
            (beam.shear_range_n, beam.shear_n(x)),
        ):
            step = np.abs(np.diff(seen)).max()
            assert least[0] <= seen.min() + 1e-9 * np.abs(seen).max()
            assert greatest[0] >= seen.max() - 1e-9 * np.abs(seen).max()
            assert least[0] >= seen.min() - step
            assert greatest[0] <= seen.max() + step


def test_the_shear_beside_a_load_is_what_stands_to_the_left_with_it() -> None:
    """On either overhang and between: upward forces up to the place, less the loads up to it."""
    supports, places = np.array([2.0, 5.0, 9.0]), [0.5, 3.0, 7.5, 10.5]
    beam = ha.beam(11.0, supports, [(x, 100.0 * (1 + x)) for x in places], ei_nm2=EI)
    for x in [*places, *supports]:
        up = beam.reaction_n[supports <= x].sum()
        down = sum(100.0 * (1 + at) for at in places if at <= x)
        assert beam.shear_n(x) == pytest.approx(up - down, abs=1e-8)


def test_one_hoist_of_three_too_high_takes_load_from_its_neighbours() -> None:
    """Middle support of two equal spans raised by h: R changes by 6 EI h / L³, handbook form."""
    span, high = 6.0, 0.020
    level = ha.beam(2 * span, [0, span, 2 * span], [(0.0, 2 * span, 500.0)], ei_nm2=EI)
    raised = ha.beam(
        2 * span,
        [0, span, 2 * span],
        [(0.0, 2 * span, 500.0)],
        ei_nm2=EI,
        settlement_m=[0.0, -high, 0.0],
    )
    gain = 6 * EI * high / span**3
    np.testing.assert_allclose(
        raised.reaction_n - level.reaction_n, [-gain / 2, gain, -gain / 2], rtol=1e-10
    )
    np.testing.assert_allclose(
        level.settlement_influence_n_m()[:, 1] * -high, raised.reaction_n - level.reaction_n
    )


def test_influence_lines_add_up_to_the_load_and_superpose() -> None:
    beam = ha.beam(14.0, [1.0, 6.0, 12.0], [(3.0, 700.0), (13.5, 200.0)], ei_nm2=EI)
    x = np.linspace(0, 14, 29)
    share = beam.load_influence(x)
    np.testing.assert_allclose(share.sum(axis=1), 1.0)
    np.testing.assert_allclose(share @ [1.0, 6.0, 12.0], x, atol=1e-9)
    both = 700.0 * beam.load_influence(3.0)[0] + 200.0 * beam.load_influence(13.5)[0]
    np.testing.assert_allclose(both, beam.reaction_n)


def test_hoists_that_only_pull_solve_the_complementarity(outside: Outside) -> None:
    """Least energy over non-negative reactions in balance, by a general optimiser."""
    rng = np.random.default_rng(5)
    checked = 0
    for _ in range(60):
        supports = np.sort(rng.uniform(0, 20, 5))
        if np.diff(supports).min() < 0.8:
            continue
        loads = [(float(rng.uniform(2, 18)), float(rng.uniform(500, 4000))) for _ in range(3)]
        sunk, rate = rng.uniform(-0.03, 0.03, 5), 4e5
        place, force = np.array(loads).T
        total = force.sum()
        if not supports[0] < place @ force / total < supports[-1]:
            continue
        beam = ha.beam(
            20.0, supports, loads, EI, settlement_m=sunk, stiffness_n_m=rate, only_pull=True
        )
        # The flexibility of a free beam, |x − s|³ / 12 EI, is positive on forces in balance; a
        # multiple of balanceᵀ balance makes it so everywhere and is constant in the solution.
        unit = 20.0**3 / EI
        balance = np.vstack([np.ones(5), supports / 20])
        flexible = np.abs(supports[:, None] - supports) ** 3 / (12 * EI) + np.eye(5) / rate
        flexible = flexible / unit + 10 * balance.T @ balance
        given = (np.abs(supports[:, None] - place) ** 3 @ force / (12 * EI) - sunk) / (unit * total)
        wanted = np.array([1.0, place @ force / (20 * total)])
        found = minimize(
            lambda r, f=flexible, g=given: 0.5 * r @ f @ r - g @ r,
            np.full(5, 0.2),
            jac=lambda r, f=flexible, g=given: f @ r - g,
            bounds=[(0, None)] * 5,
            constraints={
                "type": "eq",
                "fun": lambda r, a=balance, b=wanted: a @ r - b,
                "jac": lambda r, a=balance: a,
            },
            method="SLSQP",
            options={"ftol": 1e-15, "maxiter": 1000},
        )
        outside.check(
            "beams", "reactions of beams on five hoists that only pull, out of level",
            ran("scipy", "least energy over pulls in balance, SLSQP of SciPy"), theirs=found.x,
            ours=beam.reaction_n / total, unit="of the load", within=1e-4,
            why="where the minimiser stops",
        )  # fmt: skip
        checked += int(beam.slack.any())
    assert checked > 10


def test_limits_nobody_stated_are_no_pass() -> None:
    beam = ha.beam(8.0, [0.0, 8.0], [(4.0, 1000.0), (0.0, 8.0, 50.0)], ei_nm2=EI)
    uses = {use.item: use for use in beam.limits(moment_limit_nm=4800.0)}
    assert uses["moment"].utilisation == pytest.approx((2000.0 + 400.0) / 4800.0)
    assert uses["support 1"].limit is None
    assert uses["support 1"].utilisation is None
    spans = beam.span_uses([ha.suspension.SpanLimit(9.0, uniform_n_m=200.0, point_n=4000.0)])
    assert spans[0].utilisation == pytest.approx(50 / 200 + 1000 / 4000)
    assert beam.span_uses([ha.suspension.SpanLimit(7.0, 200.0, 4000.0)])[0].utilisation is None
    assert {use.item: use.unit for use in beam.limits()} == {
        "moment": "N m",
        "shear": "N",
        "deflection": "m",
        "support 1": "N",
        "support 2": "N",
    }


def test_a_load_on_a_support_is_no_load_of_the_spans_beside_it() -> None:
    """By hand: it bends nothing; the support holds it all."""
    loads = [(0.0, 500.0), (3.0, 40.0), (5.0, 700.0), (11.0, 900.0)]
    beam = ha.beam(11.0, [0.0, 5.0, 11.0], loads, ei_nm2=EI)
    only = ha.beam(11.0, [0.0, 5.0, 11.0], [(3.0, 40.0)], ei_nm2=EI)
    np.testing.assert_allclose(beam.reaction_n, np.add(only.reaction_n, [500.0, 700.0, 900.0]))
    spans = beam.span_uses([ha.suspension.SpanLimit(6.0, uniform_n_m=100.0, point_n=2000.0)])
    assert [span.point_n for span in spans] == [40.0, 0.0]


def test_a_beam_comes_back_from_a_pickle_with_all_it_can_tell() -> None:
    beam = ha.beam(
        12.0,
        [0.0, 5.0, 11.0],
        [(3.0, 900.0), (1.0, 9.0, 40.0, 80.0)],
        EI,
        [0.0, 0.01, 0.0],
        stiffness_n_m=[None, 4e5, 4e5],
        self_weight_n_m=60.0,
        only_pull=True,
    )
    places = np.linspace(0.0, 12.0, 25)
    for again in (pickle.loads(pickle.dumps(beam)), copy.deepcopy(beam)):
        assert again.to_dict() == beam.to_dict()
        for quantity in ("moment_nm", "shear_n", "deflection_m", "load_influence"):
            np.testing.assert_array_equal(
                getattr(again, quantity)(places), getattr(beam, quantity)(places)
            )
        uses = again.limits(moment_limit_nm=900.0, reaction_limit_n=2000.0)
        assert [use.to_dict() for use in uses] == [
            use.to_dict() for use in beam.limits(moment_limit_nm=900.0, reaction_limit_n=2000.0)
        ]
        (span, *_) = again.span_uses([ha.suspension.SpanLimit(6.0, 100.0, 2000.0)])
        assert pickle.loads(pickle.dumps(span)).to_dict() == span.to_dict()


def test_rows_of_hangs_and_of_beams_read_alike() -> None:
    rows: list[ha.statics.LimitRow | ha.statics.LimitUse] = [
        ha.statics.LimitRow(
            item="hoist 1",
            force_n=900.0,
            limit_n=None,
            utilisation=None,
            case="hanging",
            part="hoist",
            number=0,
            state="hanging",
            factor_use="applied",
            dynamic_factor=1.0,
        )
    ]
    rows += ha.beam(8.0, [0.0, 8.0], [(4.0, 1000.0)], EI).limits(moment_limit_nm=4000.0)
    told = [(row.item, row.unit, row.value, row.limit, row.utilisation) for row in rows]
    assert told[0] == ("hoist 1", "N", 900.0, None, None)
    assert told[1] == ("moment", "N m", pytest.approx(2000.0), 4000.0, pytest.approx(0.5))


NAN = float("nan")


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("length_m", {"length_m": 0.0}),
        ("length_m", {"length_m": NAN}),
        ("supports_m", {"supports_m": [1.0]}),
        ("supports_m[1]", {"supports_m": [1.0, 11.0]}),
        ("supports_m[1]", {"supports_m": [1.0, 1.0]}),
        ("ei_nm2", {"ei_nm2": -1.0}),
        ("settlement_m", {"settlement_m": [0.0]}),
        ("stiffness_n_m[1]", {"stiffness_n_m": [None, 0.0]}),
        ("hinges_m[0]", {"hinges_m": [9.5]}),
        ("hinges_m", {"hinges_m": [5.0]}),
        ("loads[0].x_m", {"loads": [(12.0, 1.0)]}),
        ("loads[1].to_m", {"loads": [(1.0, 1.0), (5.0, 4.0, 1.0)]}),
        ("loads[0]", {"loads": [(1.0, NAN)]}),
        ("loads[0]", {"loads": [3.0]}),
        ("self_weight_n_m", {"self_weight_n_m": -1.0}),
        ("loads", {"loads": [(10.0, 500.0)], "only_pull": True}),
    ],
)
def test_a_bad_beam_is_refused_by_name(field: str, changes: dict[str, Any]) -> None:
    good: dict[str, Any] = {
        "length_m": 10.0,
        "supports_m": [1.0, 9.0],
        "loads": [(5.0, 100.0)],
        "ei_nm2": EI,
    }
    with pytest.raises(ha.InputError) as refused:
        ha.beam(**{**good, **changes})
    assert refused.value.field == field


def test_a_place_off_the_beam_is_refused() -> None:
    beam = ha.beam(10.0, [0.0, 10.0], [(5.0, 100.0)], ei_nm2=EI)
    with pytest.raises(ha.InputError, match=r"x_m\[1\]"):
        beam.moment_nm([1.0, 10.5])


def test_an_input_of_the_wrong_kind_is_refused_by_name() -> None:
    with pytest.raises(ha.InputError, match="loads"):
        ha.beam(10.0, [0.0, 10.0], 5.0, EI)  # type: ignore[arg-type]
    with pytest.raises(ha.InputError, match="stiffness_n_m"):
        ha.beam(10.0, [0.0, 10.0], [(5.0, 1.0)], EI, stiffness_n_m=object())  # type: ignore[arg-type]
    beam = ha.beam(10.0, [0.0, 10.0], [(5.0, 1.0)], EI, stiffness_n_m=np.int64(100_000))
    assert beam.deflection_m(0.0) == pytest.approx(0.5 / 1e5)
    with pytest.raises(ha.InputError, match=r"span_table\[0\]"):
        beam.span_uses([(5.0, 1.0, 1.0)])  # type: ignore[list-item]
