"""A compression hang as a MuJoCo mechanism: hinges with ranges, a spatial tendon, gravity.

Settings, each for a reason found by trying:

- ``implicitfast`` with half-millisecond steps: the limits are the stiffest part and are integrated
  implicitly with the damping.
- ``solref`` of two time steps, critically damped: the hardest limit the solver accepts, so that the
  limits are at rest when the joints are. Trials with 2, 4 and 8 steps agree to 1e-5 degrees.
- ``solimp`` close to 1 from the first nanoradian: a softer one lets the limit yield, so that the
  moment is that of a slightly different pose.
- Joint damping and armature decide how the mechanism settles; at rest they do no work. They are
  light: the motion is stopped at the peaks of its energy instead (see `Mechanism.settle`).
- Newton's solver to 1e-14: the residual of the solver is the residual of the moments.
"""

from __future__ import annotations

import math

import hangarc as ha
import mujoco
import numpy as np

STEP_S = 0.0005
DAMPING = 0.01


class Mechanism:
    """The hang in MuJoCo, its frame held or on a pick, and joints 0 and n locked.

    `wind_n` pushes each cabinet along x at its middle, where a body of a milligram takes it;
    `spring` is the rate of the tendon and the length up to which it is slack.
    """

    def __init__(
        self,
        hang: ha.Hang,
        tilt_deg: float,
        wind_n: np.ndarray | None = None,
        spring: tuple[float, float] | None = None,
        pick_x_m: float | None = None,
    ) -> None:
        mjcf = _mjcf(hang, tilt_deg, spring or (0.0, 0.0), pick_x_m)
        self.model = mujoco.MjModel.from_xml_string(mjcf)
        self.data = mujoco.MjData(self.model)
        self.spring = spring
        if wind_n is not None:
            bodies = [self.model.body(f"wind{i}").id for i in range(len(wind_n))]
            self.wind = np.zeros((self.model.nbody, 6))
            self.wind[bodies, 0] = wind_n
        else:
            self.wind = np.zeros((self.model.nbody, 6))

    def settle(self, force_n: float, start_rad: np.ndarray, seconds: float = 60.0) -> None:
        """Let the mechanism come to rest with `force_n` in the tendon.

        Kinetic damping (dynamic relaxation): the motion is stopped at every peak of its energy.
        """
        data = self.data
        mujoco.mj_resetData(self.model, data)
        data.qpos[:] = start_rad
        data.ctrl[0] = -force_n
        data.xfrc_applied[:] = self.wind
        before = 0.0
        for _ in range(int(seconds / STEP_S / 20)):
            mujoco.mj_step(self.model, data, nstep=20)
            kinetic = float(data.energy[1])
            if kinetic < before:
                if np.abs(data.qvel).max() < 1e-6 and np.abs(data.qacc).max() < 1e-6:
                    return
                data.qvel[:] = 0.0
                kinetic = 0.0
            before = kinetic
        raise AssertionError(f"not at rest: speed {np.abs(data.qvel).max():.1e} rad/s")

    @property
    def angle_rad(self) -> np.ndarray:
        return self.data.qpos.copy()

    @property
    def stop_moment_nm(self) -> np.ndarray:
        """Moment of each joint's limit, positive pressing on the stop."""
        return -self.data.qfrc_constraint.copy()

    @property
    def chain_m(self) -> float:
        return float(self.data.ten_length[0])

    @property
    def spring_n(self) -> float:
        """Force of the tendon's spring."""
        rate, slack = self.spring or (0.0, 0.0)
        return rate * max(0.0, self.chain_m - slack)


def _mjcf(
    hang: ha.Hang, tilt_deg: float, spring: tuple[float, float], pick_x_m: float | None
) -> str:
    frame, tail = hang.frame, hang.bottom
    inner = ""
    below_kg, depth_m = tail.mass_kg, 0.0
    for index in reversed(range(len(hang.cabinets))):
        cabinet = hang.cabinets[index]
        half = cabinet.height_m / 2
        below_kg += cabinet.mass_kg
        depth_m += cabinet.height_m
        damping = DAMPING * below_kg * depth_m * math.sqrt(9.81 * depth_m)
        x, z = cabinet.cg_m[0] - cabinet.hinge_x_m, cabinet.cg_m[1] - half
        inertia = cabinet.mass_kg * (cabinet.height_m**2 + cabinet.depth_m**2) / 12
        hinge = ""
        if index > 0:
            low = math.radians(hang.open_limit_deg)
            high = math.radians(hang.splays_deg[index - 1])
            hinge = f'<joint range="{low!r} {high!r}" damping="{damping!r}"/>'
        if index == len(hang.cabinets) - 1:
            turn = math.radians(tail.fixed_splay_deg)
            ax, az = tail.chain_anchor_m
            tx, tz = tail.cg_m
            inner = f"""<body pos="0 0 {-cabinet.height_m!r}" euler="0 {turn!r} 0">
                <inertial pos="{tx!r} 0 {tz!r}" mass="{tail.mass_kg!r}" diaginertia="1 1 1"/>
                <site name="lower" pos="{ax!r} 0 {az!r}"/></body>"""
        place = (
            f'pos="0 0 {-hang.cabinets[index - 1].height_m!r}"'
            if index
            else f'euler="0 {math.radians(hang.frame_splay_deg)!r} 0"'
        )
        inner = f"""<body {place}>{hinge}
            <inertial pos="{x!r} 0 {z!r}" mass="{cabinet.mass_kg!r}"
                diaginertia="{inertia!r} {inertia!r} {inertia!r}"/>
            <body name="wind{index}" pos="{-cabinet.depth_m / 2 - cabinet.hinge_x_m!r} 0 {-half!r}">
                <inertial pos="0 0 0" mass="1e-6" diaginertia="1e-9 1e-9 1e-9"/></body>
            {inner}</body>"""
    rate, slack = spring
    hook = ""
    if pick_x_m is not None:
        damping = DAMPING * below_kg * depth_m * math.sqrt(9.81 * depth_m)
        hook = f"""<joint pos="{pick_x_m!r} 0 {frame.pick_z_m!r}" limited="false"
            damping="{damping!r}"/>"""
    cx, cz = frame.cg_m
    fx, fz = frame.chain_anchor_m
    return f"""<mujoco>
        <compiler angle="radian"/>
        <option timestep="{STEP_S}" integrator="implicitfast" solver="Newton" tolerance="1e-14"
            iterations="200" gravity="0 0 -9.80665"><flag energy="enable"/></option>
        <default><joint type="hinge" axis="0 1 0" limited="true" armature="5"
            solreflimit="{2 * STEP_S} 1" solimplimit="0.9999 0.99999 1e-9"/></default>
        <worldbody><body euler="0 {-math.radians(tilt_deg)!r} 0">{hook}
            <inertial pos="{cx!r} 0 {cz!r}" mass="{frame.mass_kg!r}" diaginertia="1 1 1"/>
            <site name="upper" pos="{fx!r} 0 {fz!r}"/>{inner}</body></worldbody>
        <tendon><spatial name="chain" stiffness="{rate!r}" springlength="0 {slack!r}">
            <site site="upper"/><site site="lower"/></spatial></tendon>
        <actuator><motor tendon="chain"/></actuator>
    </mujoco>"""
