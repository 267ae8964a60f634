"""Options crossed with studies: counts, heights, tilts, hardware, air."""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import FaceType, instance
from hangarc.model import Air, Hang, Study

Change = Callable[[Study], Study]


@dataclasses.dataclass(frozen=True)
class Option(FaceType):
    """One thing that may differ: a name, and for each of its values what it does to a study.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> from collections.abc import Callable
    >>> def trimmed(at_least_m: float) -> Callable[[ha.Study], ha.Study]:
    ...     return lambda study: dataclasses.replace(study, min_trim_m=at_least_m)
    ...
    >>> trim = ha.sweeps.Option("trim", ((5.0, trimmed(5.0)), (6.0, trimmed(6.0))))
    >>> rows = list(ha.sweeps.grid([ha.demo.study(cabinets=4)], options=[trim]))
    >>> [(row["option_trim"], row["study"].min_trim_m) for row in rows]
    [(5.0, 5.0), (6.0, 6.0)]
    """

    name: str
    values: tuple[tuple[Any, Change], ...]


def _count(count: int) -> Change:
    def change(study: Study) -> Study:
        have = len(study.hang.cabinets)
        if not 1 <= count <= have:
            raise InputError("cabinets", count, f"1 to the hang's {have}")
        hang = dataclasses.replace(
            study.hang,
            cabinets=study.hang.cabinets[:count],
            splays_deg=study.hang.splays_deg[: count - 1],
        )
        return dataclasses.replace(study, hang=hang)

    return change


def _fields(**fields: Any) -> Change:
    return lambda study: dataclasses.replace(study, **fields)


@by_name
def grid(
    studies: Iterable[Study | Mapping[str, Any]],
    *,
    cabinets: Sequence[int] = (),
    top_m: Sequence[float] = (),
    tilt_deg: Sequence[float] = (),
    hang: Mapping[str, Hang] | None = None,
    air: Mapping[str, Air] | None = None,
    options: Sequence[Option] = (),
) -> Iterator[dict[str, Any]]:
    """Ask every study with every combination of options.

    Parameters
    ----------
    studies : iterable of Study or mapping
        As `ask` yields them.
    cabinets : sequence of int
        Cabinets hung, taken from the top of the list.
    top_m, tilt_deg : sequence of float
        Fixed heights and tilts, in place of the ranges searched.
    hang, air : mapping of str to Hang or Air
        Hardware and airs by name.
    options : sequence of Option
        Anything else: a name, and (value, function of a study) for each value.

    Yields
    ------
    dict
        As given, the options' names and values among the keys. A combination that makes no study
        has its error in ``study``.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study(cabinets=4)
    >>> rows = list(ha.sweeps.grid([study], cabinets=[2, 3, 4]))
    >>> [(row["option_cabinets"], len(row["study"].hang.splays_deg)) for row in rows]
    [(2, 1), (3, 2), (4, 3)]
    """
    given = [
        Option("hang", tuple((n, _fields(hang=h)) for n, h in (hang or {}).items())),
        Option("cabinets", tuple((int(n), _count(int(n))) for n in cabinets)),
        Option("top_m", tuple((float(t), _fields(top_range_m=(t, t))) for t in top_m)),
        Option("tilt_deg", tuple((float(t), _fields(tilt_range_deg=(t, t))) for t in tilt_deg)),
        Option("air", tuple((n, _fields(air=a)) for n, a in (air or {}).items())),
        *(instance(f"options[{i}]", option, Option) for i, option in enumerate(options)),
    ]
    given = [option for option in given if option.values]
    names = [f"option_{option.name}" for option in given]
    for item in studies:
        row = dict(item) if isinstance(item, Mapping) else {"study": item}
        for chosen in itertools.product(*(option.values for option in given)):
            study = row["study"]
            try:
                for _, change in chosen:
                    study = change(instance("study", study, Study)) if _asks(study) else study
            except InputError as error:
                study = error
            values = dict(zip(names, (value for value, _ in chosen), strict=True))
            yield {**row, **values, "study": study}


def _asks(study: Any) -> bool:
    return not isinstance(study, InputError)
