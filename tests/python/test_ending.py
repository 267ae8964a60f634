"""Every result of a solver says how it ended, why, and what would help, in one way."""

from __future__ import annotations

import typing

import builders
import hangarc as ha
import pytest
from hangarc import search
from hangarc._ending import Ended

KINDS = [
    ha.closing.Closing,
    ha.closing.RestAtForce,
    ha.closing.Shortening,
    ha.closing.ClosingStage,
    ha.search.Electronics,
    ha.search.SystemResult,
    ha.suspension.HeavyLeg,
    ha.sweeps.SweepSummary,
    ha.closing.Bypass,
    search.SearchResult,
    ha.statics.BuildStage,
    ha.statics.PullBack,
    ha.suspension.LiftOff,
    ha.suspension.OnLines,
    ha.survey.PlanComparison,
    ha.wind.PartsInWind,
    ha.wind.WindLoads,
]


@pytest.mark.parametrize("kind", KINDS)
def test_every_way_to_end_has_its_meaning(kind: type[Ended]) -> None:
    words = typing.get_args(typing.get_type_hints(kind)["ended"])
    assert set(words) == set(kind._endings)
    for ending in kind._endings.values():
        assert ending.why
        assert bool(ending.help) == (not ending.ok)
    if kind is search.SearchResult:
        return
    good = [word for word, ending in kind._endings.items() if ending.ok]
    assert len(good) == 1


def test_a_hang_that_closes_is_ok_and_balanced_all_the_way() -> None:
    hang = builders.hang([1.0, 2.0, 3.0, 5.0], "compression")
    closing = ha.close(hang, -2.0)
    assert (closing.ended, closing.ok, closing.what_would_help) == ("closed", True, "")
    assert closing.residual < 1e-9
    assert ha.shortening(hang, -2.0).ok
    assert ha.closing.closing_stages(hang, -2.0).ok
    rest = ha.closing.rest_at_force(hang, -2.0, 500.0)
    assert rest.ok
    assert rest.residual < 1e-9


def test_a_hang_that_does_not_close_says_why_and_what_would_help() -> None:
    frame = builders.frame(chain_anchor_m=(0.3, -0.2))
    hang = builders.hang([1.0, 2.0], "compression", frame=frame)
    closing = ha.close(hang, 0.0, top_joint="stop")
    assert not closing.ok
    assert closing.why == closing._endings[closing.ended].why
    assert "tilt" in closing.what_would_help


def test_a_hang_in_the_wind_is_at_rest() -> None:
    hang = builders.hang([1.0, 2.0, 5.0], "compression")
    loads = ha.wind_loads(hang, 0.0, [0.0, -0.6], ha.Wind(speed_m_s=20.0), top_m=9.0)
    assert (loads.ended, loads.ok, loads.what_would_help) == ("at rest", True, "")
    assert loads.residual < 1e-9


def test_a_search_says_why_it_ended_and_what_would_help() -> None:
    study = ha.demo.study(cabinets=3)
    cut_short = ha.optimise_splays(study, budget_evaluations=10)
    assert (cut_short.ended, cut_short.ok) == ("budget spent", False)
    assert "budget" in cut_short.what_would_help
    given = ha.evaluate(study).search
    assert (given.ended, given.ok, given.what_would_help) == ("given", True, "")
