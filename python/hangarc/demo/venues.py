"""Five invented venues (demo data) that ask different things of the same hang."""

from __future__ import annotations

import dataclasses

from hangarc import demo
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
