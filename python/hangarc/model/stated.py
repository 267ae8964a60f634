"""The keys of `limits`: what may be stated of each part, in newtons."""

from __future__ import annotations

from typing import TypedDict


class CabinetLimits(TypedDict, total=False):
    """Stated limits of the joint below a cabinet, both sides together, in newtons.

    A key left out, or None, is *not stated*, which is never a pass.

    Attributes
    ----------
    hinge_n : float or None
        Of the front hinge.
    rear_link_n : float or None
        Of the rear link in tension.
    stop_n : float or None
        Of the rear link or stop in compression.

    Examples
    --------
    >>> import hangarc as ha
    >>> limits: ha.model.CabinetLimits = {"hinge_n": 32_000.0, "rear_link_n": 16_000.0}
    >>> limits.get("stop_n", "not stated")
    'not stated'
    """

    hinge_n: float | None
    rear_link_n: float | None
    stop_n: float | None


class FlyFrameLimits(TypedDict, total=False):
    """Stated limits of the fly frame, in newtons.

    A key left out, or None, is *not stated*, which is never a pass.

    Attributes
    ----------
    total_n : float or None
        Of everything hung.
    pick_n : float or None
        Of one pick.
    hinge_n : float or None
        Of the front hinge of joint 0, both sides together.
    rear_link_n : float or None
        Of the rear link of joint 0 in tension, both sides together.
    stop_n : float or None
        Of the same in compression.
    chain_n : float or None
        Of the anchor of the closing chain.

    Examples
    --------
    >>> import hangarc as ha
    >>> limits: ha.model.FlyFrameLimits = {"total_n": 14_000.0, "pick_n": 9_000.0, "chain_n": None}
    >>> limits["chain_n"] is None  # not stated, as if it were left out
    True
    """

    total_n: float | None
    pick_n: float | None
    hinge_n: float | None
    rear_link_n: float | None
    stop_n: float | None
    chain_n: float | None


class BottomFrameLimits(TypedDict, total=False):
    """Stated limits of the bottom frame, in newtons.

    A key left out, or None, is *not stated*, which is never a pass.

    Attributes
    ----------
    chain_n : float or None
        Of the anchor of the closing chain.

    Examples
    --------
    >>> import hangarc as ha
    >>> limits: ha.model.BottomFrameLimits = {"chain_n": 12_500.0}
    >>> ha.BottomFrame(mass_kg=24.0, cg_m=(-0.36, -0.07), limits=limits).limits["chain_n"]
    12500.0
    """

    chain_n: float | None


class ClosingGearLimits(TypedDict, total=False):
    """Stated limits of the closing gear, in newtons.

    A key left out, or None, is *not stated*, which is never a pass.

    Attributes
    ----------
    chain_n : float or None
        Of the chain with its fittings.
    hoist_n : float or None
        Of the lever hoist.

    Examples
    --------
    >>> import hangarc as ha
    >>> limits: ha.model.ClosingGearLimits = {"chain_n": 12_500.0, "hoist_n": 10_000.0}
    >>> sorted(limits)
    ['chain_n', 'hoist_n']
    """

    chain_n: float | None
    hoist_n: float | None
