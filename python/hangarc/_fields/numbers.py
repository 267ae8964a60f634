"""Numbers as the core reads them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Numbers = Sequence[float] | NDArray[np.float64]
Points = Sequence[Sequence[float]] | NDArray[np.float64]
Pair = tuple[tuple[float, float], tuple[float, float]]
WindRow = tuple[float, float, tuple[str, float, float] | None]
