"""Invented hardware for tests (demo data)."""

from __future__ import annotations

from typing import Any

import hangarc as ha

POSITIONS_DEG = [0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0]


def cabinet(**changes: Any) -> ha.Cabinet:
    fields: dict[str, Any] = {
        "name": "demo data cabinet",
        "mass_kg": 64.0,
        "height_m": 0.36,
        "depth_m": 0.58,
        "width_m": 1.15,
        "cg_m": (-0.27, 0.0),
        "rear_pin_x_m": -0.5,
        "rear_pin_inset_m": 0.05,
        "splay_positions_deg": POSITIONS_DEG,
        "source": ha.Source(elements=[ha.LineElement(height_m=0.34)], coverage_deg=90.0),
    }
    return ha.Cabinet(**{**fields, **changes})


def frame(**changes: Any) -> ha.FlyFrame:
    fields: dict[str, Any] = {
        "mass_kg": 75.0,
        "height_m": 0.25,
        "cg_m": (-0.35, 0.12),
        "pick_x_m": [0.2, 0.1, 0.0, -0.1, -0.2, -0.3, -0.4, -0.5, -0.6, -0.7, -0.8],
        "pick_z_m": 0.22,
        "chain_anchor_m": (-0.75, 0.05),
    }
    return ha.FlyFrame(**{**fields, **changes})


def bottom(**changes: Any) -> ha.BottomFrame:
    fields: dict[str, Any] = {
        "mass_kg": 22.0,
        "cg_m": (-0.35, -0.08),
        "chain_anchor_m": (-0.7, -0.05),
    }
    return ha.BottomFrame(**{**fields, **changes})


def gear(**changes: Any) -> ha.ClosingGear:
    fields: dict[str, Any] = {
        "pitch_m": 0.03,
        "links": 160,
        "hoist_min_m": 0.4,
        "hoist_max_m": 1.9,
        "clutch_n": (12_000.0, 16_000.0),
    }
    return ha.ClosingGear(**{**fields, **changes})


def hang(splays_deg: list[float], rigging: str = "tension", **changes: Any) -> ha.Hang:
    fields: dict[str, Any] = {
        "frame": frame(),
        "cabinets": [cabinet()] * (len(splays_deg) + 1),
        "splays_deg": splays_deg,
        "rigging": rigging,
    }
    if rigging == "compression":
        fields |= {"bottom": bottom(), "gear": gear()}
    return ha.Hang(**{**fields, **changes})


def area(**changes: Any) -> ha.SeatArea:
    fields: dict[str, Any] = {
        "name": "stalls",
        "profile_m": [(8.0, 0.0), (30.0, 0.0)],
        "width_m": 20.0,
    }
    return ha.SeatArea(**{**fields, **changes})


def venue(**changes: Any) -> ha.Venue:
    fields: dict[str, Any] = {"name": "demo data flat hall", "areas": [area()]}
    return ha.Venue(**{**fields, **changes})


def study(**changes: Any) -> ha.Study:
    fields: dict[str, Any] = {
        "name": "demo data study",
        "hang": hang([1.0, 1.0, 1.0]),
        "venue": venue(),
        "tilt_range_deg": (-6.0, 6.0),
        "top_range_m": (8.0, 8.0),
    }
    return ha.Study(**{**fields, **changes})
