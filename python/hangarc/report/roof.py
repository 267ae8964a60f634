"""The loads on the roof as a file."""

from __future__ import annotations

from hangarc._answers import Answer
from hangarc._keywords import by_name
from hangarc.io.roof_plot import RoofPoint, roof_table_csv
from hangarc.statics.limits import LimitRow


def greatest_row(answer: Answer, part: str, number: int) -> tuple[int, LimitRow]:
    """Find the greatest load of all states on a hoist or a roof point, counted from 0."""
    return next(
        (index, row)
        for index, row in enumerate(answer.limits)
        if (row.part, row.number) == (part, number)
    )


@by_name
def roof_points(answer: Answer) -> list[RoofPoint]:
    """Give what each point of the roof carries, for `hangarc.io.roof_plot`.

    The greatest load is that of any state of the hang that the answer's limits count: an open rear
    loads the front hoist more than a closed one, and so may wind and a hoist out of step. Where the
    job states no points, each hoist stands for one, straight above its hole and at its height.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.

    Returns
    -------
    list of RoofPoint

    Examples
    --------
    >>> import hangarc as ha
    >>> points = ha.report.roof_points(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> [round(point.vertical_n) for point in points]
    [2627, 2060]
    """
    study, points = answer.study, []
    for hoist in answer.work.hoists:
        # A point multiplies by the dynamic factor itself.
        _, row = greatest_row(answer, "roof_point", hoist.number - 1)
        greatest = row.force_n / hoist.factored_roof_n if hoist.roof_n > 0.0 else 1.0
        limit_n = study.roof_point_limit_n if len(hoist.legs) < 2 else None
        if not hoist.legs:
            x_m, y_m, z_m = hoist.place_m.tolist()
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


@by_name
def roof_csv(answer: Answer) -> str:
    """Give `roof_points` as CSV text, its last line the caution.

    Parameters
    ----------
    answer : Answer
        What `hangarc.answer` gave.

    Returns
    -------
    str

    Examples
    --------
    >>> import hangarc as ha
    >>> table = ha.report.roof_csv(ha.evaluate(ha.demo.study(cabinets=4)))
    >>> table.splitlines()[0].split(",")[:5]
    ['point', 'x_m', 'y_m', 'z_m', 'vertical_n']
    """
    return roof_table_csv(roof_points(answer))
