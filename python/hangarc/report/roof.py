"""The loads on the roof as a file."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hangarc._answers import Answer
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc.io.roof_plot import RoofPoint, roof_table_csv
from hangarc.statics.limits import LimitRow
from hangarc.work.roof import HoistPoint


def greatest_row(answer: Answer, part: str, number: int) -> tuple[int, LimitRow]:
    """Find the greatest load of all states on a hoist or a roof point, counted from 0."""
    return next(
        (index, row)
        for index, row in enumerate(answer.limits)
        if (row.part, row.number) == (part, number)
    )


@by_name
def roof_points(answer: Answer, *, twin: bool = False) -> list[RoofPoint]:
    """Give what each point of the roof carries, for `hangarc.io.roof_plot`.

    The greatest load is that of any state of the hang that the answer's limits count: an open rear
    loads the front hoist more than a closed one, and so may wind and a hoist out of step. Where the
    job states no points, each hoist stands for one, straight above its hole and at its height.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.
    twin : bool
        Whether to give the points over the study's twin, in the axes of the study; the job's
        suspensions are those of the first.

    Returns
    -------
    list of RoofPoint

    Raises
    ------
    InputError
        The twin asked of a study without one.

    Examples
    --------
    >>> import hangarc as ha
    >>> points = ha.report.roof_points(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> [round(point.vertical_n) for point in points]
    [2627, 2060]
    """
    study, points = answer.study, []
    if twin and study.twin is None:
        raise InputError("twin", twin, "False: the study has no twin")
    for hoist in answer.work.hoists:
        # A point multiplies by the dynamic factor itself.
        _, row = greatest_row(answer, "roof_point", hoist.number - 1)
        greatest = row.force_n / hoist.factored_roof_n if hoist.roof_n > 0.0 else 1.0
        limit_n = study.roof_point_limit_n if len(hoist.legs) < 2 else None
        if twin or not hoist.legs:
            x_m, y_m, z_m = (_twin_m(answer, hoist) if twin else hoist.place_m).tolist()
            points.append(
                RoofPoint(
                    name=f"hoist {hoist.number}",
                    x_m=x_m,
                    y_m=y_m,
                    z_m=z_m,
                    vertical_n=hoist.roof_n,
                    dynamic_factor=study.dynamic_factor,
                    greatest_n=hoist.roof_n * greatest,
                    limit_n=limit_n,
                )
            )
            continue
        for leg in hoist.legs:
            x_m, y_m, z_m = leg.place_m.tolist()
            points.append(
                RoofPoint(
                    name=leg.name,
                    x_m=x_m,
                    y_m=y_m,
                    z_m=z_m,
                    vertical_n=leg.vertical_n,
                    horizontal_x_n=float(leg.horizontal_xy_n[0]),
                    horizontal_y_n=float(leg.horizontal_xy_n[1]),
                    dynamic_factor=study.dynamic_factor,
                    greatest_n=leg.vertical_n * greatest,
                    limit_n=limit_n,
                )
            )
    return points


def _twin_m(answer: Answer, hoist: HoistPoint) -> NDArray[np.float64]:
    """Place of a hoist's hole where the twin hangs: as far along the pan of that place."""
    from_m, to = answer.job.position_m or (0.0, 0.0), answer.study.twin or answer.study.site
    turns = np.radians([answer.job.pan_deg or 0.0, to.pan_deg])
    before, after = np.stack([np.cos(turns), np.sin(turns)], axis=1)
    along_m = float((hoist.place_m[:2] - from_m) @ before)
    return np.array([*(np.asarray(to.position_m) + along_m * after), hoist.place_m[2]])


@by_name
def roof_csv(answer: Answer, *, twin: bool = False) -> str:
    """Give `roof_points` as CSV text, its last line the caution.

    Parameters
    ----------
    answer, twin
        As in `roof_points`.

    Returns
    -------
    str

    Raises
    ------
    InputError
        As `roof_points`.

    Examples
    --------
    >>> import hangarc as ha
    >>> table = ha.report.roof_csv(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> table.splitlines()[0].split(",")[:5]
    ['point', 'x_m', 'y_m', 'z_m', 'vertical_n']
    """
    return roof_table_csv(roof_points(answer, twin=twin))
