"""The search's objective written out in plain NumPy, from the levels at the seats alone."""

from __future__ import annotations

import itertools

import hangarc as ha
import numpy as np


def levels_of(
    study: ha.Study, hang: ha.Hang, tilt_deg: float, top_m: float
) -> ha.acoustics.SeatLevels:
    goals = study.goals
    return ha.acoustics.seat_levels(
        ha.Rig(hangs=[ha.Placed(hang=hang, tilt_deg=tilt_deg, top_m=top_m)]),
        venue=study.venue,
        air=study.air,
        lowest_hz=goals.lowest_hz,
        highest_hz=goals.highest_hz,
        lines_per_band=study.lines_per_band,
    )


def spread_and_mean_db(levels: ha.acoustics.SeatLevels) -> tuple[float, float]:
    """J = √( Σ_b Σ_r w (L_rb − M_b)² / (B Σ w) ), and the mean of M_b."""
    mean_db = np.average(levels.band_level_db, axis=1, weights=levels.weight)
    square = (levels.band_level_db - mean_db[:, None]) ** 2
    spread_db = np.sqrt(np.average(square.mean(axis=0), weights=levels.weight))
    return float(spread_db), float(mean_db.mean())


def roughness_deg(splays_deg: np.ndarray, gaps: int) -> float:
    """RMS second difference, the one or no joint left out that leaves the least."""
    second = np.diff(splays_deg, 2) ** 2
    if len(second) == 0:
        return 0.0
    joints = range(len(splays_deg))
    kept = [
        [d for j, d in enumerate(second) if not any(abs(j + 1 - free) <= 1 for free in freed)]
        for freed in itertools.combinations(joints, min(gaps, 1))
    ]
    return float(np.sqrt(min(map(sum, kept)) / len(second)))


def objective_db(
    study: ha.Study, hang: ha.Hang, tilt_deg: float, top_m: float, gaps: int = 0
) -> float:
    goals = study.goals
    spread_db, mean_db = spread_and_mean_db(levels_of(study, hang, tilt_deg, top_m))
    rough_deg = roughness_deg(np.asarray(hang.splays_deg), gaps)
    return spread_db - goals.level_price * mean_db + goals.roughness_price * rough_deg
