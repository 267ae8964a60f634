"""A hang on lines that stretch, lead off plumb or fail; and lifted off its cart."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import besides, instance, real, real_array, switch, whole
from hangarc.model import Hang
from hangarc.statics.limits import LimitRow, limit_rows

if TYPE_CHECKING:
    from hangarc._fields import LiftCase, LinesCase

Array = NDArray[np.float64]

LinesEnd = Literal["at rest", "no rest found"]

LINES_ENDINGS: Mapping[str, Ending] = {
    "at rest": Ending(True, "Everything is in balance."),
    "no rest found": Ending(
        False,
        "The descent found no rest; figures of none are not given, they are NaN.",
        "Longer or less stiff lines.",
        figures=False,
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class OnLines(Ended):
    """A hang at rest on one or two lines in its plane.

    Attributes
    ----------
    ended : {"at rest", "no rest found"}
        How the search for the rest ended.
    residual : float
        Greatest force, or moment over the longest arm, left unbalanced, over the weight; at rest
        1e-9 at the most, or what rounding of lengths makes of the stiffest lines' forces.
    tilt_deg : float
        Elevation of the fly frame's axis.
    cg_moved_m : ndarray, shape (2,)
        How far (x, z) the centre of gravity has moved from the plan.
    hoist_load_n : ndarray, shape (k,)
        Pull of each line; 0 where slack or failed.
    line_lean_deg : ndarray, shape (k,)
        Lean of each line from plumb, its upper end forward positive.
    limits : tuple of LimitRow
        Frame, picks, hoists and joints against their stated limits.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.hang_on_lines(
    ...     ha.demo.hang(), 2.0, [0.15, -1.05], [5.0, 5.0], [1.0e6, 1.0e6], longer_m=[0.0, 0.01]
    ... )
    >>> found.ended, round(found.tilt_deg, 2)
    ('at rest', 2.47)
    """

    _endings = LINES_ENDINGS

    def _picture(self) -> str:
        from hangarc import _pictures

        names = [f"hoist {hoist}" for hoist in range(1, len(self.hoist_load_n) + 1)]
        return _pictures.bars(self.hoist_load_n / 1e3, "load, kN", names)

    ended: LinesEnd
    residual: float
    tilt_deg: float
    cg_moved_m: Array
    hoist_load_n: Array
    line_lean_deg: Array
    limits: tuple[LimitRow, ...]


@by_name
def hang_on_lines(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    line_m: ArrayLike,
    stiffness_n_m: ArrayLike,
    *,
    longer_m: ArrayLike = 0.0,
    roof_forward_m: ArrayLike = 0.0,
    failed: int | None = None,
    trimmed_loaded: bool = True,
    hoist_limit_n: float | None = None,
) -> OnLines:
    """Where `hang`, rigid at its pins, rests on lines that stretch and only pull.

    Least of ``W z + Σ ½ k (|A − P| − l)₊²`` over shift and turn, A the roof point of a line, P its
    pick, l its unloaded length. The joints carry what balance asks of them at the tilt found, a
    closed hang at the closing force it asks for there. At rest: what a sudden step or failure adds
    on the way is not covered.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Planned tilt; on one pick it follows from the balance and this is not used.
    pick_x_m : float or sequence of float
        One or two picks.
    line_m : float or array_like, shape (k,)
        Length of each line as planned.
    stiffness_n_m : float or array_like, shape (k,)
        Force over stretch of each line.
    longer_m : float or array_like, shape (k,)
        How much longer each line is than planned: a hoist out of step by a link of its chain.
    roof_forward_m : float or array_like, shape (k,)
        How far forward of its planned pick each roof point stands; 0 is a plumb line.
    failed : int, optional
        Which of two hoists has failed, from 0.
    trimmed_loaded : bool
        Whether the lines have their planned lengths under load; else unloaded, so that their
        stretch tilts the hang.
    hoist_limit_n : float, optional
        Stated limit of each hoist.

    Returns
    -------
    OnLines

    Raises
    ------
    InputError
        Not one or two picks, a value out of range, or a failed hoist with none beside it.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.hang_on_lines(
    ...     ha.demo.hang(), 2.0, [0.15, -1.05], [5.0, 5.0], [1.0e6, 1.0e6]
    ... )
    >>> found.ended, found.hoist_load_n.round().tolist()
    ('at rest', [2974.0, 1958.0])
    """
    picks = np.atleast_1d(real_array("pick_x_m", pick_x_m, 1))
    tilt = real("tilt_deg", tilt_deg)
    case: LinesCase = {
        "line_m": _each("line_m", line_m, len(picks)),
        "stiffness_n_m": _each("stiffness_n_m", stiffness_n_m, len(picks)),
        "longer_m": _each("longer_m", longer_m, len(picks)),
        "roof_forward_m": _each("roof_forward_m", roof_forward_m, len(picks)),
        "failed": None if failed is None else whole("failed", failed),
        "trimmed_loaded": switch("trimmed_loaded", trimmed_loaded),
        "hoist_limit_n": None if hoist_limit_n is None else real("hoist_limit_n", hoist_limit_n),
    }
    handle = instance("hang", hang, Hang).handle
    fields = _core.hang_on_lines(handle, tilt, picks.tolist(), case)
    return OnLines(**besides(fields, "limits"), limits=limit_rows(fields["limits"]))


@dataclasses.dataclass(frozen=True, eq=False)
class LiftOff(Ended):
    """A stack lifted off its cart or the floor, one row per height asked for.

    Attributes
    ----------
    ended : {"at rest", "no rest found"}
        Whether every row is at rest.
    residual : float
        Greatest force left unbalanced in any row, over the weight; as in `OnLines`.
    weight_n : float
        Weight of what is joined, fly frame included.
    raised_m : ndarray, shape (rows,)
        Taken up by the hoists.
    tilt_deg : ndarray, shape (rows,)
        Tilt of the fly frame.
    hoist_load_n : ndarray, shape (rows, k)
        What each hoist reads.
    floor_n : ndarray, shape (rows, 2)
        With what the front and the rear edge of the lowest cabinet still stand.
    free_at_m : float or None
        Taken up when it comes free; None where it does not within 2 m.
    free_hoist_n : ndarray, shape (k,)
        What each hoist reads then.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.lift_off(
    ...     ha.demo.hang(), [0.15, -1.05], [0.0, 0.02, 0.05], line_m=5.0, stiffness_n_m=1.0e6
    ... )
    >>> found.hoist_load_n.round(-1).tolist()
    [[210.0, 430.0], [4160.0, 770.0], [4160.0, 770.0]]
    """

    _endings = LINES_ENDINGS

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.lift_off(self)

    ended: LinesEnd
    residual: float
    weight_n: float
    raised_m: Array
    tilt_deg: Array
    hoist_load_n: Array
    floor_n: Array
    free_at_m: float | None
    free_hoist_n: Array


@by_name
def lift_off(
    hang: Hang,
    pick_x_m: float | Sequence[float],
    raised_m: ArrayLike,
    *,
    cabinets: int | None = None,
    line_m: float,
    stiffness_n_m: float,
    floor_stiffness_n_m: float = 1e7,
) -> LiftOff:
    """What the hoists read while a stack still stands partly on its cart or on the floor.

    The upper cabinets of `hang`, rigid at their pins, stand with the lowest level on its lower
    front and rear edge, without friction. All hoists, plumb above their picks and just taut, take
    up `raised_m`; the stack rests where W z + Σ ½ k s₊² is least over its shift and turn, s the
    stretch of a line or the dent under an edge. Lines only pull and edges only press.
    Joints that open while a compression stack comes off its cart are not covered, nor is a load
    that slides or rocks on the way.

    Parameters
    ----------
    hang : Hang
        The column.
    pick_x_m : float or sequence of float
        One or two picks.
    raised_m : array_like, shape (rows,)
        Heights taken up, each followed from the one before.
    cabinets : int, optional
        How many are joined; left out, all, with the bottom frame.
    line_m, stiffness_n_m : float
        Length of the lines before the lift, and force over stretch of each.
    floor_stiffness_n_m : float
        Force over dent under each edge. The default is stiff beside a hoist's chain: common
        practice, no source.

    Returns
    -------
    LiftOff

    Raises
    ------
    InputError
        Not one or two picks, cabinets the hang has not, or a value out of range.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.suspension.lift_off(
    ...     ha.demo.hang(), [0.15, -1.05], [0.0, 0.05], line_m=5.0, stiffness_n_m=1.0e6
    ... )
    >>> round(found.weight_n), round(1000.0 * found.free_at_m, 1)
    (4933, 5.0)
    """
    one = instance("hang", hang, Hang)
    case: LiftCase = {
        "cabinets": len(one.cabinets) if cabinets is None else whole("cabinets", cabinets),
        "pick_x_m": np.atleast_1d(real_array("pick_x_m", pick_x_m, 1)).tolist(),
        "line_m": real("line_m", line_m),
        "stiffness_n_m": real("stiffness_n_m", stiffness_n_m),
        "floor_stiffness_n_m": real("floor_stiffness_n_m", floor_stiffness_n_m),
        "raised_m": np.atleast_1d(real_array("raised_m", raised_m, 1)).tolist(),
    }
    return LiftOff(**_core.lift_off(one.handle, case))


def _each(field: str, value: Any, count: int) -> list[float]:
    array = real_array(field, value, 1)
    if array.shape == (1,):
        array = np.repeat(array, count)
    if array.shape != (count,):
        raise InputError(field, value, f"one number, or {count}, one per pick")
    return [float(one) for one in array]
