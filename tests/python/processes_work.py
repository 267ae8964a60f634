"""Something of every parallel loop of the core, for processes that are to agree on it."""

from __future__ import annotations

import hashlib

import builders
import hangarc as ha
import numpy as np


def field_bits() -> str:
    receivers = np.column_stack([np.linspace(5.0, 40.0, 400), np.zeros(400), np.full(400, 1.2)])
    pressure = ha.pressure(
        builders.hang([1.0, 2.0, 3.0]), 0.0, 9.0, receivers, [500.0, 2000.0], ha.Air()
    )
    return hashlib.sha256(pressure.tobytes()).hexdigest()


def everything(seed: int) -> list[str]:
    study = builders.study(hang=builders.hang([0.0] * 3))
    search = ha.optimise_splays(study, seed=seed, budget_evaluations=300)
    evenness_db = ha.evenness_db(search.hang, search.tilt_deg, search.top_m, study.venue)
    spread = ha.closing.closing_spread(
        builders.hang([2.0] * 3, "compression"), 0.0, mass_spread=0.02, cases=200
    )
    return [
        search.evenness_db.hex(),
        str(search.splays_deg.tolist()),
        evenness_db.hex(),
        float(spread.closing_force_n.sum()).hex(),
        field_bits(),
    ]
