"""A theatre with mains left and right, an outfill in the middle, and delays under the balcony.

Demo data: hardware and hall are invented.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

from hangarc._keywords import by_name
from hangarc.model import (
    Cabinet,
    FlyFrame,
    Goals,
    Hang,
    LineElement,
    SeatArea,
    Site,
    Source,
    Study,
    Surface,
    Venue,
)
from hangarc.search import System, aligned, optimise_system
from hangarc.search.system import SystemResult
from hangarc.search.together import sited

# Where the delays and the mains shall arrive together: a row under the balcony.
SHARED_M = (19.0, 4.0, 2.6)

# On the balcony's front, which sends what it gets back to the stage.
FRONT_M = tuple((15.3, y_m, 5.3) for y_m in (-6.0, -2.0, 2.0, 6.0))

# The delays arrive so much after the mains, which are then heard as the source: precedence, Haas,
# Acustica 1, 1951 (from memory).
LATER_S = 0.005


@by_name
def system() -> System:
    """Give the theatre's question."""
    venue = _venue()
    # Without a price on sound off the seats nothing keeps it off the balcony's front, and the
    # delays hang level, their axes over the last row and into the rear wall.
    goals = Goals(
        level_price=0.0,
        lowest_hz=250.0,
        highest_hz=8000.0,
        off_seats_price=0.3,
        off_seats_m=FRONT_M,
    )
    fields: dict[str, Any] = {
        "venue": venue,
        "goals": goals,
        "lines_per_band": 4,
        "dynamic_factor": 1.3,
    }
    mains = Site(position_m=(0.0, 7.0), pan_deg=-6.0, feed="left")
    delays = Site(position_m=(13.0, 4.5), feed="left", delay_s=0.040, gain_db=-8.0)
    return System(
        name="Theatre, three systems (demo data)",
        hangs=[
            Study(
                name="mains",
                hang=_hang(_large(), [0.5, 0.5, 1.0, 1.0, 2.0, 3.0, 4.0]),
                site=mains,
                twin=mains.mirrored("right"),
                serves=["stalls", "balcony"],
                tilt_range_deg=(-6.0, 4.0),
                top_range_m=(8.5, 8.5),
                pick_x_m=(0.1, -0.6),
                **fields,
            ),
            Study(
                name="outfill",
                hang=_hang(_small(), [3.0, 5.0]),
                site=Site(position_m=(0.5, 0.0), feed="middle", gain_db=-4.0),
                serves=["stalls"],
                tilt_range_deg=(-25.0, 0.0),
                top_range_m=(6.5, 6.5),
                pick_x_m=(0.1, -0.4),
                **fields,
            ),
            Study(
                name="delays",
                hang=_hang(_small(), [3.0]),
                site=delays,
                twin=delays.mirrored("right"),
                serves=["under balcony"],
                tilt_range_deg=(-20.0, 0.0),
                top_range_m=(4.3, 4.3),
                pick_x_m=(0.1, -0.4),
                **fields,
            ),
        ],
    )


@by_name
def answered(
    seed: int = 0, progress: Callable[[int], object] | None = None
) -> tuple[System, SystemResult]:
    """Give the theatre with its delays aligned, and what the search found for it."""
    asked = system()
    # Places tell the delay; what the search still turns moves them by centimetres.
    hung = [
        one for study in asked.hangs for one in sited(study, study.hang, 0.0, study.top_range_m[0])
    ]
    together = aligned(hung, "delays", "mains", SHARED_M, later_s=LATER_S)
    delay_s = next(one.site.delay_s for one in together if one.name == "delays")
    hangs = []
    for study in asked.hangs:
        if study.name == "delays" and study.twin is not None:
            late: dict[str, Any] = {"delay_s": delay_s}
            study = dataclasses.replace(
                study,
                site=dataclasses.replace(study.site, **late),
                twin=dataclasses.replace(study.twin, **late),
            )
        hangs.append(study)
    asked = dataclasses.replace(asked, hangs=hangs)
    return asked, optimise_system(asked, seed=seed, rounds=2, progress=progress)


def _venue() -> Venue:
    return Venue(
        name="Theatre (demo data)",
        areas=[
            SeatArea(
                name="stalls",
                profile_m=[(4.0, 0.0), (15.0, 0.6)],
                width_m=[16.0, 20.0],
                places_across=7,
            ),
            SeatArea(
                name="under balcony",
                profile_m=[(15.0, 0.6), (23.0, 1.6)],
                width_m=[20.0, 20.0],
                places_across=7,
            ),
            SeatArea(
                name="balcony",
                profile_m=[(15.5, 5.0), (24.0, 8.4)],
                width_m=[20.0, 20.0],
                places_across=7,
            ),
        ],
        surfaces=[Surface(name="balcony front", profile_m=[(15.4, 4.5), (15.4, 6.0)])],
    )


def _hang(cabinet: Cabinet, splays_deg: list[float]) -> Hang:
    frame = FlyFrame(
        mass_kg=28.0,
        height_m=0.16,
        cg_m=(-0.2, 0.08),
        pick_x_m=[0.1, 0.0, -0.1, -0.2, -0.3, -0.4, -0.5, -0.6],
        pick_z_m=0.14,
        limits={"total_n": 9_000.0, "pick_n": 5_000.0},
    )
    return Hang(
        frame=frame,
        cabinets=[cabinet] * (len(splays_deg) + 1),
        splays_deg=splays_deg,
        rigging="tension",
    )


def _large() -> Cabinet:
    return Cabinet(
        name="invented cabinet, large (demo data)",
        mass_kg=42.0,
        height_m=0.30,
        depth_m=0.50,
        width_m=0.95,
        cg_m=(-0.23, 0.0),
        rear_pin_x_m=-0.45,
        rear_pin_inset_m=0.04,
        splay_positions_deg=[0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0],
        source=Source(
            elements=[LineElement(height_m=0.28)],
            coverage_deg=100.0,
            max_level_db=134.0,
        ),
        limits={"hinge_n": 12_000.0, "rear_link_n": 8_000.0},
    )


def _small() -> Cabinet:
    return Cabinet(
        name="invented cabinet, small (demo data)",
        mass_kg=17.0,
        height_m=0.21,
        depth_m=0.34,
        width_m=0.60,
        cg_m=(-0.16, 0.0),
        rear_pin_x_m=-0.30,
        rear_pin_inset_m=0.03,
        splay_positions_deg=[0.0, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0],
        source=Source(
            elements=[LineElement(height_m=0.19)],
            coverage_deg=110.0,
            max_level_db=127.0,
        ),
        limits={"hinge_n": 6_000.0, "rear_link_n": 4_000.0},
    )
