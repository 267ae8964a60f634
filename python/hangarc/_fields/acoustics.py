"""Levels: what crosses between the face and the core."""

from __future__ import annotations

from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from hangarc.model.balloon import Along


class LeftOutFields(TypedDict):
    along: Along
    count: int
    level_rms_db: float
    level_most_db: float
    phase_rms_deg: float
    phase_most_deg: float


class LevelsFields(TypedDict):
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    greatest_level_db: NDArray[np.float64] | None
    level_db: NDArray[np.float64]


class FullDriveFields(TypedDict):
    share_db: NDArray[np.float64]
    gain_db: float
    hang: int
    cabinet: int
    band: int | None
    band_headroom_db: list[float | None]


class SightFields(TypedDict):
    seen: NDArray[np.bool_]
    position_m: NDArray[np.float64]
    area: NDArray[np.int64]


class SeatLevelsFields(TypedDict):
    band_hz: NDArray[np.float64]
    band_level_db: NDArray[np.float64]
    greatest_level_db: NDArray[np.float64] | None
    level_db: NDArray[np.float64]
    position_m: NDArray[np.float64]
    weight: NDArray[np.float64]
    area: NDArray[np.int64]
    cabinets_seen: NDArray[np.int64]
    evenness_db: float


class UnevennessFields(TypedDict):
    unevenness_db: float
    band_spread_db: NDArray[np.float64]
    band_mean_db: NDArray[np.float64]
    mean_db: float
    spectral_spread_db: float
    share_3_db_below: float
    share_6_db_below: float
