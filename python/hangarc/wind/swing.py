"""Wind pressure, and where a hang comes to rest in a steady wind."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._ending import REST_ENDINGS, Ended, RestEnd
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import FaceType, Result, instance, listed, real, real_array, switch
from hangarc.model import Hang

if TYPE_CHECKING:
    from hangarc._fields import WindCase

WindFrom = Literal["front", "rear", "side"]


@dataclasses.dataclass(frozen=True, kw_only=True)
class Wind(FaceType):
    """The wind, as a gust speed that is the same everywhere or as a profile over terrain.

    Parameters
    ----------
    speed_m_s : float
        Without terrain the gust speed, q = ½ ρ v². With terrain the basic wind speed v_b of
        EN 1991-1-4:2005, 4.2.
    terrain : {"0", "I", "II", "III", "IV"}, optional
        Terrain category of table 4.1 (numbers from memory).
    orography, turbulence_factor : float
        c_o (4.3.3) and k_I (4.4).
    density_kg_m3 : float
        Density of air; 1.25 is recommended by 4.5.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.Wind(speed_m_s=10.0).at(11.0).pressure_pa  # ½ ρ v², without terrain
    62.5
    """

    speed_m_s: float
    terrain: Literal["0", "I", "II", "III", "IV"] | None = None
    orography: float = 1.0
    turbulence_factor: float = 1.0
    density_kg_m3: float = 1.25

    def __post_init__(self) -> None:
        for name in ("speed_m_s", "orography", "turbulence_factor", "density_kg_m3"):
            real(name, getattr(self, name))
        _core.wind_pressure(self._row(), 0.0)

    def at(self, height_m: float) -> PeakPressure:
        """Pressure at a height above the ground.

        With terrain, k_r = 0.19 (z₀/0.05)^0.07, c_r = k_r ln(z/z₀), v_m = c_r c_o v_b,
        I_v = k_I/(c_o ln(z/z₀)), q_p = (1 + 7 I_v) ½ ρ v_m² (EN 1991-1-4:2005, 4.3 to 4.5).

        Parameters
        ----------
        height_m : float
            Height, 0 to 200 m; below z_min the pressure is that at z_min.

        Returns
        -------
        PeakPressure

        Raises
        ------
        InputError
            A height out of range.

        Examples
        --------
        >>> import hangarc as ha
        >>> round(ha.Wind(speed_m_s=20.0, terrain="III").at(8.0).pressure_pa)
        392
        """
        return PeakPressure(**_core.wind_pressure(self._row(), real("height_m", height_m)))

    def _row(self) -> tuple[float, float, tuple[str, float, float] | None]:
        profile = None
        if self.terrain is not None:
            profile = (str(self.terrain), self.orography, self.turbulence_factor)
        return (self.speed_m_s, self.density_kg_m3, profile)


@dataclasses.dataclass(frozen=True, eq=False)
class PeakPressure(Result):
    """The wind at one height.

    Attributes
    ----------
    mean_speed_m_s : float
        Mean speed v_m; without terrain the gust speed.
    turbulence : float
        Turbulence intensity I_v; without terrain 0.
    pressure_pa : float
        Peak velocity pressure.

    Examples
    --------
    >>> import hangarc as ha
    >>> peak = ha.Wind(speed_m_s=20.0, terrain="II").at(11.0)
    >>> round(peak.mean_speed_m_s, 1), round(peak.pressure_pa)
    (20.5, 603)
    """

    mean_speed_m_s: float
    turbulence: float
    pressure_pa: float


@dataclasses.dataclass(frozen=True)
class WindShadow(FaceType):
    """A body besides the cabinets that takes wind: a frame, a cable, a banner.

    Parameters
    ----------
    x_m, z_m : float
        Where its force acts, in the hang's plane at the stated tilt, room axes.
    area_m2 : float
        Its area.
    coefficient : float
        Its force coefficient.

    Examples
    --------
    >>> import hangarc as ha
    >>> scrim = ha.wind.WindShadow(x_m=-2.0, z_m=9.5, area_m2=3.0, coefficient=1.2)
    >>> loads = ha.wind_loads(
    ...     ha.demo.hang(),
    ...     2.0,
    ...     [0.15, -1.05],
    ...     ha.Wind(speed_m_s=10.0),
    ...     top_m=11.0,
    ...     shadows=[scrim],
    ... )
    >>> round(loads.total_force_n)
    629
    """

    x_m: float
    z_m: float
    area_m2: float
    coefficient: float

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            real(field.name, getattr(self, field.name))


@dataclasses.dataclass(frozen=True, eq=False)
class WindLoads(Ended):
    """A hang at rest in a steady wind.

    Attributes
    ----------
    ended : {"at rest", "no step lowers the energy", "budget spent"}
        How the search for the rest ended. Only ``at rest`` is one: every free joint is in balance
        and every stop and open limit is pressed.
    residual : float
        The greatest moment that is not balanced, over all loads at the hang's length; at rest
        below 1e-9.
    pressure_pa, force_n : ndarray, shape (n,)
        Pressure at each cabinet and force on it, in the direction of the wind.
    total_force_n : float
        Force on everything.
    line_deg : float
        Lean of the hoists' lines from plumb.
    tilt_deg : float
        Tilt of the frame; for wind from the side, its tilt at rest in still air.
    lean_deg : float
        Lean of the hang across its plane, for wind from the side.
    pan_moment_nm : float
        Moment about the plumb axis by which wind from the side, towards +y, pans the hang,
        positive to the left. The pan is taken as held against it.
    hoist_load_n : ndarray, shape (k,)
        Pull of each hoist along its line; 0 where slack.
    slack : ndarray of bool, shape (k,)
        Hoists that carry nothing.
    splay_deg : ndarray, shape (n-1,)
        Splay of each joint between cabinets at rest.
    joint_moment_nm : ndarray, shape (n-1,)
        Moment about the front hinge of each of these joints of all that hangs below it, wind
        included; positive opens the rear. Empty for wind from the side.
    hold_tilt_n : float
        Horizontal force at the pull-back's place that keeps the hang at its tilt on the first
        pick.
    hold_plumb_n : float
        Horizontal force that keeps the lines plumb.

    Examples
    --------
    >>> import hangarc as ha
    >>> loads = ha.wind_loads(
    ...     ha.demo.hang(), 2.0, [0.15, -1.05], ha.Wind(speed_m_s=15.0), top_m=11.0, closed=True
    ... )
    >>> round(loads.pressure_pa[0]), round(loads.line_deg, 1), round(loads.hold_plumb_n)
    (141, 10.4, 909)
    """

    _endings = REST_ENDINGS

    ended: RestEnd
    residual: float
    pressure_pa: NDArray[np.float64]
    force_n: NDArray[np.float64]
    total_force_n: float
    line_deg: float
    tilt_deg: float
    lean_deg: float
    pan_moment_nm: float
    hoist_load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    splay_deg: NDArray[np.float64]
    joint_moment_nm: NDArray[np.float64]
    hold_tilt_n: float
    hold_plumb_n: float

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.bars(
            self.force_n, "wind on each cabinet, N", [f"{i}" for i in range(len(self.force_n))]
        )

    @property
    def hoist_n(self) -> NDArray[np.float64]:
        """The same as `hoist_load_n`."""
        return self.hoist_load_n


@by_name
def section_coefficient(width_m: float, depth_m: float) -> float:
    """Force coefficient c_f,0 of a rectangular section with sharp corners, free ends not counted.

    Figure 7.23 of EN 1991-1-4:2005, its corners from memory, linear in the logarithm of
    depth/width between them. Multiply by ψ_λ (7.13) to count free ends.

    Parameters
    ----------
    width_m, depth_m : float
        Across and along the wind, with depth 0.1 to 10 widths.

    Returns
    -------
    float

    Raises
    ------
    InputError
        A size not above zero, or a ratio beyond the figure.

    Examples
    --------
    >>> import hangarc as ha
    >>> round(ha.wind.section_coefficient(1.12, 0.58), 2)
    2.3
    """
    coefficient: float = _core.section_coefficient(
        real("width_m", width_m), real("depth_m", depth_m)
    )
    return coefficient


@by_name
def wind_loads(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    wind: Wind,
    *,
    top_m: float,
    wind_from: WindFrom = "front",
    coefficient: float | None = None,
    structural_factor: float = 1.0,
    shadows: Iterable[WindShadow] = (),
    closed: bool = False,
    pull_at_m: ArrayLike | None = None,
) -> WindLoads:
    """Where a hang comes to rest in a steady wind, and what its hoists and joints carry.

    F = c_s c_d c_f q A on every cabinet (EN 1991-1-4:2005, 5.3), A its shadow at the stated tilt;
    frames take wind only as `shadows`. The lines lean by tan α = ΣF/W. On one pick the frame turns
    until moments about the pick vanish; on two equal lines it keeps its tilt. Joints of a
    compression hang that is not closed move between `open_limit_deg` and their stops. The wind is
    steady: gusts that rock the hang are not covered.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Tilt in still air.
    pick_x_m : float or sequence of float
        One or two picks.
    wind : Wind
        The wind.
    top_m : float
        Height of cabinet 0's upper front hinge above the ground.
    wind_from : {"front", "rear", "side"}
        Onto the front faces, the rear faces, or a side.
    coefficient : float, optional
        Force coefficient of every cabinet; left out, that of its section by
        `section_coefficient`.
    structural_factor : float
        c_s c_d.
    shadows : iterable of WindShadow
        Other bodies.
    closed : bool
        Whether a compression hang is closed, its joints locked on their stops. Left out, its rear
        is open, as while it is pulled up: then it opens in still air too, and the loads are those
        of the open hang. Of no account for a tension hang.
    pull_at_m : array_like, shape (2,), optional
        Where a pull-back takes hold, (x, z); left out, the last cabinet's lower rear corner.

    Returns
    -------
    WindLoads

    Raises
    ------
    InputError
        An argument out of bounds, or a hang that reaches into the ground.

    Examples
    --------
    >>> import hangarc as ha
    >>> for speed_m_s in (5.0, 10.0, 15.0):
    ...     wind = ha.Wind(speed_m_s=speed_m_s)
    ...     loads = ha.wind_loads(ha.demo.hang(), 2.0, [0.15, -1.05], wind, top_m=11.0, closed=True)
    ...     print(speed_m_s, round(loads.total_force_n), loads.hoist_load_n.round().tolist())
    ...
    5.0 101 [3082.0, 1852.0]
    10.0 404 [3415.0, 1534.0]
    15.0 909 [4010.0, 1006.0]
    """
    case = case_of(
        tilt_deg, pick_x_m, wind, top_m, wind_from, coefficient, structural_factor, shadows, closed
    )
    pull = None
    if pull_at_m is not None:
        pull = real_array("pull_at_m", pull_at_m, 1)
        if pull.shape != (2,):
            raise InputError("pull_at_m", pull_at_m, "a point (x, z)")
    return WindLoads(**_core.wind_loads(instance("hang", hang, Hang).handle, case, pull))


@by_name
def wind_speed_at_limits(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    *,
    top_m: float,
    line_limit_deg: float | None = None,
    turn_limit_deg: float | None = None,
    hoist_limit_n: float | None = None,
    total_limit_n: float | None = None,
    wind_from: WindFrom = "front",
    coefficient: float | None = None,
    structural_factor: float = 1.0,
    density_kg_m3: float = 1.25,
    shadows: Iterable[WindShadow] = (),
    closed: bool = False,
) -> dict[str, float | None]:
    """Gust speed at which each stated limit is reached first, by `wind_loads`.

    Parameters
    ----------
    hang, tilt_deg, pick_x_m, top_m, wind_from, coefficient, structural_factor, shadows, closed
        As in `wind_loads`.
    line_limit_deg : float, optional
        Lean of the lines.
    turn_limit_deg : float, optional
        Change of the frame's tilt, or lean across the hang's plane.
    hoist_limit_n : float, optional
        Pull of any hoist.
    total_limit_n : float, optional
        Force on the whole hang, which a pull-back must hold.
    density_kg_m3 : float
        Density of air.

    Returns
    -------
    dict
        By the names of the limits stated: the speed in m/s, to within a millimetre per second; None
        where it is not reached up to 80 m/s.

    Raises
    ------
    InputError
        No limit, a limit reached in still air, a speed at which no rest is found, or as
        `wind_loads`.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.wind.wind_speed_at_limits(
    ...     ha.demo.hang(),
    ...     2.0,
    ...     [0.15, -1.05],
    ...     top_m=11.0,
    ...     line_limit_deg=5.0,
    ...     hoist_limit_n=9_800.0,
    ...     closed=True,
    ... )
    >>> {name: speed and round(speed, 1) for name, speed in found.items()}
    {'line_limit_deg': 10.3, 'hoist_limit_n': 45.8}
    """
    case = case_of(
        tilt_deg,
        pick_x_m,
        Wind(speed_m_s=0.0, density_kg_m3=density_kg_m3),
        top_m,
        wind_from,
        coefficient,
        structural_factor,
        shadows,
        closed,
    )
    limits = {
        "line_limit_deg": line_limit_deg,
        "turn_limit_deg": turn_limit_deg,
        "hoist_limit_n": hoist_limit_n,
        "total_limit_n": total_limit_n,
    }
    given = [None if value is None else real(name, value) for name, value in limits.items()]
    found = _core.wind_speeds_at_limits(instance("hang", hang, Hang).handle, case, *given)
    return dict(found)


def case_of(
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    wind: Wind,
    top_m: float,
    wind_from: WindFrom,
    coefficient: float | None,
    structural_factor: float,
    shadows: Iterable[WindShadow],
    closed: bool,
) -> WindCase:
    """Put a hang in the wind into the form the core reads."""
    bodies = [
        instance(f"shadows[{i}]", body, WindShadow)
        for i, body in enumerate(listed("shadows", shadows))
    ]
    return {
        "tilt_deg": real("tilt_deg", tilt_deg),
        "top_m": real("top_m", top_m),
        "pick_x_m": real_array("pick_x_m", pick_x_m, 1).tolist(),
        "wind": instance("wind", wind, Wind)._row(),
        "wind_from": str(wind_from),
        "coefficient": None if coefficient is None else real("coefficient", coefficient),
        "structural_factor": real("structural_factor", structural_factor),
        "shadows": [((s.x_m, s.z_m), s.area_m2 * s.coefficient) for s in bodies],
        "closed": switch("closed", closed),
    }
