"""How hoists share a rigid hang: stiffness, slack, uneven trim, scatter, pan."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._pose import plan_place
from hangarc._record import Result, instance, real, real_array, whole
from hangarc.model import Hang
from hangarc.model.hardware import STANDARD_GRAVITY_M_S2


@dataclasses.dataclass(frozen=True, eq=False)
class RigidHang(Result):
    """What each hoist of a rigid frame carries.

    Attributes
    ----------
    load_n : ndarray, shape (k,)
        Pull of each hoist; 0 where slack.
    slack : ndarray of bool, shape (k,)
        Hoists that carry nothing.
    residual : float
        Greatest force, or moment over the hoists' half extent, left unbalanced, over the greater of
        the weight and the greatest pull. An answer above 1e-9 is not given.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.rigid_hang([(0.0, 0.0), (2.0, 0.0), (1.0, 1.5)], (1.0, 0.5), 6_000.0)
    >>> found.load_n.round().tolist(), found.slack.tolist()
    ([2000.0, 2000.0, 2000.0], [False, False, False])
    """

    load_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    residual: float

    def _picture(self) -> str:
        from hangarc import _pictures

        names = [f"hoist {hoist}" for hoist in range(1, len(self.load_n) + 1)]
        return _pictures.bars(self.load_n / 1e3, "load, kN", names)


@dataclasses.dataclass(frozen=True, eq=False)
class HangOnHoists(RigidHang):
    """A hang held by hoists anywhere above it.

    Attributes
    ----------
    load_n : ndarray, shape (k,)
        Pull of each hoist; 0 where slack.
    slack : ndarray of bool, shape (k,)
        Hoists that carry nothing.
    residual : float
        As in `RigidHang`.
    cg_m : ndarray, shape (3,)
        Centre of gravity in the room, after leaning.
    weight_n : float
        Weight of everything hung.
    lean_deg : float
        Lean about the line of hoists that stand on one line: the angle by which the centre of
        gravity stood off plumb below it. 0 where hoists spread in plan.

    Examples
    --------
    >>> import hangarc as ha
    >>> hooks_m = [(0.15, 0.4, 11.2), (0.15, -0.4, 11.2), (-1.05, 0.0, 11.2)]
    >>> found = ha.suspension.hang_on_hoists(ha.demo.hang(), 2.0, hooks_m, top_m=11.0)
    >>> found.load_n.round().tolist(), round(found.weight_n)
    ([1475.0, 1475.0, 1982.0], 4933)
    """

    cg_m: NDArray[np.float64]
    weight_n: float
    lean_deg: float


@dataclasses.dataclass(frozen=True, eq=False)
class PanHold(Result):
    """What holds a frame panned on two equal lines.

    Attributes
    ----------
    torque_nm : float
        Torque about the plumb axis that holds the pan.
    line_force_n : float
        Pull of each line.
    horizontal_n : float
        Horizontal part of it, on each roof point.
    from_plumb_deg : float
        Lean of each line from plumb.
    lift_m : float
        How far panning lifts the frame.

    Examples
    --------
    >>> import hangarc as ha
    >>> held = ha.suspension.pan_hold(1.2, 1.2, 6.0, weight_n=5_000.0, pan_deg=10.0)
    >>> round(held.torque_nm), round(1000.0 * held.lift_m, 1)
    (52, 0.9)
    """

    torque_nm: float
    line_force_n: float
    horizontal_n: float
    from_plumb_deg: float
    lift_m: float


@dataclasses.dataclass(frozen=True, eq=False)
class HoistScatter(Result):
    """Hoist loads over many random cases.

    Attributes
    ----------
    load_n : ndarray, shape (cases, k)
        Loads of every case; NaN where the frame tips.
    tips : ndarray of bool, shape (cases,)
        Cases in which the frame tips off its hoists. They count in no other field.
    least_n, mean_n, greatest_n : ndarray, shape (k,)
        Envelope of each hoist's load.
    quantile_n : ndarray, shape (q, k)
        Load not exceeded in the asked shares of cases.
    slack_share : ndarray, shape (k,)
        Share of cases in which the hoist is slack.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.hoist_scatter(
    ...     [(0.0, 0.0), (2.0, 0.0), (4.0, 0.0)],
    ...     [600.0],
    ...     [(2.0, 0.0)],
    ...     stiffness_n_m=1.0e6,
    ...     high_spread_m=0.005,
    ...     cases=2_000,
    ... )
    >>> found.mean_n.round(-2).tolist()
    [1700.0, 2500.0, 1700.0]
    """

    load_n: NDArray[np.float64]
    tips: NDArray[np.bool_]
    least_n: NDArray[np.float64]
    mean_n: NDArray[np.float64]
    greatest_n: NDArray[np.float64]
    quantile_n: NDArray[np.float64]
    slack_share: NDArray[np.float64]


@by_name
def rigid_hang(
    points_m: ArrayLike,
    cg_m: ArrayLike,
    weight_n: float,
    stiffness_n_m: float | Sequence[float] | None = None,
    *,
    high_m: ArrayLike | None = None,
) -> RigidHang:
    """Loads of plumb hoists that hold a rigid frame, slack hoists dropped out.

    Of all pulls rᵢ ≥ 0 with Σ rᵢ (1, pᵢ) = W (1, p_G) the frame takes those of least energy
    Σ (rᵢ²/2kᵢ − hᵢ rᵢ). Three hoists are determinate; more follow their spring rates. Solved
    exactly by the dual active-set method (Goldfarb & Idnani, Math. Programming 27, 1983).

    Parameters
    ----------
    points_m : array_like, shape (k, 2) or (k, 3)
        Hooks, (x, y) or (x, y, z) in room axes; heights do not matter for plumb hoists.
    cg_m : array_like, shape (2,) or (3,)
        Centre of gravity, with as many axes.
    weight_n : float
        Weight, above 0.
    stiffness_n_m : float or sequence of float, optional
        Spring rate of every hoist with its chain, or of each; left out, equally stiff hoists.
    high_m : array_like, shape (k,), optional
        How much too high each hook is (uneven trim); needs `stiffness_n_m`.

    Returns
    -------
    RigidHang

    Raises
    ------
    InputError
        An argument out of bounds, or a centre of gravity not plumb below the hoists' hull, where
        the frame tips.

    Examples
    --------
    >>> import hangarc as ha
    >>> corners_m = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (0.0, 2.0)]
    >>> ha.rigid_hang(corners_m, (2.0, 1.0), 8_000.0, 1.0e6).load_n.round().tolist()
    [2000.0, 2000.0, 2000.0, 2000.0]
    >>> high = ha.rigid_hang(
    ...     corners_m, (2.0, 1.0), 8_000.0, 1.0e6, high_m=[0.01, 0.0, 0.0, 0.0]
    ... )
    >>> high.load_n.round().tolist()  # one hoist 10 mm high
    [4000.0, 0.0, 4000.0, 0.0]
    """
    points = _plan("points_m", points_m, 2)
    count = len(points)
    held = _core.rigid_hang(
        points,
        _plan("cg_m", cg_m, 1),
        real("weight_n", weight_n),
        _each("stiffness_n_m", stiffness_n_m, count),
        _each("high_m", high_m, count),
    )
    return RigidHang(**held)


@by_name
def hang_on_hoists(
    hang: Hang,
    tilt_deg: float,
    points_m: ArrayLike,
    *,
    top_m: float = 0.0,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
    lateral_cg_m: float = 0.0,
    stiffness_n_m: float | Sequence[float] | None = None,
    high_m: ArrayLike | None = None,
) -> HangOnHoists:
    """Loads of hoists that hold a hang, panned and off their middle.

    The hang's centre of gravity, turned by the pan and moved by the offsets, is shared as in
    `rigid_hang`. Hoists on one line hold no moment about it: the hang leans until its centre of
    gravity is plumb below the line, tan lean = offset / depth.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Tilt at which it is held.
    points_m : array_like, shape (k, 3)
        Hooks (x, y, z) in room axes.
    top_m : float
        Height of cabinet 0's upper front hinge.
    position_m : (float, float)
        Plan (x, y) of cabinet 0's upper front hinge.
    pan_deg : float
        Pan of the hang about z, positive to the left.
    lateral_cg_m : float
        Centre of gravity to the left of the hang's middle plane.
    stiffness_n_m, high_m
        As in `rigid_hang`.

    Returns
    -------
    HangOnHoists

    Raises
    ------
    InputError
        An argument out of bounds, a centre of gravity outside the hoists, or hoists on one line
        that is not level or not above the centre of gravity.

    Examples
    --------
    >>> import hangarc as ha
    >>> corners_m = [(x_m, y_m, 11.2) for x_m in (0.15, -1.05) for y_m in (0.4, -0.4)]
    >>> found = ha.suspension.hang_on_hoists(
    ...     ha.demo.hang(), 2.0, corners_m, top_m=11.0, stiffness_n_m=1.0e6, lateral_cg_m=0.02
    ... )
    >>> found.load_n.round().tolist()
    [1537.0, 1414.0, 1053.0, 929.0]
    """
    points = real_array("points_m", points_m, 2)
    if points.ndim != 2 or points.shape[1] != 3:
        raise InputError("points_m", points_m, "points (x, y, z)")
    count = len(points)
    held = _core.hang_on_hoists(
        instance("hang", hang, Hang).handle,
        points,
        real("tilt_deg", tilt_deg),
        real("top_m", top_m),
        plan_place(position_m),
        real("pan_deg", pan_deg),
        real("lateral_cg_m", lateral_cg_m),
        _each("stiffness_n_m", stiffness_n_m, count),
        _each("high_m", high_m, count),
    )
    return HangOnHoists(**held)


@by_name
def pan_hold(
    roof_spacing_m: float,
    frame_spacing_m: float,
    line_m: float,
    *,
    weight_n: float,
    pan_deg: float,
) -> PanHold:
    """Torque and line pulls that hold a frame panned on two equal lines.

    With a, b half the spacings and ℓ the lines' length, h = √(ℓ² − a² − b² + 2ab cos ψ): each
    line pulls W ℓ / 2h, the torque is W a b sin ψ / h (bifilar pendulum, any mechanics textbook).

    Parameters
    ----------
    roof_spacing_m, frame_spacing_m : float
        Distance of the two roof points, and of the two points of the frame.
    line_m : float
        Length of each line.
    weight_n : float
        Weight, its centre of gravity plumb below the middle.
    pan_deg : float
        Pan from rest, within ±180°.

    Returns
    -------
    PanHold

    Raises
    ------
    InputError
        An argument out of bounds, or a pan that the lines do not reach.

    Examples
    --------
    >>> import hangarc as ha
    >>> held = ha.suspension.pan_hold(1.2, 1.2, 6.0, weight_n=5_000.0, pan_deg=5.0)
    >>> round(held.torque_nm, 1)
    26.1
    """
    return PanHold(
        **_core.pan_hold(
            real("roof_spacing_m", roof_spacing_m),
            real("frame_spacing_m", frame_spacing_m),
            real("line_m", line_m),
            real("weight_n", weight_n),
            real("pan_deg", pan_deg),
        )
    )


@by_name
def hoist_scatter(
    points_m: ArrayLike,
    mass_kg: ArrayLike,
    cg_m: ArrayLike,
    *,
    stiffness_n_m: float | Sequence[float],
    high_m: ArrayLike | None = None,
    mass_spread: float = 0.0,
    cg_spread_m: float = 0.0,
    high_spread_m: float = 0.0,
    stiffness_spread: float = 0.0,
    factor: float = 1.0,
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2,
    cases: int = 100_000,
    seed: int = 0,
    quantiles: Sequence[float] = (0.05, 0.5, 0.95),
    progress: Callable[[int, int], object] | None = None,
) -> HoistScatter:
    """Envelope of hoist loads when parts, hooks and spring rates are known to within a spread.

    Every case draws each part's mass m (1 + σ_m z), each coordinate of its centre of gravity
    g + σ_g z, each hook's height h + σ_h z and each spring rate k exp(σ_k z), z standard normal,
    and solves `rigid_hang` exactly. Case c draws from stream c of a ChaCha8 generator: the same
    bits for any number of threads. Ctrl-C stops between blocks of 16 384 cases.

    Parameters
    ----------
    points_m : array_like, shape (k, 2) or (k, 3)
        Hooks in room axes.
    mass_kg : array_like, shape (n,)
        Mass of each part: frame, cabinets, cables.
    cg_m : array_like, shape (n, 2) or (n, 3)
        Centre of gravity of each part, (x, y) or (x, y, z).
    stiffness_n_m, high_m
        As in `rigid_hang`; the stiffness is required.
    mass_spread : float
        Standard deviation of a mass over its mean, 0 to 1.
    cg_spread_m, high_spread_m : float
        Standard deviations of a centre of gravity's coordinate and of a hook's height.
    stiffness_spread : float
        Standard deviation of the logarithm of a spring rate, 0 to 2.
    factor : float
        Factor on every load, e.g. for starting and stopping.
    gravity_m_s2 : float
        Acceleration of free fall, 9.7 to 9.9.
    cases : int
        Number of cases, 1 to 20 million.
    seed : int
        Seed of the draws.
    quantiles : sequence of float
        Shares of cases, each 0 to 1.
    progress : callable, optional
        Called with the cases done and their number after every block.

    Returns
    -------
    HoistScatter

    Raises
    ------
    InputError
        An argument out of bounds, or a frame that tips in every case.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.hoist_scatter(
    ...     [(0.0, 0.0), (2.0, 0.0), (4.0, 0.0)],
    ...     [600.0],
    ...     [(2.0, 0.0)],
    ...     stiffness_n_m=1.0e6,
    ...     mass_spread=0.02,
    ...     cases=2_000,
    ...     seed=1,
    ... )
    >>> found.load_n.shape, found.slack_share.tolist()
    ((2000, 3), [0.0, 0.0, 0.0])
    """
    points = _plan("points_m", points_m, 2)
    count = len(points)
    found = _core.hoist_scatter(
        points,
        np.atleast_1d(real_array("mass_kg", mass_kg, 1)),
        _plan("cg_m", cg_m, 2),
        _each("stiffness_n_m", stiffness_n_m, count) or [],
        _each("high_m", 0.0 if high_m is None else high_m, count) or [],
        real("mass_spread", mass_spread),
        real("cg_spread_m", cg_spread_m),
        real("high_spread_m", high_spread_m),
        real("stiffness_spread", stiffness_spread),
        real("factor", factor),
        real("gravity_m_s2", gravity_m_s2),
        whole("cases", cases),
        whole("seed", seed),
        np.atleast_1d(real_array("quantiles", quantiles, 1)),
        progress,
    )
    if found is None:  # stopped by its signal, which the core has raised
        raise KeyboardInterrupt
    return HoistScatter(**found)


def _plan(field: str, points_m: ArrayLike, ndim: int) -> NDArray[np.float64]:
    """The (x, y) of points in plan or in space."""
    points = real_array(field, points_m, ndim)
    if points.ndim != ndim or points.shape[-1] not in (2, 3):
        raise InputError(field, points_m, "points (x, y) or (x, y, z)")
    return np.ascontiguousarray(points[..., :2])


def _each(field: str, values: ArrayLike | None, count: int) -> list[float] | None:
    """One number per hoist; a single number stands for all."""
    if values is None:
        return None
    numbers: list[float] = real_array(field, values, 1).tolist()
    return numbers * count if np.asarray(values).ndim == 0 else numbers
