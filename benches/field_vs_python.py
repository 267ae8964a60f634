"""The direct field side by side with what one would write in Python, in one run.

All contenders get the same geometry, worked out beforehand, and the same frequencies, except
"NumPy, geometry as well", which like hangarc works it out in each call; hangarc starts from the
hang itself. NumPy is single-threaded, as a user writes it; all others use every core. Runs are
interleaved, each contender's turns as long as any other's, and the median is shown. Every
contender's result is checked against NumPy's first. On a quiet machine the load average printed
below each table is about that of the run itself. Run with
``python benches/field_vs_python.py [rounds]``.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

# NumPy's own loops use one thread; this keeps its library of linear algebra to one as well.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import hangarc as ha
import jax
import jax.numpy as jnp
import numba
import numpy as np
from hangarc import _core

jax.config.update("jax_enable_x64", True)

HEIGHT_M = 0.1
COVERAGE_DEG = 90.0
TURN_S = 0.04


def demo_hang(cabinets: int) -> ha.Hang:
    """Demo data: elements short enough to need no sub-division at these distances."""
    source = ha.Source(elements=[ha.LineElement(height_m=HEIGHT_M)], coverage_deg=COVERAGE_DEG)
    cabinet = ha.Cabinet(
        name="demo data",
        mass_kg=10.0,
        height_m=HEIGHT_M,
        depth_m=0.3,
        width_m=0.6,
        cg_m=(-0.15, 0.0),
        rear_pin_x_m=-0.25,
        rear_pin_inset_m=0.02,
        splay_positions_deg=[0.5],
        source=source,
    )
    frame = ha.FlyFrame(
        mass_kg=20.0, height_m=0.2, cg_m=(-0.2, 0.1), pick_x_m=[0.0, -0.3], pick_z_m=0.2
    )
    return ha.Hang(
        frame=frame,
        cabinets=[cabinet] * cabinets,
        splays_deg=[0.5] * (cabinets - 1),
        rigging="tension",
    )


class Case:
    """Geometry, frequencies and air of one size."""

    def __init__(self, cabinets: int, receivers: int, frequency_hz: np.ndarray) -> None:
        rng = np.random.default_rng(0)
        self.hang = demo_hang(cabinets)
        self.frequency_hz = frequency_hz
        self.receivers_m = rng.uniform((20, -15, 0), (80, 15, 8), (receivers, 3))
        self.pose = ha.pose(self.hang, 2.0, 12.0)
        self.terms = cabinets * receivers * len(frequency_hz)

    def arrays(self) -> tuple[np.ndarray, ...]:
        """Distances, sines, amplitudes, wavenumbers and decays, as a user works them out."""
        pose = self.pose
        axis = np.radians(pose.axis_deg)
        middle = np.column_stack([pose.front_m[:, 0], 0 * axis, pose.front_m[:, 1]])
        ray = self.receivers_m[:, None, :] - middle
        distance_m = np.linalg.norm(ray, axis=2)
        up = np.column_stack([-np.sin(axis), 0 * axis, np.cos(axis)])
        ahead = np.column_stack([np.cos(axis), 0 * axis, np.sin(axis)])
        sine = np.einsum("rsi,si->rs", ray, up) / distance_m
        azimuth = np.arctan2(ray[:, :, 1], np.einsum("rsi,si->rs", ray, ahead))
        edge = np.tan(np.radians(COVERAGE_DEG) / 4)
        amplitude = 1 / (1 + (np.tan(azimuth / 2) / edge) ** 2) / distance_m
        wavenumber = 2 * np.pi * self.frequency_hz / ha.acoustics.sound_speed_m_s()
        decay_np_m = ha.air_absorption_db_per_m(self.frequency_hz) * np.log(10) / 20
        return (distance_m, sine, amplitude, wavenumber, decay_np_m)


def with_numpy(d, sine, amplitude, wavenumber, decay):
    p = np.empty((len(wavenumber), len(d)), complex)
    for i, (k, alpha) in enumerate(zip(wavenumber, decay, strict=True)):
        vertical = np.sinc(k * HEIGHT_M / 2 * sine / np.pi)
        p[i] = np.sum(amplitude * vertical * np.exp(-1j * k * d - alpha * d), axis=1)
    return p


@numba.njit(parallel=True, fastmath=True, cache=True)
def with_numba(d, sine, amplitude, wavenumber, decay):
    receivers, sources = d.shape
    p = np.empty((len(wavenumber), receivers), np.complex128)
    for r in numba.prange(receivers):
        for i in range(len(wavenumber)):
            k, alpha = wavenumber[i], decay[i]
            re, im = 0.0, 0.0
            for s in range(sources):
                x = k * HEIGHT_M / 2 * sine[r, s]
                vertical = np.sin(x) / x if x != 0.0 else 1.0
                a = amplitude[r, s] * vertical * np.exp(-alpha * d[r, s])
                re += a * np.cos(k * d[r, s])
                im -= a * np.sin(k * d[r, s])
            p[i, r] = complex(re, im)
    return p


S0, S1, S2, S3, S4, S5, S6, S7 = (
    *(3.1415926535897927, -5.1677127800497855, 2.5501640398618677, -0.599264528825224),
    *(0.08214587881631043, -0.0073703643265304155, 0.0004659870158043378, -2.113362735205297e-05),
)
C0, C1, C2, C3, C4, C5, C6, C7 = (
    *(0.9999999999999981, -4.934802200543686, 4.058712126333295, -1.3352627661817635),
    *(0.23533058831317874, -0.025806531975921563, 0.0019278700526981333, -0.0001004164642205389),
)


E2, E3, E4, E5, E6, E7 = 1 / 2, 1 / 6, 1 / 24, 1 / 120, 1 / 720, 1 / 5040


@numba.njit(parallel=True, fastmath={"contract", "reassoc", "nsz", "nnan", "ninf"}, cache=True)
def with_numba_polynomials(d, sine, amplitude, wavenumber, decay):
    """The strongest peer: the same polynomials by hand, receivers innermost for registers."""
    sources, receivers = d.shape
    block = 64
    p = np.empty((len(wavenumber), receivers), np.complex128)
    for b in numba.prange((receivers + block - 1) // block):
        first = b * block
        count = min(block, receivers - first)
        re, im = np.empty(block), np.empty(block)
        # What does not depend on frequency, once: half the slope, and the gain over its sine.
        slope_m, gain = np.empty((sources, block)), np.empty((sources, block))
        for s in range(sources):
            for j in range(count):
                slope_m[s, j] = HEIGHT_M / 2 * sine[s, first + j] + 1e-30
                gain[s, j] = amplitude[s, first + j] / (np.pi * slope_m[s, j])
        for i in range(len(wavenumber)):
            turns, alpha = wavenumber[i] / np.pi, decay[i]
            re[:] = 0.0
            im[:] = 0.0
            for s in range(sources):
                for j in range(count):
                    dist = d[s, first + j]
                    t = turns * dist
                    n = np.floor(t + 0.5)
                    q = t - n
                    z = q * q
                    si = ((((((S7 * z + S6) * z + S5) * z + S4) * z + S3) * z + S2) * z + S1) * z
                    si = (si + S0) * q
                    co = ((((((C7 * z + C6) * z + C5) * z + C4) * z + C3) * z + C2) * z + C1) * z
                    co += C0
                    t = turns * slope_m[s, j]
                    m = np.floor(t + 0.5)
                    q = t - m
                    z = q * q
                    sl = ((((((S7 * z + S6) * z + S5) * z + S4) * z + S3) * z + S2) * z + S1) * z
                    sl = (sl + S0) * q
                    n += m
                    sign = 1.0 - 2.0 * (n - 2.0 * np.floor(0.5 * n))
                    # Series of (e^{x/8})^8; no longer accurate beyond a few nepers.
                    x = -alpha * dist * 0.125
                    e = (((((E7 * x + E6) * x + E5) * x + E4) * x + E3) * x + E2) * x * x + x + 1
                    e *= e
                    e *= e
                    e *= e
                    a = sign * gain[s, j] * e * sl
                    re[j] += a * co
                    im[j] -= a * si
            for j in range(count):
                p[i, first + j] = complex(re[j], im[j]) / turns
    return p


@jax.jit
def with_jax(d, sine, amplitude, wavenumber, decay):
    def one(line):
        k, alpha = line
        vertical = jnp.sinc(k * HEIGHT_M / 2 * sine / jnp.pi)
        a = amplitude * vertical * jnp.exp(-alpha * d)
        return jax.lax.complex(
            jnp.sum(a * jnp.cos(k * d), axis=1), -jnp.sum(a * jnp.sin(k * d), axis=1)
        )

    return jax.lax.map(one, (wavenumber, decay))


def with_hangarc(case: Case, registers: str) -> Callable[[], Any]:
    if not registers:
        return lambda: ha.pressure(case.hang, 2.0, 12.0, case.receivers_m, case.frequency_hz)
    air = ha.Air()
    rig = ha.Rig(hangs=[ha.Placed(hang=case.hang, tilt_deg=2.0, top_m=12.0)])
    return lambda: _core.pressure(
        rig._fields_for(case.frequency_hz),
        *(case.receivers_m, case.frequency_hz, air.handle, registers),
    )


def seconds(run: Callable[[], Any]) -> tuple[float, float]:
    """Time on the wall, and of all threads together."""
    begun, worked = time.perf_counter(), time.process_time()
    run()
    return time.perf_counter() - begun, time.process_time() - worked


def turn(run: Callable[[], Any]) -> list[float]:
    """Medians of the times of one turn, in which each contender calls as often as it can."""
    until = time.perf_counter() + TURN_S
    calls = [seconds(run)]
    while time.perf_counter() < until:
        calls.append(seconds(run))
    return [statistics.median(kind) for kind in zip(*calls, strict=True)]


def contenders(case: Case, registers: list[str]) -> dict[str, Callable[[], Any]]:
    arrays = case.arrays()
    turned = tuple(np.ascontiguousarray(a.T) if a.ndim == 2 else a for a in arrays)
    on_jax = tuple(map(jnp.asarray, arrays))
    runs: dict[str, Callable[[], Any]] = {
        "NumPy, one thread": lambda: with_numpy(*arrays),
        "NumPy, geometry as well": lambda: with_numpy(*case.arrays()),
        "numba, parallel, fastmath": lambda: with_numba(*arrays),
        "numba, polynomials by hand": lambda: with_numba_polynomials(*turned),
        "JAX on CPU": lambda: np.asarray(with_jax(*on_jax)),
    }
    for name in registers:
        runs[f"hangarc, {name or 'from Python'}"] = with_hangarc(case, name)
    return runs


def compare(title: str, case: Case, rounds: int, registers: list[str]) -> None:
    runs = contenders(case, registers)
    expected = runs["NumPy, one thread"]()
    size = np.abs(expected).max(axis=1, keepdims=True)
    for name, run in runs.items():
        worst = np.max(np.abs(run() - expected) / size)
        assert worst < 1e-8, f"{name} differs by {worst:.2e}"
    times: dict[str, list[list[float]]] = {name: [] for name in runs}
    for _ in range(rounds):
        for name, run in runs.items():
            # The threads of the one before look out for more work for a while.
            time.sleep(0.02)
            times[name].append(turn(run))
    median = {
        name: [statistics.median(kind) for kind in zip(*values, strict=True)]
        for name, values in times.items()
    }
    base = median["NumPy, one thread"][0]
    print(f"\n{title}: {case.terms:,} terms, median of {rounds} interleaved rounds")
    print(f"{'':<34}{'ms':>10}{'ns/term':>10}{'× NumPy':>10}{'CPU ns':>10}")
    for name, (wall, work) in median.items():
        share = 1e9 / case.terms
        print(
            f"{name:<34}{wall * 1e3:10.3f}{wall * share:10.3f}{base / wall:10.1f}"
            f"{work * share:10.3f}"
        )
    for name in registers:
        own = f"hangarc, {name or 'from Python'}"
        wall = median[own][0]
        others = (other for other in median if not other.startswith("hangarc"))
        ratios = ", ".join(f"{median[other][0] / wall:.1f} × {other}" for other in others)
        print(f"{own}: {ratios}")
    print(f"load average {', '.join(f'{load:.2f}' for load in os.getloadavg())}")


MEMORY = """
import resource, numpy as np, hangarc as ha, field_vs_python as bench
hang = bench.demo_hang(72)
points = np.random.default_rng(0).uniform((20, -15, 0), (80, 15, 8), (20_000, 3))
peak = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
ha.pressure(hang, 2.0, 12.0, points[:64], bench.octaves())
before = peak()
p = ha.pressure(hang, 2.0, 12.0, points, bench.octaves())
print(peak() - before - p.nbytes / 2**20)
"""


def octaves() -> np.ndarray:
    return np.concatenate([100 * 2 ** (np.arange(20) / 20) * 2.0**o for o in range(6)])


def main() -> None:
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    any_grid = np.geomspace(100.0, 10_000.0, 120)
    # In a process of its own, whose peak nothing else has raised.
    memory = subprocess.run(
        [sys.executable, "-c", MEMORY], cwd=Path(__file__).parent, capture_output=True, check=True
    )
    print(f"memory above input and output: {float(memory.stdout):.1f} MiB")

    registers = _core.registers()
    compare("72 × 20,000 × 120, any grid", Case(72, 20_000, any_grid), rounds, registers)
    compare("72 × 20,000 × 120, octaves", Case(72, 20_000, octaves()), rounds, registers)
    small = any_grid[::5].copy()
    compare("12 × 200 × 24, any grid", Case(12, 200, small), 8 * rounds, ["", *registers])
    low = octaves()[::5].copy()
    compare("12 × 200 × 24, octaves", Case(12, 200, low), 8 * rounds, ["", *registers])


if __name__ == "__main__":
    main()
