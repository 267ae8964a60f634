"""A hang as a plane frame in PyNiteFEA, built from the design's definitions, not from our code.

Each body is a star of members from its centre of gravity to its hinges and rear pins; front
hinges release the moment of the lower body; rear links are pin-ended members. With two plumb
hoists the structure is statically determinate, so its forces do not depend on stiffness.
"""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import hangarc as ha
import numpy as np
from Pynite import FEModel3D

GRAVITY_M_S2 = 9.80665


@dataclasses.dataclass
class FrameSolution:
    hoist_n: list[float]
    rear_link_n: list[float]
    hinge_force_n: np.ndarray


def turn(angle_deg: float) -> np.ndarray:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[c, -s], [s, c]])


def bodies(hang: ha.Hang, tilt_deg: float) -> list[dict[str, Any]]:
    """Room positions of each body's CG, hinges and rear pins, from design section 3."""
    first = hang.cabinets[0]
    rotation = turn(tilt_deg)
    pin = np.array([first.rear_pin_x_m - first.hinge_x_m, first.rear_pin_inset_m])
    hinge = np.zeros(2)
    placed = [
        {
            "mass": hang.frame.mass_kg,
            "cg": rotation @ hang.frame.cg_m,
            "lower_hinge": hinge,
            "lower_pin": rotation @ pin,
            "picks": [rotation @ (x, hang.frame.pick_z_m) for x in hang.frame.pick_x_m],
        }
    ]
    angle = tilt_deg - hang.frame_splay_deg
    for index, cabinet in enumerate(hang.cabinets):
        if index:
            angle -= hang.splays_deg[index - 1]
        rotation = turn(angle)
        half = cabinet.height_m / 2
        origin = hinge - rotation @ (cabinet.hinge_x_m, half)
        pin_z = half - cabinet.rear_pin_inset_m
        body = {
            "mass": cabinet.mass_kg,
            "cg": origin + rotation @ cabinet.cg_m,
            "upper_hinge": hinge,
            "upper_pin": origin + rotation @ (cabinet.rear_pin_x_m, pin_z),
            "lower_hinge": origin + rotation @ (cabinet.hinge_x_m, -half),
            "lower_pin": origin + rotation @ (cabinet.rear_pin_x_m, -pin_z),
        }
        hinge = body["lower_hinge"]
        placed.append(body)
    if hang.bottom is not None:
        last = hang.cabinets[-1]
        rotation = turn(angle - hang.bottom.fixed_splay_deg)
        pin = np.array([last.rear_pin_x_m - last.hinge_x_m, -last.rear_pin_inset_m])
        placed.append(
            {
                "mass": hang.bottom.mass_kg,
                "cg": hinge + rotation @ hang.bottom.cg_m,
                "upper_hinge": hinge,
                "upper_pin": hinge + rotation @ pin,
            }
        )
    return placed


def solve(hang: ha.Hang, tilt_deg: float, picks: tuple[int, int]) -> FrameSolution:
    return solve_bodies(bodies(hang, tilt_deg), picks)


def solve_with(
    hang: ha.Hang, tilt_deg: float, picks: tuple[int, int], mass_kg: float, x_m: float
) -> FrameSolution:
    """Solve with another plumb load, as a mass and its place, on the last body."""
    placed = bodies(hang, tilt_deg)
    placed[-1] |= {"mass": mass_kg, "cg": np.array([x_m, placed[-1]["cg"][1]])}
    return solve_bodies(placed, picks)


def solve_bodies(placed: list[dict[str, Any]], picks: tuple[int, int]) -> FrameSolution:
    model = FEModel3D()
    model.add_material("steel", 2.1e11, 8.1e10, 0.3, 7850.0)
    model.add_section("bar", 1e-2, 1e-4, 1e-4, 1e-4)

    def node(name: str, at: np.ndarray) -> str:
        model.add_node(name, float(at[0]), float(at[1]), 0.0)
        return name

    def member(name: str, start: str, end: str, **release: bool) -> None:
        model.add_member(name, start, end, "steel", "bar")
        if release:
            model.def_releases(name, **release)

    for index, body in enumerate(placed):
        centre = node(f"cg{index}", body["cg"])
        model.add_node_load(centre, "FY", -body["mass"] * GRAVITY_M_S2)
        if "upper_hinge" in body:
            # The hinge node itself belongs to the body above; the lower body turns freely on it.
            member(f"hang{index}", f"hinge{index - 1}", centre, Rzi=True)
            member(f"pin{index}", centre, node(f"upper_pin{index}", body["upper_pin"]))
            member(f"link{index}", f"lower_pin{index - 1}", f"upper_pin{index}", Rzi=True, Rzj=True)
        if "lower_hinge" in body:
            member(f"carry{index}", centre, node(f"hinge{index}", body["lower_hinge"]))
            member(f"tail{index}", centre, node(f"lower_pin{index}", body["lower_pin"]))
    for number, pick in enumerate(picks):
        member(f"lift{number}", "cg0", node(f"pick{number}", placed[0]["picks"][pick]))
    for name in model.nodes:
        model.def_support(name, support_DZ=True, support_RX=True, support_RY=True)
    planar = {"support_DZ": True, "support_RX": True, "support_RY": True}
    model.def_support("pick0", support_DX=True, support_DY=True, **planar)
    model.def_support("pick1", support_DY=True, **planar)
    model.analyze_linear(check_statics=False)

    def force_on_end(name: str, start: str) -> np.ndarray:
        """Force that the member's start node exerts on the member, in room axes."""
        member = model.members[name]
        assert member.i_node.name == start
        return member.F("Combo 1").ravel()[:2]

    joints = range(1, len(placed))
    return FrameSolution(
        hoist_n=[model.nodes[f"pick{i}"].RxnFY["Combo 1"] for i in range(2)],
        # PyNiteFEA counts axial compression positive.
        rear_link_n=[-model.members[f"link{j}"].axial(0.0, "Combo 1") for j in joints],
        hinge_force_n=np.array([force_on_end(f"hang{j}", f"hinge{j - 1}") for j in joints]),
    )
