"""Five invented venues that ask different things of the same hang, and drawn ones (demo data)."""

from __future__ import annotations

import dataclasses

import numpy as np

from hangarc import demo
from hangarc._keywords import by_name
from hangarc.model import SeatArea, Study, Venue


def _area(name: str, *profile_m: tuple[float, float], width_m: float) -> SeatArea:
    return SeatArea(name=name, profile_m=profile_m, width_m=width_m)


def _study(base: Study, name: str, top_m: tuple[float, float], *areas: SeatArea) -> Study:
    title = f"{name} (demo data)"
    return dataclasses.replace(
        base,
        name=title,
        venue=Venue(name=title, areas=areas),
        top_range_m=top_m,
        top_step_m=0.5,
        tilt_range_deg=(-6.0, 6.0),
        min_trim_m=3.0,
    )


@by_name
def studies() -> dict[str, Study]:
    """The demo hang asked about five venues.

    Returns
    -------
    dict of str to Study
        "hall with balcony", "arena", "sloping field", "theatre with two balconies" and
        "long flat floor".
    """
    base = demo.study()
    return {
        "hall with balcony": base,
        "arena": _study(
            base,
            "Arena",
            (12.0, 15.0),
            _area("Floor", (10.0, 0.0), (45.0, 0.0), width_m=30.0),
            _area("Lower tier", (47.0, 2.0), (60.0, 8.5), width_m=45.0),
            _area("Upper tier", (58.0, 12.5), (70.0, 20.0), width_m=50.0),
        ),
        "sloping field": _study(
            base,
            "Sloping field",
            (9.0, 12.0),
            _area("Field", (10.0, 0.0), (30.0, 0.8), (80.0, 7.0), width_m=40.0),
        ),
        "theatre with two balconies": _study(
            base,
            "Theatre",
            (9.0, 11.0),
            _area("Stalls", (6.0, 0.0), (22.0, 1.2), width_m=18.0),
            _area("First balcony", (15.0, 4.6), (23.0, 7.2), width_m=20.0),
            _area("Second balcony", (17.0, 8.6), (25.0, 12.6), width_m=20.0),
        ),
        "long flat floor": _study(
            base,
            "Long flat floor",
            (8.0, 11.0),
            _area("Floor", (8.0, 0.0), (70.0, 0.0), width_m=24.0),
        ),
    }


@by_name
def drawn(count: int, seed: int = 0) -> dict[str, Study]:
    """The demo hang asked about venues drawn at random: a floor, with up to two tiers or balconies.

    Parameters
    ----------
    count : int
        How many venues.
    seed : int
        Chooses them; the same seed gives the same ones, and more of them add to the first.

    Returns
    -------
    dict of str to Study
        "drawn 1", "drawn 2", ...
    """
    base, rng = demo.study(), np.random.default_rng(seed)
    made = {}
    for number in range(1, count + 1):
        first_m, deep_m = rng.uniform(6.0, 12.0), rng.uniform(15.0, 55.0)
        x_m, z_m = first_m + deep_m, deep_m * rng.uniform(0.0, 0.12)
        width_m = rng.uniform(16.0, 40.0)
        areas = [_area("Floor", (first_m, 0.0), (x_m, z_m), width_m=width_m)]
        for name in ("Tier", "Upper tier")[: rng.integers(0, 3)]:
            # Beginning over the last rows of the block before it, or behind them.
            x_m, z_m = x_m + rng.uniform(-10.0, 3.0), z_m + rng.uniform(3.0, 6.0)
            deep_m, slope = rng.uniform(8.0, 18.0), rng.uniform(0.25, 0.55)
            ends = (x_m, z_m), (x_m + deep_m, z_m + slope * deep_m)
            areas.append(_area(name, *ends, width_m=width_m))
            x_m, z_m = ends[1]
        top_m = round(max(rng.uniform(9.0, 13.0), 0.75 * z_m), 1)
        made[f"drawn {number}"] = _study(base, f"Drawn {number}", (top_m - 2.0, top_m), *areas)
    return made
