"""Closing the rear at working height."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hangarc._pose import pose
from hangarc._record import Result
from hangarc.closing.let_off import Bypass, bypass
from hangarc.closing.links import Shortening
from hangarc.closing.path import Closing, ContactKind, close
from hangarc.model import Hang
from hangarc.work.heights import Heights
from hangarc.work.job import Job

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True, eq=False)
class Contact(Result):
    """A joint meeting or leaving its stop while the chain is pulled.

    Attributes
    ----------
    joint : int
        Its number.
    contact : str
        As in `ContactEvent`.
    chain_m, hoist_m : float
        Length of the chain with its hoist, and of the hoist alone.
    force_n : float
        Force in the chain.

    Examples
    --------
    >>> import hangarc as ha
    >>> rear = ha.evaluate(ha.demo.study(cabinets=4)).work.closing
    >>> for contact in rear.contacts:
    ...     print(contact.joint, contact.contact, round(contact.hoist_m, 2))
    ...
    3 arrives at stop 1.11
    2 arrives at stop 1.09
    1 arrives at stop 1.06
    """

    joint: int
    contact: ContactKind
    chain_m: float
    hoist_m: float
    force_n: float


@dataclasses.dataclass(frozen=True, eq=False)
class Jump(Result):
    """A sudden change of angles while the chain is pulled.

    Attributes
    ----------
    hoist_m : float
        Length of the lever hoist then.
    greatest_turn_deg, force_before_n, force_after_n : float
        As in `Snap`.

    Examples
    --------
    >>> import hangarc as ha
    >>> rear = ha.evaluate(ha.demo.study(cabinets=4)).work.closing
    >>> len(rear.jumps)  # the demo closes without one
    0
    """

    hoist_m: float
    greatest_turn_deg: float
    force_before_n: float
    force_after_n: float


@dataclasses.dataclass(frozen=True, eq=False)
class RearClosing(Result):
    """Closing the rear at working height.

    Attributes
    ----------
    link, slack_links : int
        Link of the chain that the shortening clutch takes, counted from the fly frame, and links
        left hanging.
    hoist_open_m, hoist_closed_m : float
        Length of the lever hoist between its hooks on the open and on the closed hang.
    pick_m, hook_m : ndarray, shape (k,)
        Heights of the holes in use and of the hooks with the rear open.
    tilt_open_deg, tilt_closed_deg : float
        Tilt of the fly frame with the rear open and closed.
    lowest_open_m, lowest_closed_m, lowest_on_way_m : float
        Height of the lowest point, and the least of it on the way.
    anchor_open_m, anchor_closed_m : ndarray, shape (2,)
        Lower end of the chain (x, z): forward of the front pick's plumb line, and height.
    swing_m, rise_m : float
        How far the lower end of the chain swings to the rear, and rises, from open to closed.
    behind_m, ahead_m : float
        How far behind and ahead of the front pick's plumb line any part of the hang, the fly frame
        with it, comes while closing.
    contacts : tuple of Contact
        Contacts with the stops in the order they come.
    jumps : tuple of Jump
        Sudden changes on the way.
    closing_force_n : float
        Chain force at which the last stop is met.
    preload_n, pulled_n : float
        Force beyond it that brings every stop to the job's least force, and both together.
    least_stop_n : float
        Least force on a stop then.
    least_stop_joint : int
        The joint that carries it.
    hoist_load_open_n, hoist_load_closed_n, hoist_load_greatest_n : ndarray, shape (k,)
        What the hoists read with the rear open, closed, and the greatest on the way.
    bypass : Bypass
        The closed hang let off from the lever hoist onto whole links.
    bypass_opening_deg : float
        Greatest angle that a joint then comes off its stop.

    Examples
    --------
    >>> import hangarc as ha
    >>> rear = ha.evaluate(ha.demo.study(cabinets=4)).work.closing
    >>> rear.link, round(rear.hoist_open_m, 2), round(rear.closing_force_n)
    (17, 1.14, 867)
    """

    link: int
    slack_links: int
    hoist_open_m: float
    hoist_closed_m: float
    pick_m: Array
    hook_m: Array
    tilt_open_deg: float
    tilt_closed_deg: float
    lowest_open_m: float
    lowest_closed_m: float
    lowest_on_way_m: float
    anchor_open_m: Array
    anchor_closed_m: Array
    swing_m: float
    rise_m: float
    behind_m: float
    ahead_m: float
    contacts: tuple[Contact, ...]
    jumps: tuple[Jump, ...]
    closing_force_n: float
    preload_n: float
    pulled_n: float
    least_stop_n: float
    least_stop_joint: int
    hoist_load_open_n: Array
    hoist_load_closed_n: Array
    hoist_load_greatest_n: Array
    bypass: Bypass
    bypass_opening_deg: float


def close_on_picks(
    hang: Hang, tilt_deg: float, pick_x_m: Sequence[float], job: Job
) -> tuple[Closing, float]:
    """Close the hang as it hangs, and pull on until every stop carries the job's least force.

    Stop forces of the closed hang are linear in the chain force, so the preload follows from two
    of its states. Joints 0 and n are pinned both ways and have no stop to bring to a force.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Tilt of the fly frame; on one pick it follows from the balance.
    pick_x_m : sequence of float
        One pick or two.
    job : Job
        States the least stop force.

    Returns
    -------
    (Closing, float)
        The closing and its preload; 0 where no preload brings every stop to that force.
    """

    def closed(preload_n: float) -> Closing:
        if len(pick_x_m) == 1:
            return close(hang, None, frame="one pick", pick_x_m=pick_x_m, preload_n=preload_n)
        return close(hang, tilt_deg, frame="two hoists", pick_x_m=pick_x_m, preload_n=preload_n)

    trial_n = 1000.0
    found = closed(trial_n)
    preload_n = _preload_n(found, trial_n, job.stop_force_n) or 0.0
    return closed(preload_n), preload_n


def _preload_n(closing: Closing, trial_n: float, wanted_n: float) -> float | None:
    """Force beyond the closing force that brings every stop to `wanted_n`; None where none does."""
    if closing.at_closing is None or closing.at_preload is None:
        return None
    at_closing = closing.at_closing.stop_force_n[1:-1]
    slope = (closing.at_preload.stop_force_n[1:-1] - at_closing) / trial_n
    short = wanted_n - at_closing
    asks = short > 0.0
    if not asks.any():
        return 0.0
    if (slope[asks] <= 0.0).any():
        return None
    return float((short[asks] / slope[asks]).max())


def rear_closing(
    hang: Hang,
    job: Job,
    pick_x_m: Sequence[float],
    closing: Closing | None,
    preload_n: float,
    shortened: Shortening | None,
) -> RearClosing | None:
    """Closing the rear; None of a tension hang and of a hang that does not close."""
    if (
        closing is None
        or closing.ended != "closed"
        or closing.closing_force_n is None
        or closing.at_preload is None
        or shortened is None
        or shortened.link is None
        or shortened.slack_links is None
        or hang.gear is None
    ):
        return None
    way = swept(hang, closing, pick_x_m)
    first_m = job.clear_m - way.lowest_m.min()
    heights = Heights(hang, pick_x_m, job.steel_m)
    picks_m = heights.picks_m(way.tilt_deg[0], first_m)
    link_m = shortened.link * hang.gear.pitch_m
    stops = closing.at_preload.stop_force_n[1:-1]
    let_off = bypass(hang, float(way.tilt_deg[-1]))
    loads = closing.path["hoist_load_n"]
    return RearClosing(
        link=shortened.link,
        slack_links=shortened.slack_links,
        hoist_open_m=closing.chain_free_m - link_m,
        hoist_closed_m=closing.chain_closed_m - link_m,
        pick_m=picks_m,
        hook_m=heights.hooks_m(picks_m),
        tilt_open_deg=float(way.tilt_deg[0]),
        tilt_closed_deg=float(way.tilt_deg[-1]),
        lowest_open_m=float(first_m + way.lowest_m[0]),
        lowest_closed_m=float(first_m + way.lowest_m[-1]),
        lowest_on_way_m=float(first_m + way.lowest_m.min()),
        anchor_open_m=way.anchor_m[0] + [0.0, first_m],
        anchor_closed_m=way.anchor_m[-1] + [0.0, first_m],
        swing_m=float(way.anchor_m[0, 0] - way.anchor_m[-1, 0]),
        rise_m=float(way.anchor_m[-1, 1] - way.anchor_m[0, 1]),
        behind_m=float(-way.rear_x_m.min()),
        ahead_m=float(way.front_x_m.max()),
        contacts=tuple(
            Contact(
                joint=event.joint,
                contact=event.contact,
                chain_m=event.chain_m,
                hoist_m=event.chain_m - link_m,
                force_n=event.force_n,
            )
            for event in closing.events
            if "stop" in event.contact
        ),
        jumps=tuple(
            Jump(
                hoist_m=snap.chain_m - link_m,
                greatest_turn_deg=snap.greatest_turn_deg,
                force_before_n=snap.force_before_n,
                force_after_n=snap.force_after_n,
            )
            for snap in closing.snaps
        ),
        closing_force_n=closing.closing_force_n,
        preload_n=preload_n,
        pulled_n=closing.closing_force_n + preload_n,
        least_stop_n=float(stops.min()),
        least_stop_joint=1 + int(stops.argmin()),
        hoist_load_open_n=loads[0],
        hoist_load_closed_n=loads[-1],
        hoist_load_greatest_n=loads.max(axis=0),
        bypass=let_off,
        bypass_opening_deg=float(let_off.opening_deg.max()),
    )


@dataclasses.dataclass(frozen=True, eq=False)
class Swept(Result):
    """The hang on its way to closed, row by row of the closing path, from the front pick.

    Attributes
    ----------
    tilt_deg, lowest_m, rear_x_m, front_x_m : ndarray, shape (rows,)
        Tilt; height of the lowest point; rearmost and foremost place.
    anchor_m : ndarray, shape (rows, 2)
        Lower end of the chain.

    Examples
    --------
    >>> import hangarc as ha
    >>> rear = ha.evaluate(ha.demo.study(cabinets=4)).work.closing
    >>> rear.lowest_closed_m >= rear.lowest_open_m  # closing lifts the lowest point
    True
    """

    tilt_deg: Array
    lowest_m: Array
    rear_x_m: Array
    front_x_m: Array
    anchor_m: Array


def swept(hang: Hang, closing: Closing, pick_x_m: Sequence[float]) -> Swept:
    """Follow the hang through the rows of its closing path, seen from the front pick.

    Parameters
    ----------
    hang : Hang
        The hang.
    closing : Closing
        How it closes.
    pick_x_m : sequence of float
        Its picks, front first.

    Returns
    -------
    Swept
    """
    hole = list(hang.frame.pick_x_m).index(pick_x_m[0])
    tilts, angles = closing.path["tilt_deg"], closing.path["angle_deg"]
    lowest, rear, front, anchor = [], [], [], []
    for tilt_deg, angle_deg in zip(tilts, angles, strict=True):
        here = pose(hang, float(tilt_deg), 0.0, splays_deg=angle_deg[1:-1])
        pick = here.pick_m[hole]
        # The frame reaches from its foremost to its rearmost hole.
        x_m = np.append(here.corners_m[..., 0], here.pick_m[:, 0]) - pick[0]
        lower = here.corners_m[-1, 1] if here.chain_m is None else here.chain_m[1]
        anchor.append(lower - pick)
        lowest.append(here.trim_m - pick[1])
        rear.append(min(x_m.min(), anchor[-1][0]))
        front.append(max(x_m.max(), anchor[-1][0]))
    return Swept(
        tilt_deg=np.asarray(tilts),
        lowest_m=np.array(lowest),
        rear_x_m=np.array(rear),
        front_x_m=np.array(front),
        anchor_m=np.array(anchor),
    )
