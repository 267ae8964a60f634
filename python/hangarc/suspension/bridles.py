"""Bridles of two or three legs, made of steels and chain, and how a heavy leg sags."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, besides, real, real_array, whole

if TYPE_CHECKING:
    from hangarc._fields import BridleFields

LegEnd = Literal["found", "other length"]

LEG_ENDINGS: Mapping[str, Ending] = {
    "found": Ending(True, "The leg has the length or the pull asked for."),
    "other length": Ending(
        False,
        "The leg's length is not the one asked for, by more than rounding.",
        "A length farther from the chord's, or the pull in its place.",
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class Bridle(Result):
    """What each leg of a bridle carries.

    Points have as many axes as the anchors given: (x, z), or (x, y, z).

    Attributes
    ----------
    force_n : ndarray, shape (k,)
        Pull along each leg; 0 where slack.
    slack : ndarray of bool, shape (k,)
        Legs longer than the way from apex to anchor.
    apex_m : ndarray, shape (2,) or (3,)
        Where the legs meet.
    length_m : ndarray, shape (k,)
        Length of each leg.
    horizontal_n : ndarray, shape (k,)
        Horizontal pull on each anchor, at least 0.
    anchor_force_n : ndarray, shape (k, 2) or (k, 3)
        Force of each leg on its anchor, room axes.
    from_plumb_deg : ndarray, shape (k,)
        Angle of each leg from plumb.
    included_angle_deg : ndarray, shape (1,) or (3,)
        Angle at the apex between legs (0, 1), or (0, 1), (0, 2), (1, 2).

    Examples
    --------
    >>> import hangarc as ha
    >>> legs = ha.bridle([(-2.0, 12.0), (2.0, 12.0)], load_n=5_000.0, apex_m=(0.0, 10.0))
    >>> legs.force_n.round().tolist(), legs.included_angle_deg.round().tolist()
    ([3536.0, 3536.0], [90.0])
    """

    force_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    apex_m: NDArray[np.float64]
    length_m: NDArray[np.float64]
    horizontal_n: NDArray[np.float64]
    anchor_force_n: NDArray[np.float64]
    from_plumb_deg: NDArray[np.float64]
    included_angle_deg: NDArray[np.float64]

    def _picture(self) -> str:
        from hangarc import _pictures

        taut = ~np.asarray(self.slack, bool)
        ways = self.anchor_force_n[taut] / self.force_n[taut, None]
        anchors_m = self.apex_m - self.length_m[taut, None] * ways
        return _pictures.bridle(anchors_m, self.apex_m, self.force_n[taut])


@dataclasses.dataclass(frozen=True, eq=False)
class MadeBridle(Result):
    """A bridle made of listed steels and whole chain links.

    Attributes
    ----------
    bridle : Bridle
        Forces, lengths and the apex it has.
    steels_m : list of list of float
        Steels of each leg, longest first.
    links : list of int
        Chain links of each leg.
    miss_m : float
        Distance from the apex it has to the one wanted.

    Examples
    --------
    >>> import hangarc as ha
    >>> made = ha.suspension.bridle_from_stock(
    ...     [(-2.0, 12.0), (2.0, 12.0)],
    ...     (0.0, 10.0),
    ...     load_n=5_000.0,
    ...     steels_m=[1.5, 3.0],
    ...     pitch_m=0.08,
    ...     most_links=10,
    ... )
    >>> made.steels_m, made.links, round(made.miss_m, 3)
    ([[3.0], [3.0]], [0, 0], 0.236)
    """

    bridle: Bridle
    steels_m: list[list[float]]
    links: list[int]
    miss_m: float

    def _picture(self) -> str:
        return self.bridle._picture()


@dataclasses.dataclass(frozen=True, eq=False)
class HeavyLeg(Ended):
    """A heavy chain hanging between two points, from start to end.

    Attributes
    ----------
    ended : str
        ``found``, or ``other length``: the residual is more than rounding, above 1e-9.
    length_m : float
        Length along the chain.
    horizontal_n : float
        Horizontal part of its pull, the same all along.
    vertical_n : ndarray, shape (2,)
        Vertical pull of the chain on the points at its start and end, positive down.
    force_n : ndarray, shape (2,)
        Pull at its start and end.
    sag_m : float
        Greatest plumb distance between the chord and the chain.
    residual : float
        How far the chain's length is from the one asked for, over it; 0 where a pull was asked for.

    Examples
    --------
    >>> import hangarc as ha
    >>> chain = ha.suspension.heavy_leg(10.0, 0.0, weight_n_m=30.0, length_m=10.2)
    >>> round(chain.horizontal_n), round(chain.sag_m, 2)
    (434, 0.87)
    """

    _endings = LEG_ENDINGS

    ended: LegEnd
    length_m: float
    horizontal_n: float
    vertical_n: NDArray[np.float64]
    force_n: NDArray[np.float64]
    sag_m: float
    residual: float

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.heavy_leg(self)


@by_name
def bridle(
    anchors_m: ArrayLike,
    lengths_m: ArrayLike | None = None,
    load_n: float | None = None,
    *,
    apex_m: ArrayLike | None = None,
) -> Bridle:
    """Forces of a bridle of two or three legs, from its leg lengths or its apex.

    With unit vectors uᵢ from the apex P to the anchors, Σ Fᵢ uᵢ = W ẑ, Fᵢ ≥ 0 (equilibrium of
    concurrent forces, any statics textbook, e.g. Meriam & Kraige, *Engineering Mechanics:
    Statics*, ch. 3). For given lengths the apex is the lowest point no leg forbids; a leg that is
    too long to be pulled there is slack. Legs are weightless and do not stretch.

    Parameters
    ----------
    anchors_m : array_like, shape (k, 2) or (k, 3)
        Two or three anchors, (x, z) or (x, y, z), at any heights.
    lengths_m : array_like, shape (k,), optional
        Leg lengths; give these or `apex_m`.
    load_n : float
        Weight below the apex, above 0. It has no default.
    apex_m : array_like, shape (2,) or (3,), optional
        Where the legs meet. With two anchors in space it lies in their upright plane.

    Returns
    -------
    Bridle

    Raises
    ------
    InputError
        Both or neither of lengths and apex, legs too short to meet, three legs in one upright
        plane with a given apex (their shares are not determined), or an apex at which a leg would
        have to push.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.bridle([(-2.0, 12.0), (2.0, 12.0)], [3.0, 3.0], load_n=5_000.0).apex_m.round(2).tolist()
    [0.0, 9.76]
    >>> three = [(0.0, 2.0, 12.0), (-2.0, -1.0, 12.0), (2.0, -1.0, 12.0)]
    >>> ha.bridle(three, load_n=5_000.0, apex_m=(0.0, 0.0, 10.0)).force_n.round().tolist()
    [2357.0, 2500.0, 2500.0]
    """
    anchors = _in_space("anchors_m", anchors_m, 2)
    load = real("load_n", load_n)
    if lengths_m is not None and apex_m is None:
        lengths = np.atleast_1d(real_array("lengths_m", lengths_m, 1))
        fields = _core.bridle_of(anchors, lengths, load)
    elif apex_m is not None and lengths_m is None:
        fields = _core.bridle_at(anchors, _apex(apex_m, anchors_m), load)
    else:
        raise InputError("lengths_m", lengths_m, "either lengths_m or apex_m, and not both")
    return _bridle(fields, anchors_m)


@by_name
def bridle_forces_along(
    anchors_m: ArrayLike, apexes_m: ArrayLike, *, load_n: float
) -> NDArray[np.float64]:
    """Leg forces of a bridle as its apex moves, e.g. along a beam.

    The equations are those of `bridle`.

    Parameters
    ----------
    anchors_m : array_like, shape (k, 2) or (k, 3)
        Two or three anchors.
    apexes_m : array_like, shape (n, 2) or (n, 3)
        Places of the apex.
    load_n : float
        Weight below the apex, above 0.

    Returns
    -------
    ndarray, shape (n, k)
        Pull along each leg; a negative number means that the leg would have to push, so that the
        bridle cannot hold its apex there.

    Raises
    ------
    InputError
        As `bridle`, except that a pushing leg is no error.

    Examples
    --------
    >>> import hangarc as ha
    >>> apexes_m = [(x_m, 10.0) for x_m in (-1.0, 0.0, 1.0)]
    >>> ha.suspension.bridle_forces_along(
    ...     [(-2.0, 12.0), (2.0, 12.0)], apexes_m, load_n=5_000.0
    ... ).round().tolist()
    [[4193.0, 2253.0], [3536.0, 3536.0], [2253.0, 4193.0]]
    """
    anchors = _in_space("anchors_m", anchors_m, 2)
    apexes = _in_space("apexes_m", apexes_m, 2)
    forces: NDArray[np.float64] = _core.bridle_forces_along(anchors, apexes, real("load_n", load_n))
    return forces


@by_name
def bridle_from_stock(
    anchors_m: ArrayLike,
    apex_m: ArrayLike,
    *,
    load_n: float,
    steels_m: Sequence[float],
    pitch_m: float,
    most_links: int,
    most_steels: int = 2,
    fittings_m: float = 0.0,
    within_m: float = 0.25,
) -> MadeBridle:
    """Make a bridle of listed steels and whole chain links, its apex nearest to the wanted one.

    Each leg is fittings + up to `most_steels` listed steels + 0 … `most_links` links, all legs
    taut. Every combination that can beat the best one found is tried, so the miss is the least
    possible; of equal lengths the one with fewest steels, then fewest links, is taken.

    Parameters
    ----------
    anchors_m : array_like, shape (k, 2) or (k, 3)
        Two or three anchors.
    apex_m : array_like, shape (2,) or (3,)
        Wanted apex.
    load_n : float
        Weight below the apex, above 0.
    steels_m : sequence of float
        Lengths of the steels at hand, each as often as wanted.
    pitch_m : float
        Inner length of one link.
    most_links, most_steels : int
        Most links and most steels in one leg.
    fittings_m : float
        Length every leg has besides.
    within_m : float
        How far from the wanted apex to look.

    Returns
    -------
    MadeBridle

    Raises
    ------
    InputError
        Stock out of bounds, or no combination within `within_m`.

    Examples
    --------
    >>> import hangarc as ha
    >>> made = ha.suspension.bridle_from_stock(
    ...     [(-2.0, 12.0), (1.0, 12.0)],
    ...     (0.0, 10.0),
    ...     load_n=5_000.0,
    ...     steels_m=[0.75, 1.5, 3.0],
    ...     pitch_m=0.08,
    ...     most_links=12,
    ... )
    >>> made.steels_m, made.links, made.bridle.force_n.round().tolist()
    ([[1.5, 0.75], [1.5]], [7, 9], [2379.0, 3729.0])
    """
    made = _core.nearest_bridle_of_stock(
        _in_space("anchors_m", anchors_m, 2),
        _apex(apex_m, anchors_m),
        real("load_n", load_n),
        np.atleast_1d(real_array("steels_m", steels_m, 1)),
        whole("most_steels", most_steels),
        real("pitch_m", pitch_m),
        whole("most_links", most_links),
        real("fittings_m", fittings_m),
        real("within_m", within_m),
    )
    return MadeBridle(**besides(made, "bridle"), bridle=_bridle(made["bridle"], anchors_m))


@by_name
def heavy_leg(
    span_m: float,
    rise_m: float,
    *,
    weight_n_m: float,
    length_m: float | None = None,
    horizontal_n: float | None = None,
) -> HeavyLeg:
    """Sag and pulls of a heavy chain, from its length or its horizontal pull.

    The catenary y = a cosh(x/a), a = H/w; for a given length, sinh x̂ / x̂ =
    √(length² − rise²)/span with x̂ = span/2a (e.g. Irvine, *Cable Structures*, 1981, ch. 1). The
    chain does not stretch. The horizontal pull of a bridle's leg is its `horizontal_n`.

    Parameters
    ----------
    span_m : float
        Horizontal distance from start to end, above 0.
    rise_m : float
        Height of the end above the start.
    weight_n_m : float
        Weight per metre, above 0.
    length_m : float, optional
        Length of the chain, longer than its chord; give this or `horizontal_n`.
    horizontal_n : float, optional
        Horizontal part of its pull, above 0.

    Returns
    -------
    HeavyLeg

    Raises
    ------
    InputError
        An argument out of bounds, or both or neither of length and pull.

    Examples
    --------
    >>> import hangarc as ha
    >>> taut = ha.suspension.heavy_leg(10.0, 2.0, weight_n_m=30.0, horizontal_n=2_000.0)
    >>> round(taut.length_m, 2), taut.force_n.round().tolist()
    (10.21, [2015.0, 2075.0])
    """
    if (length_m is None) == (horizontal_n is None):
        raise InputError("length_m", length_m, "either length_m or horizontal_n, not both")
    span, rise, weight = (
        real("span_m", span_m),
        real("rise_m", rise_m),
        real("weight_n_m", weight_n_m),
    )
    if length_m is not None:
        fields = _core.heavy_leg_of_length(span, rise, real("length_m", length_m), weight)
    else:
        fields = _core.heavy_leg_of_pull(span, rise, real("horizontal_n", horizontal_n), weight)
    return HeavyLeg(**fields)


def _in_space(field: str, points_m: ArrayLike, ndim: int) -> NDArray[np.float64]:
    """Points in (x, y, z), those given in the plane with y = 0."""
    points = real_array(field, points_m, ndim)
    if points.ndim != ndim or points.shape[-1] not in (2, 3):
        raise InputError(field, points_m, "points (x, z) or (x, y, z)")
    if points.shape[-1] == 2:
        points = np.insert(points, 1, 0.0, axis=-1)
    return points


def _axes(points_m: ArrayLike) -> int:
    return int(np.asarray(points_m).shape[-1])


def _apex(apex_m: ArrayLike, anchors_m: ArrayLike) -> NDArray[np.float64]:
    apex = _in_space("apex_m", apex_m, 1)
    if _axes(apex_m) != _axes(anchors_m):
        raise InputError("apex_m", apex_m, "a point with as many axes as the anchors")
    return apex


def _bridle(fields: BridleFields, anchors_m: ArrayLike) -> Bridle:
    if _axes(anchors_m) == 2:
        for name in ("apex_m", "anchor_force_n"):
            fields[name] = np.delete(fields[name], 1, axis=-1)
    return Bridle(**fields)
