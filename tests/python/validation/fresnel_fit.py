"""Make the coefficients of `src/acoustics/rooms/fresnel.rs`: run it and compare what it prints.

f and g of the Fresnel integrals (Abramowitz and Stegun 7.3.5, 7.3.6) by `scipy.special.wofz`,
fitted by rational functions that are 1/2 at 0: linear least squares, weights moved towards the
largest errors (Lawson) until these level out.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.special import wofz

NU = np.concatenate([np.linspace(0, 3, 1200), np.linspace(3, 12, 800), np.geomspace(12, 2000, 500)])


def auxiliary(nu: Any) -> tuple[Any, Any]:
    """f and g: ∫_ν^∞ e^{−jπt²/2} dt = (g − jf) e^{−jπν²/2}."""
    value = (1 - 1j) / 2 * wofz(1j * np.sqrt(np.pi) / 2 * (1 + 1j) * nu)
    return -value.imag, value.real


def fit(y: Any, scale: Any, above: int, below: int) -> tuple[float, Any, Any]:
    weight, q = 1.0 / scale, np.ones_like(NU)
    best: tuple[float, Any, Any] = (np.inf, None, None)
    for _ in range(80):
        up = NU[:, None] ** np.arange(1, above + 1)
        down = NU[:, None] ** np.arange(1, below + 1)
        row_weight = weight / np.abs(q)
        matrix = np.hstack([up, -y[:, None] * down]) * row_weight[:, None]
        size = np.abs(matrix).max(0)
        found = np.linalg.lstsq(matrix / size, (y - 0.5) * row_weight, rcond=None)[0] / size
        p, d = np.concatenate([[0.5], found[:above]]), np.concatenate([[1.0], found[above:]])
        q = np.polyval(d[::-1], NU)
        off = (np.polyval(p[::-1], NU) / q - y) / scale
        most = np.abs(off).max()
        if most < best[0]:
            best = (most, p, d)
        weight *= (0.3 + np.abs(off) / most) ** 0.7
        weight /= (weight * scale).mean()
    return best


if __name__ == "__main__":
    f, g = auxiliary(NU)
    for name, y, above, below in (("f", f, 3, 4), ("g", g, 2, 5)):
        most, p, q = fit(y, f, above, below)
        print(name, f"off by at most {most:.1e} of f")
        print([float(f"{c:.9g}") for c in p], [float(f"{c:.9g}") for c in q])
