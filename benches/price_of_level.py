"""What do the prices of the goal cost, and what do they buy?

    python benches/price_of_level.py
    python benches/price_of_level.py --seeds 2 --venues demo --top

For the five demo venues and ten drawn ones (demo data), one price at a time over its list, then
prices together: unevenness J, mean level M, roughness of the pins, level off the seats, axes that
meet no seat. Each line is the best objective of so many seeds, since one search may end a few
hundredths of a decibel above another. Nothing is timed. The rule of choice: on each demo venue a
price costs under 0.05 dB of J against a price of level of 0.1 alone, and the mean level is not
lower than there.
"""

from __future__ import annotations

import argparse
import dataclasses
from typing import NamedTuple

import hangarc as ha
import numpy as np
from hangarc.demo.venues import drawn, studies

ALONE = (0.1, 0.0, 0.0)
LEVEL = [(price, 0.0, 0.0) for price in (0.0, 0.05, 0.1, 0.2, 0.5)]
ROUGHNESS = [(0.1, price, 0.0) for price in (0.0, 0.02, 0.03, 0.05)]
OFF_SEATS = [(0.1, 0.0, price) for price in (0.0, 0.01, 0.02, 0.05)]
TOGETHER = [(0.1, 0.03, price) for price in (0.01, 0.02, 0.05)]


class Line(NamedTuple):
    """What the best hang under some prices is."""

    unevenness_db: float
    mean_db: float
    roughness_deg: float
    off_seats_db: float
    off_axes: int
    pins: str


def priced(study: ha.Study, prices: tuple[float, float, float]) -> ha.Study:
    """The study with prices of level, of roughness and of sound off the seats."""
    level, roughness, off_seats = prices
    goals = dataclasses.replace(
        study.goals, level_price=level, roughness_price=roughness, off_seats_price=off_seats
    )
    return dataclasses.replace(study, goals=goals)


def searched(study: ha.Study, seeds: int) -> Line:
    """The best of so many seeds."""
    runs = [ha.optimise_splays(study, seed=seed) for seed in range(seeds)]
    found = min(runs, key=lambda run: run.objective_db)
    met = ha.throws(found.hang, found.tilt_deg, found.top_m, study.venue)
    ends = f"{found.tilt_deg:+g}° {found.top_m:g} m: "
    return Line(
        found.unevenness_db,
        found.mean_db,
        found.roughness_deg,
        np.nan if found.off_seats_db is None else found.off_seats_db,
        sum(throw is None for throw in met),
        ends + " ".join(f"{splay:g}" for splay in found.splays_deg),
    )


def main() -> None:
    """Print every line, then what each set of prices costs at the worst."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--venues", choices=("demo", "drawn", "all"), default="all")
    parser.add_argument("--lists", nargs="*", default=["level", "roughness", "off", "together"])
    parser.add_argument("--top", action="store_true", help="the greatest height only")
    arguments = parser.parse_args()
    lists = {"level": LEVEL, "roughness": ROUGHNESS, "off": OFF_SEATS, "together": TOGETHER}
    asked = dict.fromkeys([ALONE, *(prices for name in arguments.lists for prices in lists[name])])
    demo = studies() if arguments.venues != "drawn" else {}
    venues = demo | (drawn(10) if arguments.venues != "demo" else {})
    lines: dict[tuple[float, float, float], dict[str, Line]] = {prices: {} for prices in asked}
    for name, study in venues.items():
        print(f"\n{name}\nlevel rough   off |     J  change      M  change  rough    off  off axes")
        if arguments.top:
            study = dataclasses.replace(study, top_range_m=(study.top_range_m[1],) * 2)
        for prices in asked:
            line = lines[prices][name] = searched(priced(study, prices), arguments.seeds)
            alone = lines[ALONE][name]
            print(
                "{:5.2f} {:5.2f} {:5.2f} |".format(*prices),
                f"{line.unevenness_db:5.3f}  {line.unevenness_db - alone.unevenness_db:+6.3f}",
                f"{line.mean_db:6.2f}  {line.mean_db - alone.mean_db:+6.2f}",
                f"{line.roughness_deg:6.2f} {line.off_seats_db:6.2f} {line.off_axes:5d}  ",
                line.pins,
                flush=True,
            )
    print("\nover all venues: worst and mean change of J, least and mean change of M; means")
    for prices, found in lines.items():
        change = [
            (
                line.unevenness_db - lines[ALONE][name].unevenness_db,
                line.mean_db - lines[ALONE][name].mean_db,
            )
            for name, line in found.items()
        ]
        spread, mean = np.array(change).T
        rough, off, axes = np.array([line[2:5] for line in found.values()], dtype=float).T
        print(
            "{:5.2f} {:5.2f} {:5.2f} |".format(*prices),
            f"J {spread.max():+.3f} {spread.mean():+.3f}  M {mean.min():+.2f} {mean.mean():+.2f}",
            f" rough {rough.mean():.2f}  off {np.nanmean(off):.2f}  off axes {axes.sum():.0f}",
        )


if __name__ == "__main__":
    main()
