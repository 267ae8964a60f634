"""What closing asks for and gives: bypass chain, remedies, slopes and spread, building up."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import REST_ENDINGS, Ended, Ending, RestEnd
from hangarc._record import Result, instance, real, whole
from hangarc.closing import picks as given_picks
from hangarc.model import Hang
from hangarc.staging import ClosingStages, stages_of

Array = NDArray[np.float64]

BypassEnd = Literal["carries", "stays slack", "chain too short", "not closed", "no rest found"]
BYPASS_ENDINGS: Mapping[str, Ending] = {
    "carries": Ending(True, "The bypass chain carries the hang."),
    "stays slack": Ending(
        False, "The hang opens all the way and the chain stays slack.", "Less take-up."
    ),
    "chain too short": Ending(
        False, "All links are shorter than the closed hang.", "A longer bypass chain."
    ),
    "not closed": Ending(
        False, "The hang does not close, so there is nothing to let off.", "See `close`."
    ),
    "no rest found": Ending(
        False, "The hang let off was not found at rest.", "Another stiffness or take-up."
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class Bypass(Ended):
    """The closed hang let off from the lever hoist onto a bypass chain.

    Attributes
    ----------
    ended : str
        ``carries``; ``stays slack``: the hang opens all the way; ``chain too short``: all links are
        shorter than the closed hang; ``not closed``; ``no rest found``.
    link : int
        Links in the load path: the first that reach.
    slack_m : float
        Length the chain has over while the hang is closed.
    force_n, chain_m : float
        Chain force and length once let off.
    angle_deg, opening_deg : ndarray, shape (j,)
        Joint angles once let off, and how far each has come off its stop.
    """

    _endings = BYPASS_ENDINGS

    ended: BypassEnd
    link: int
    slack_m: float
    force_n: float
    chain_m: float
    angle_deg: Array
    opening_deg: Array


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingRemedies(Result):
    """States in which a given chain force closes the hang.

    Attributes
    ----------
    available_n : float
        Force available.
    closing_force_n : float or None
        Closing force as the hang is.
    tilt : dict or None
        Least change of tilt within 30°: ``tilt_deg``, ``closing_force_n``, and
        ``front_pick_up_m``, how far the frame's front hole goes up against its rear hole.
    stages : tuple of dict
        The first 2, 3, … cabinets with the bottom frame under them: ``cabinets``,
        ``closing_force_n``, ``chain_closed_m``.
    most_cabinets : int or None
        The most cabinets that close at once.
    staged : ClosingStages
        Closing a few joints at a time, each stage with as many as the force closes.
    landing : dict or None
        Least landing of the bottom frame: ``landed_n``, its share ``landed_share`` of the weight
        below the fly frame, ``closing_force_n``.
    """

    available_n: float
    closing_force_n: float | None
    tilt: dict[str, float] | None
    stages: tuple[dict[str, Any], ...]
    most_cabinets: int | None
    staged: ClosingStages
    landing: dict[str, float] | None


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingSensitivities(Result):
    """Derivatives of the closed hang's forces.

    Attributes
    ----------
    inputs : tuple of str
        Path of each input: ``tilt_deg``, ``splays_deg[2]``, ``cabinets[3].cg_m[0]`` and so on.
    closing_force_n : ndarray, shape (k,)
        Change of the closing force per degree, kilogram or metre of each input.
    hoist_load_n : ndarray, shape (k, 2)
        Change of the hoists' loads, front first.
    """

    inputs: tuple[str, ...]
    closing_force_n: Array
    hoist_load_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingSpread(Result):
    """Cases of a hang known to within a spread.

    Attributes
    ----------
    closes : ndarray of bool, shape (cases,)
        Whether a chain force holds the hang closed.
    closing_force_n : ndarray, shape (cases,)
        Closing force; NaN where none closes it.
    hoist_load_n : ndarray, shape (cases, 2)
        Loads of the closed hang's hoists, front first.
    """

    closes: NDArray[np.bool_]
    closing_force_n: Array
    hoist_load_n: Array


@dataclasses.dataclass(frozen=True, eq=False)
class BuildStage(Ended):
    """One stage of building a hang.

    Attributes
    ----------
    cabinets : int
        Cabinets hung.
    ended : {"at rest", "no step lowers the energy", "budget spent"}
        How the search for its rest ended.
    closed : bool
        Whether the joints are at their pins, or open.
    mass_kg : float
        Everything hung.
    tilt_deg : float
        Elevation of the fly frame's axis.
    hoist_load_n : ndarray
        Load of each hoist, front first; below 0 it would have to push, so the tilt is not held.
    angle_deg : ndarray
        Angles between the cabinets hung.
    lowest_m : float
        Height of the lowest point against the first pick; below it is negative.
    lift_m : float or None
        Height at which the lowest point has to stand before the next stack goes under.
    """

    _endings = REST_ENDINGS

    cabinets: int
    ended: RestEnd
    closed: bool
    mass_kg: float
    tilt_deg: float
    hoist_load_n: Array
    angle_deg: Array
    lowest_m: float
    lift_m: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class BuildUp(Result):
    """All stages of building a hang; taking down goes the same way back.

    Attributes
    ----------
    stages : tuple of BuildStage
        In order; a compression hang closes in the last.
    worst_load_n : float
        Greatest load of one hoist in any stage.
    worst_stage : int
        The stage that has it.
    """

    stages: tuple[BuildStage, ...]
    worst_load_n: float
    worst_stage: int


def bypass(
    hang: Hang, tilt_deg: float, *, take_up_m: float = 0.0, stiffness_n_m: float | None = None
) -> Bypass:
    """Let the closed hang off from the lever hoist onto a chain of whole links.

    The chain takes the first link k with k p ≥ L_closed; let off, the hang opens until
    L(θ) = k p + take-up + T/stiffness, T and L those of the closing path.

    Parameters
    ----------
    hang : Hang
        A compression hang with closing gear; its pitch and links are the bypass chain's.
    tilt_deg : float
        Elevation of the held frame's axis.
    take_up_m : float
        Play of hooks and links before the chain is taut.
    stiffness_n_m : float, optional
        Force per length of stretch; left out, the chain does not stretch.

    Returns
    -------
    Bypass

    Raises
    ------
    InputError
        No closing gear, a take-up below 0, a stiffness not above 0, or as `close`.
    """
    fields: dict[str, Any] = _core.bypass(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        real("take_up_m", take_up_m),
        None if stiffness_n_m is None else real("stiffness_n_m", stiffness_n_m),
    )
    return Bypass(**fields)


def closing_remedies(
    hang: Hang, tilt_deg: float, available_n: float | None = None
) -> ClosingRemedies:
    """What would close a hang that the available chain force does not.

    Each answer is a computed state: another tilt, fewer cabinets, fewer joints at a time (see
    `closing_stages`), or part of the weight landed. Landed with P under the bottom frame's centre
    of gravity at x_P, joint j asks for T_j = (G_j − P (x_j − x_P))/E_j, with G_j its gravity moment
    and E_j the chain's lever.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the held frame's axis, −60 to 60°.
    available_n : float, optional
        Chain force; left out, the lower edge of the slip clutch's band.

    Returns
    -------
    ClosingRemedies

    Raises
    ------
    InputError
        No force given and no clutch band stated, or as `close`.
    """
    fields: dict[str, Any] = _core.closing_remedies(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        None if available_n is None else real("available_n", available_n),
    )
    fields["stages"] = tuple(fields["stages"])
    fields["staged"] = stages_of(fields["staged"])
    return ClosingRemedies(**fields)


def closing_sensitivities(
    hang: Hang, tilt_deg: float, *, pick_x_m: Sequence[float] | None = None
) -> ClosingSensitivities:
    """Derivatives of closing force and hoist loads by every mass, place, splay and the tilt.

    Closed, T = G/E of the governing joint, so dT = (dG − T dE)/E, exact along each input's rigid
    motion; hoist loads by moments about the picks.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the held frame's axis.
    pick_x_m : (float, float), optional
        Front and rear pick; left out, the frame's foremost and rearmost hole.

    Returns
    -------
    ClosingSensitivities

    Raises
    ------
    InputError
        No chain force holds the hang closed, or as `close`.
    """
    fields: dict[str, Any] = _core.closing_sensitivities(
        instance("hang", hang, Hang).handle, real("tilt_deg", tilt_deg), given_picks(pick_x_m)
    )
    fields["inputs"] = tuple(fields["inputs"])
    return ClosingSensitivities(**fields)


def closing_spread(
    hang: Hang,
    tilt_deg: float,
    *,
    cases: int = 10_000,
    seed: int = 0,
    mass_spread: float = 0.0,
    cg_spread_m: float = 0.0,
    anchor_spread_m: float = 0.0,
    splay_spread_deg: float = 0.0,
    tilt_spread_deg: float = 0.0,
    pick_x_m: Sequence[float] | None = None,
) -> ClosingSpread:
    """Closing force and hoist loads of a hang known to within a spread (Monte Carlo).

    Every case draws each mass m (1 + σ z), each coordinate of centres of gravity and anchors, each
    splay and the tilt shifted by σ z, z standard normal, and solves the closed pose. The same seed
    gives the same cases for any number of threads. Ctrl-C stops it.

    Parameters
    ----------
    hang, tilt_deg, pick_x_m
        As in `closing_sensitivities`.
    cases : int
        Number of cases, 1 to 2·10⁷.
    seed : int
        Seed of the draws.
    mass_spread : float
        Standard deviation of a mass over its mean.
    cg_spread_m, anchor_spread_m : float
        Standard deviation of each coordinate of a centre of gravity and of a chain anchor.
    splay_spread_deg, tilt_spread_deg : float
        Standard deviation of a splay and of the tilt.

    Returns
    -------
    ClosingSpread

    Raises
    ------
    InputError
        A spread out of range (mass 0 to 1, places 0 to 10 m, angles 0 to 90°), cases out of range,
        or as `close`.
    """
    fields: dict[str, Any] = _core.closing_spread(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        given_picks(pick_x_m),
        [
            real("mass_spread", mass_spread),
            real("cg_spread_m", cg_spread_m),
            real("anchor_spread_m", anchor_spread_m),
            real("splay_spread_deg", splay_spread_deg),
            real("tilt_spread_deg", tilt_spread_deg),
        ],
        whole("cases", cases),
        whole("seed", seed),
    )
    return ClosingSpread(**fields)


def build_up(
    hang: Hang,
    pick_x_m: float | Sequence[float],
    *,
    stack: int = 4,
    cart_m: float = 0.0,
    tilt_deg: float | None = None,
) -> BuildUp:
    """Stages of building a hang from stacks of cabinets.

    Each stage is a hang of its own: the fly frame with the cabinets hung so far, joints pinned
    (tension) or open to where gravity takes them (compression, no chain), on one pick where it
    turns plumb, or on two at a held tilt. The last stage has the bottom frame; a compression hang
    has one more, closed. Stacks of four a cart are common practice, no source.

    Parameters
    ----------
    hang : Hang
        The whole hang.
    pick_x_m : float or (float, float)
        The pick, or front and rear pick.
    stack : int
        Cabinets a stack; the last has what is left.
    cart_m : float
        Height of the cart's deck.
    tilt_deg : float, optional
        Tilt at which two hoists hold the frame; left out with one pick.

    Returns
    -------
    BuildUp

    Raises
    ------
    InputError
        No cabinets a stack, a cart below the floor, picks that are not one or two, or a tilt
        that is missing with two picks or given with one.
    """
    picks = given_picks(pick_x_m)
    fields: dict[str, Any] = _core.build_up(
        instance("hang", hang, Hang).handle,
        whole("stack", stack),
        real("cart_m", cart_m),
        [] if picks is None else picks,
        None if tilt_deg is None else real("tilt_deg", tilt_deg),
    )
    fields["stages"] = tuple(BuildStage(**stage) for stage in fields["stages"])
    return BuildUp(**fields)
