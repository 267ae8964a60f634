"""Write the demo data files: ``python -m hangarc.demo.make``.

The hall, the hardware and its limits are our own invention (demo data).
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

from hangarc import demo
from hangarc.io import dxf
from hangarc.model import (
    BottomFrame,
    Cabinet,
    ClosingGear,
    FlyFrame,
    Hang,
    LineElement,
    SeatArea,
    Source,
    Study,
    Venue,
)

AREA_OF_LAYER = {
    "SEATS-STALLS": SeatArea(
        name="Stalls",
        profile_m=[(7.0, 0.0), (15.0, 0.0), (23.0, 0.6)],
        width_m=[24.0, 27.0, 29.0],
        places_across=3,
    ),
    "SEATS-STALLS-REAR": SeatArea(
        name="Rear stalls",
        profile_m=[(24.5, 1.0), (37.0, 3.6)],
        width_m=[30.0, 33.0],
        places_across=3,
    ),
    "SEATS-BALCONY": SeatArea(
        name="Balcony",
        profile_m=[(31.5, 6.8), (42.5, 11.2)],
        width_m=[33.0, 35.0],
        row_pitch_m=0.95,
        places_across=3,
    ),
}


def venue() -> Venue:
    """Draw up the hall: stalls, raked rear stalls, one balcony."""
    return Venue(name="Demo hall (demo data)", areas=list(AREA_OF_LAYER.values()))


def cabinet() -> Cabinet:
    """Invent a cabinet whose tapered rear lets neighbours close to 9.5 degrees."""
    return Cabinet(
        name="Demo cabinet",
        mass_kg=64.5,
        height_m=0.36,
        depth_m=0.58,
        width_m=1.12,
        cg_m=(-0.26, 0.0),
        rear_pin_x_m=-0.52,
        rear_pin_inset_m=0.055,
        rear_height_m=0.262,
        splay_positions_deg={
            "tension": [0.0, 0.5, 1.0, 1.5, 2.1, 2.8, 3.6, 4.5, 5.5, 6.6, 7.8],
            "compression": [0.0, 0.4, 0.9, 1.4, 2.0, 2.7, 3.4, 4.2, 5.1, 6.1, 7.2, 8.3, 9.5],
        },
        source=Source(
            elements=[LineElement(height_m=0.34)],
            coverage_deg=100.0,
            max_level_db=138.0,
        ),
        limits={"hinge_n": 32_000.0, "rear_link_n": 16_000.0, "stop_n": 24_000.0},
    )


def hang() -> Hang:
    """Rig twelve of them under a fly frame, closed by a chain, pinned straight."""
    return Hang(
        frame=FlyFrame(
            mass_kg=92.0,
            height_m=0.22,
            cg_m=(-0.42, 0.11),
            pick_x_m=[round(0.25 - 0.1 * hole, 2) for hole in range(16)],
            pick_z_m=0.17,
            chain_anchor_m=(-0.78, 0.04),
            limits={
                "total_n": 14_000.0,
                "pick_n": 9_000.0,
                "hinge_n": 32_000.0,
                "rear_link_n": 16_000.0,
                "chain_n": 12_500.0,
            },
        ),
        cabinets=[cabinet()] * 12,
        splays_deg=[0.0] * 11,
        rigging="compression",
        bottom=BottomFrame(
            mass_kg=24.0,
            cg_m=(-0.36, -0.07),
            chain_anchor_m=(-0.74, -0.04),
            limits={"chain_n": 12_500.0},
        ),
        gear=ClosingGear(
            pitch_m=0.027,
            links=140,
            hoist_min_m=0.34,
            hoist_max_m=1.84,
            clutch_n=(6_500.0, 8_500.0),
            limits={"chain_n": 12_500.0, "hoist_n": 10_000.0},
        ),
    )


def study() -> Study:
    """Ask which pins, tilt and height serve the hall, within what the rigging carries."""
    return Study(
        name="Demo hang (demo data)",
        hang=hang(),
        venue=venue(),
        tilt_range_deg=(-4.0, 4.0),
        top_range_m=(10.0, 12.0),
        pick_x_m=[0.15, -1.05],
        min_trim_m=5.5,
        hoist_mass_kg=52.0,
        hoist_limit_n=9_800.0,
        roof_point_limit_n=9_500.0,
    )


def write(folder: Path) -> None:
    """Write the study, the section drawing and its list of layers into `folder`."""
    made = study()
    (folder / demo.STUDY_JSON.name).write_text(made.to_json() + "\n", encoding="utf-8")
    with _same_each_time():
        dxf.write_section(
            folder / demo.SECTION_DXF.name,
            made.venue,
            layers=list(AREA_OF_LAYER),
            unit="mm",
            origin=(12_000.0, 3_000.0),
            origin_layer=demo.ORIGIN_LAYER,
        )
    fields = {layer: area.to_dict() for layer, area in AREA_OF_LAYER.items()}
    for area in fields.values():
        del area["profile_m"]
    (folder / demo.SECTION_LAYERS_JSON.name).write_text(
        json.dumps(fields, indent=2) + "\n", encoding="utf-8"
    )


@contextlib.contextmanager
def _same_each_time() -> Iterator[None]:
    """Leave the time of writing and the marks made by chance out of drawings."""
    options: Any = import_module("ezdxf").options
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


if __name__ == "__main__":
    write(demo.HERE)
