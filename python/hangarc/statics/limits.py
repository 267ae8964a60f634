"""The greatest force on each part, against the limit stated for it."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._record import Result, instance, real, real_array
from hangarc._tables import Rows
from hangarc._words import FactorUse, Part, State, factor_words, part_words, state_words
from hangarc.model import Hang

if TYPE_CHECKING:
    from hangarc._fields import LimitFields


@dataclasses.dataclass(frozen=True, eq=False)
class LimitUse(Result):
    """One quantity, in any unit, against the limit stated for it.

    Attributes
    ----------
    item : str
        What is held against the limit.
    unit : str
        Unit of value and limit.
    value : float
        Greatest size of the quantity.
    limit : float or None
        The stated limit; None is *not stated* and never a pass.
    utilisation : float or None
        Value over limit, where a limit is stated.

    Examples
    --------
    >>> import hangarc as ha
    >>> worst = ha.evaluate(ha.demo.study(cabinets=4)).search.limits[0]
    >>> worst.item, worst.unit, round(worst.utilisation, 2)
    ('fly frame, everything hung', 'N', 0.26)
    """

    item: str
    unit: str
    value: float
    limit: float | None
    utilisation: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class LimitRow(Result):
    """One part, the greatest force on it, and the limit stated for it.

    Attributes
    ----------
    item : str
        The part and the kind of force.
    force_n : float
        The greatest force over all states.
    limit_n : float or None
        The stated limit; None when nobody stated one.
    utilisation : float or None
        Force over limit; None when no limit is stated, which is never a pass.
    case : str
        The state that gives the greatest force.
    part : str
        The part as data: ``fly_frame``, ``pick``, ``hoist``, ``roof_point``, ``bridle_leg``,
        ``closing_chain``, ``lever_hoist``, ``upper_anchor``, ``lower_anchor``, ``hinge``,
        ``rear_link`` or ``stop``.
    number : int or None
        Which one of its kind, from 0; for hinge, rear link and stop the joint.
    state : str
        The state as data: ``hanging``, ``building``, ``open``, ``closing``, ``clutch_slips``,
        ``closed``, ``preloaded``, ``clutch_at_upper_edge``, and the last three with ``_lifted``;
        ``pulled_back``, ``in_wind``, ``hoist_out_of_step``, ``hoist_failed``, ``on_lines``,
        ``sides_unlike``.
    factor_use : str
        ``applied``: the dynamic factor is in the force; else why not: ``hoists_stand`` (the chain
        is pulled while the hoists stand still) or ``chain_locked`` (the closed chain is locked at
        its length; while every stop presses, more weight takes pressure off the stops and leaves
        the chain's force as it was).
    dynamic_factor : float
        The factor contained in the force.

    Examples
    --------
    >>> import hangarc as ha
    >>> rows = ha.statics.part_loads(ha.demo.hang(), 2.0, [0.15, -1.05], hoist_limit_n=9_800.0)
    >>> rows[0].item, round(rows[0].force_n), rows[0].limit_n, round(rows[0].utilisation, 2)
    ('fly frame, everything hung', 4933, 14000.0, 0.35)
    """

    _shown = ("item", "force_n", "limit_n", "utilisation", "case")

    item: str
    force_n: float
    limit_n: float | None
    utilisation: float | None
    case: str
    part: Part
    number: int | None
    state: State
    factor_use: FactorUse
    dynamic_factor: float

    @property
    def unit(self) -> str:
        """Unit of value and limit, as in `LimitUse`."""
        return "N"

    @property
    def value(self) -> float:
        """The force, as in `LimitUse`."""
        return self.force_n

    @property
    def limit(self) -> float | None:
        """The stated limit, as in `LimitUse`."""
        return self.limit_n

    @property
    def factor_note(self) -> str:
        """Whether the dynamic factor is in the force, and if not, why."""
        return factor_words(self.factor_use, self.dynamic_factor)


def limit_row(fields: LimitFields) -> LimitRow:
    """Put the core's row into words."""
    return LimitRow(
        item=part_words(fields["part"], fields["number"]),
        force_n=fields["demand"],
        limit_n=fields["limit"],
        utilisation=fields["utilisation"],
        case=state_words(fields["state"]),
        part=fields["part"],
        number=fields["number"],
        state=fields["state"],
        factor_use=fields["factor_use"],
        dynamic_factor=fields["dynamic_factor"],
    )


def limit_rows(rows: Sequence[LimitFields]) -> tuple[LimitRow, ...]:
    """Put the core's rows into words."""
    return tuple(limit_row(row) for row in rows)


def limit_use(fields: LimitFields) -> LimitUse:
    """Put the core's row of any unit into words."""
    return LimitUse(
        item=part_words(fields["part"], fields["number"]),
        unit=fields["unit"],
        value=fields["demand"],
        limit=fields["limit"],
        utilisation=fields["utilisation"],
    )


def most_loaded(limits: Sequence[LimitRow], others: Sequence[LimitRow]) -> list[LimitRow]:
    """Keep of every part of `limits` and `others` the row with the greater force."""
    greatest = {(row.part, row.number): row for row in limits}
    for row in others:
        known = greatest.setdefault((row.part, row.number), row)
        if row.force_n > known.force_n:
            greatest[row.part, row.number] = row
    return list(greatest.values())


@by_name
def part_loads(
    hang: Hang,
    tilt_deg: float,
    pick_x_m: float | Sequence[float],
    *,
    hoist_limit_n: float | None = None,
    roof_point_limit_n: float | None = None,
    hoist_mass_kg: float = 0.0,
    dynamic_factor: float = 1.0,
    preload_n: float = 0.0,
    out_of_step_m: float = 0.0,
) -> Rows[LimitRow]:
    """Hold every part of `hang` against its stated limit, the greatest force of all its states.

    A tension hang hangs on its hoists. A compression hang hangs open, closes, may make the slip
    clutch slip on the way, is closed, preloaded, or pulled until the clutch slips, and is lifted
    so; a state beyond the clutch's upper edge is not reached and not counted. While
    hoists start and stop, all weights count `dynamic_factor` times: whatever balance alone asks of
    a part grows with it. The chain of a closed hang is locked at its length, its
    stops taken as stiff beside it: its force stays while every stop presses, and is the factor
    times the closing force where that is more. Each row says whether the factor is in it.

    An aid to qualified persons; manufacturers' manuals, local codes and licensed engineers prevail.

    Parameters
    ----------
    hang : Hang
        The column.
    tilt_deg : float
        Elevation of the fly frame's axis, −80 to 80°; on one pick, a hang closes at the tilt that
        follows from its balance.
    pick_x_m : float or sequence of float
        One or two picks.
    hoist_limit_n, roof_point_limit_n : float, optional
        Stated limit of each hoist and of each roof point.
    hoist_mass_kg : float
        Mass of each hoist with its chain, on the roof point.
    dynamic_factor : float
        Factor for starting and stopping, 1 to 5.
    preload_n : float
        Chain force beyond the closing force.
    out_of_step_m : float
        By how much either of two hoists may be out of step with the other, as by a link of its
        chain: with plumb lines that do not stretch the tilt φ turns to sin φ′ = sin φ ± δ/s, picks
        s apart. 0 is in step.

    Returns
    -------
    list of LimitRow
        One row per part.

    Raises
    ------
    InputError
        As `hoist_loads`, `joint_loads` and `close`, or an argument out of range.

    Examples
    --------
    >>> import hangarc as ha
    >>> rows = ha.statics.part_loads(ha.demo.hang(), 2.0, [0.15, -1.05], hoist_limit_n=9_800.0)
    >>> for row in rows[:4]:
    ...     print(row.item, round(row.force_n), row.limit_n or "not stated")
    ...
    fly frame, everything hung 4933 14000.0
    fly frame at hoist 1 2974 9000.0
    hoist 1 2974 9800.0
    roof above hoist 1 2974 not stated
    """
    rows = _core.part_loads(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        np.atleast_1d(real_array("pick_x_m", pick_x_m, 1)),
        (
            None if hoist_limit_n is None else real("hoist_limit_n", hoist_limit_n),
            None if roof_point_limit_n is None else real("roof_point_limit_n", roof_point_limit_n),
            real("hoist_mass_kg", hoist_mass_kg),
            real("dynamic_factor", dynamic_factor),
        ),
        real("preload_n", preload_n),
        real("out_of_step_m", out_of_step_m),
    )
    return Rows(limit_row(row) for row in rows)
