"""Beams over several supports or hoists, and their loads against stated limits."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from numbers import Real
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import FaceType, Result, instance, listed, real, real_array, switch
from hangarc._tables import Rows
from hangarc.statics.limits import LimitUse, limit_use
from hangarc.suspension.beam_loads import Load, row_of


@dataclasses.dataclass(frozen=True)
class SpanLimit(FaceType):
    """One row of a beam's span table, for a simple span, the beam's own weight not counted.

    Parameters
    ----------
    span_m : float
        Span.
    uniform_n_m : float, optional
        Greatest uniform load; left out, not stated.
    point_n : float, optional
        Greatest single load at mid span; left out, not stated.

    Examples
    --------
    >>> import hangarc as ha
    >>> row = ha.suspension.SpanLimit(span_m=6.0, uniform_n_m=2_500.0, point_n=7_500.0)
    >>> row.point_n
    7500.0
    """

    span_m: float
    uniform_n_m: float | None = None
    point_n: float | None = None

    def __post_init__(self) -> None:
        real("span_m", self.span_m)
        for name in ("uniform_n_m", "point_n"):
            if getattr(self, name) is not None:
                real(name, getattr(self, name))


@dataclasses.dataclass(frozen=True, eq=False)
class SpanUse(Result):
    """What the loads of one span or overhang use of a span table.

    Attributes
    ----------
    from_m, to_m : float
        Its ends.
    uniform_n_m : float
        Greatest load per metre in it.
    point_n : float
        Sum of its downward point loads, each taken as if at mid span.
    row_span_m : float or None
        The listed span it is held against, the next longer one; None where none is listed, and
        for overhangs, to which a table of simple spans does not apply.
    uniform_limit_n_m, point_limit_n : float or None
        Limits of that row; None is *not stated*.
    utilisation : float or None
        Sum of the shares of both limits; None where a limit that is needed is not stated.

    Examples
    --------
    >>> import hangarc as ha
    >>> truss = ha.beam(
    ...     6.0, [0.0, 6.0], [ha.suspension.PointLoad(x_m=3.0, force_n=6_000.0)], ei_nm2=2.0e6
    ... )
    >>> table = [ha.suspension.SpanLimit(span_m=6.0, uniform_n_m=2_500.0, point_n=7_500.0)]
    >>> use = truss.span_uses(table)[0]
    >>> use.row_span_m, use.point_limit_n, round(use.utilisation, 2)
    (6.0, 7500.0, 0.8)
    """

    from_m: float
    to_m: float
    uniform_n_m: float
    point_n: float
    row_span_m: float | None
    uniform_limit_n_m: float | None
    point_limit_n: float | None
    utilisation: float | None


@dataclasses.dataclass(frozen=True, eq=False)
class Beam(Result):
    """A beam at rest on its supports.

    Attributes
    ----------
    reaction_n : ndarray, shape (k,)
        Upward force of each support on the beam, in the order given.
    slack : ndarray of bool, shape (k,)
        Hoists that carry nothing, when the supports only pull.
    load_n : float
        Total load, the beam's own weight included.
    moment_range_nm, shear_range_n, deflection_range_m : pair of (float, float)
        Least and greatest value, each with its place x.

    Notes
    -----
    `moment_nm`, `shear_n` and `deflection_m` take places x from 0 to the beam's length, an array of
    any shape, and give an array of that shape. A place off the beam is an `InputError`.

    Examples
    --------
    >>> import hangarc as ha
    >>> truss = ha.beam(
    ...     6.0, [0.5, 5.5], [ha.suspension.PointLoad(x_m=3.0, force_n=6_000.0)], ei_nm2=2.0e6
    ... )
    >>> truss.reaction_n.round().tolist()
    [3000.0, 3000.0]
    >>> round(float(truss.moment_nm(3.0))), round(1000.0 * float(truss.deflection_m(3.0)), 1)
    (7500, 7.8)
    """

    reaction_n: NDArray[np.float64]
    slack: NDArray[np.bool_]
    load_n: float
    moment_range_nm: tuple[tuple[float, float], tuple[float, float]]
    shear_range_n: tuple[tuple[float, float], tuple[float, float]]
    deflection_range_m: tuple[tuple[float, float], tuple[float, float]]
    solution: dataclasses.InitVar[Any]

    def __post_init__(self, solution: Any) -> None:
        super().__post_init__()
        object.__setattr__(self, "_solution", solution)

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.beam(self)

    def moment_nm(self, x_m: ArrayLike) -> NDArray[np.float64]:
        """Bending moment at places x, positive where the beam sags.

        Examples
        --------
        >>> import hangarc as ha
        >>> truss = ha.beam(
        ...     6.0, [0.0, 6.0], [ha.suspension.PointLoad(x_m=3.0, force_n=6_000.0)], ei_nm2=2.0e6
        ... )
        >>> truss.moment_nm([0.0, 1.5, 3.0]).round().tolist()
        [0.0, 4500.0, 9000.0]
        """
        return self._at("moment", x_m)

    def shear_n(self, x_m: ArrayLike) -> NDArray[np.float64]:
        """Shear just right of places x, at the right end just left of it.

        The upward forces to the left less the loads there: dM/dx.

        Examples
        --------
        >>> import hangarc as ha
        >>> truss = ha.beam(
        ...     6.0, [0.0, 6.0], [ha.suspension.PointLoad(x_m=3.0, force_n=6_000.0)], ei_nm2=2.0e6
        ... )
        >>> truss.shear_n([1.0, 5.0]).round().tolist()
        [3000.0, -3000.0]
        """
        return self._at("shear", x_m)

    def deflection_m(self, x_m: ArrayLike) -> NDArray[np.float64]:
        """Deflection at places x, positive downward.

        Examples
        --------
        >>> import hangarc as ha
        >>> truss = ha.beam(
        ...     6.0, [0.0, 6.0], [ha.suspension.PointLoad(x_m=3.0, force_n=6_000.0)], ei_nm2=2.0e6
        ... )
        >>> closed_form_m = 6_000.0 * 6.0**3 / (48.0 * 2.0e6)
        >>> round(float(truss.deflection_m(3.0)), 5), round(closed_form_m, 5)
        (0.0135, 0.0135)
        """
        return self._at("deflection", x_m)

    def settlement_influence_n_m(self) -> NDArray[np.float64]:
        """Change of each reaction per metre that a support sinks.

        Row i, column j: support i gains this many newtons per metre that support j sinks, every
        support holding both ways. A hoist 20 mm high is −0.020 m of its column.

        Returns
        -------
        ndarray, shape (k, k)

        Examples
        --------
        >>> import hangarc as ha
        >>> truss = ha.beam(10.0, [0.0, 5.0, 10.0], [], ei_nm2=2.0e6)
        >>> truss.settlement_influence_n_m().round().tolist()
        [[-24000.0, 48000.0, -24000.0], [48000.0, -96000.0, 48000.0], [-24000.0, 48000.0, -24000.0]]
        """
        return np.asarray(self._core.settlement_influence())

    def load_influence(self, x_m: ArrayLike) -> NDArray[np.float64]:
        """Influence lines of the reactions: the share of a load at x that each support carries.

        Parameters
        ----------
        x_m : array_like, shape (n,)
            Places of the load.

        Returns
        -------
        ndarray, shape (n, k)

        Raises
        ------
        InputError
            A place off the beam.

        Examples
        --------
        >>> import hangarc as ha
        >>> truss = ha.beam(10.0, [0.0, 5.0, 10.0], [], ei_nm2=2.0e6)
        >>> truss.load_influence([2.5]).round(3).tolist()
        [[0.406, 0.688, -0.094]]
        """
        return np.asarray(self._core.load_influence(np.atleast_1d(real_array("x_m", x_m, 1))))

    def limits(
        self,
        *,
        moment_limit_nm: float | None = None,
        shear_limit_n: float | None = None,
        deflection_limit_m: float | None = None,
        reaction_limit_n: float | Sequence[float | None] | None = None,
    ) -> Rows[LimitUse]:
        """Greatest moment, shear, deflection and each reaction against stated limits.

        Parameters
        ----------
        moment_limit_nm, shear_limit_n, deflection_limit_m : float, optional
            Limits of the beam; left out, not stated.
        reaction_limit_n : float or sequence of float, optional
            Limit of every support, or of each.

        Returns
        -------
        list of LimitUse

        Raises
        ------
        InputError
            A limit not above zero.

        Examples
        --------
        >>> import hangarc as ha
        >>> truss = ha.beam(
        ...     6.0, [0.0, 6.0], [ha.suspension.PointLoad(x_m=3.0, force_n=6_000.0)], ei_nm2=2.0e6
        ... )
        >>> for row in truss.limits(moment_limit_nm=12_000.0):
        ...     print(row)
        ...
        LimitUse(item='moment', unit='N m', value=9000, limit=12000, utilisation=0.75)
        LimitUse(item='shear', unit='N', value=3000, limit=None, utilisation=None)
        LimitUse(item='deflection', unit='m', value=0.0135, limit=None, utilisation=None)
        LimitUse(item='support 1', unit='N', value=3000, limit=None, utilisation=None)
        LimitUse(item='support 2', unit='N', value=3000, limit=None, utilisation=None)
        """
        reactions = _one_each("reaction_limit_n", reaction_limit_n, 1)
        rows = self._core.limit_uses(
            _optional("moment_limit_nm", moment_limit_nm),
            _optional("shear_limit_n", shear_limit_n),
            _optional("deflection_limit_m", deflection_limit_m),
            reactions,
        )
        return Rows(limit_use(row) for row in rows)

    def span_uses(self, span_table: Iterable[SpanLimit]) -> Rows[SpanUse]:
        """Hold the loads of every span against a table of simple spans that goes with the beam.

        The row of the next longer listed span is taken; a table of simple spans says nothing of
        the moment over inner supports, which `limits` holds against a stated moment. Uniform and
        point loads use the sum of their shares (common practice, no source).

        Parameters
        ----------
        span_table : iterable of SpanLimit
            The table's rows, in any order.

        Returns
        -------
        list of SpanUse

        Raises
        ------
        InputError
            A row out of bounds, or a span listed twice.

        Examples
        --------
        >>> import hangarc as ha
        >>> truss = ha.beam(
        ...     6.0, [0.0, 6.0], [ha.suspension.PointLoad(x_m=3.0, force_n=6_000.0)], ei_nm2=2.0e6
        ... )
        >>> table = [ha.suspension.SpanLimit(span_m=6.0, uniform_n_m=2_500.0, point_n=7_500.0)]
        >>> [round(use.utilisation, 2) for use in truss.span_uses(table)]
        [0.8]
        """
        rows = []
        for index, limit in enumerate(listed("span_table", span_table)):
            row = instance(f"span_table[{index}]", limit, SpanLimit)
            rows.append((row.span_m, row.uniform_n_m, row.point_n))
        return Rows(SpanUse(**used) for used in self._core.span_uses(rows))

    @property
    def _core(self) -> _core.Beam:
        held: _core.Beam = self.__dict__["_solution"]
        return held

    def _at(
        self, quantity: Literal["shear", "moment", "deflection"], x_m: ArrayLike
    ) -> NDArray[np.float64]:
        places = real_array("x_m", x_m, 8)
        return np.asarray(self._core.at(quantity, places.ravel())).reshape(np.asarray(x_m).shape)


@by_name
def beam(
    length_m: float,
    supports_m: ArrayLike,
    loads: Iterable[Load],
    ei_nm2: float,
    settlement_m: ArrayLike | None = None,
    *,
    stiffness_n_m: float | Sequence[float | None] | None = None,
    hinges_m: ArrayLike = (),
    self_weight_n_m: float = 0.0,
    only_pull: bool = False,
) -> Beam:
    """Reactions, shear, moment and deflection of a beam over two or more supports.

    EI w″ = −M (Euler–Bernoulli), solved exactly by the three-moment equation with settlement,
    elastic supports and hinges (force method, e.g. Timoshenko, *Strength of Materials*, part I,
    ch. VII). Loads and deflections are positive downward, reactions upward, moments where the
    beam sags.

    Parameters
    ----------
    length_m : float
        Length; the beam lies from x = 0, and may stand over its outer supports.
    supports_m : array_like, shape (k,)
        Places of the supports, in any order.
    loads : iterable
        `PointLoad`, `DistributedLoad`, or tuples (x, force), (from, to, force per metre) or
        (from, to, force per metre at start, at end).
    ei_nm2 : float
        Bending stiffness, above 0.
    settlement_m : array_like, shape (k,), optional
        How far each support lies below the line of the others, unloaded; a hoist too high is
        negative.
    stiffness_n_m : float or sequence of float, optional
        Spring rate of every support, or of each; None does not yield.
    hinges_m : array_like, optional
        Places between the outermost supports where the beam is free to kink.
    self_weight_n_m : float
        The beam's own weight per metre.
    only_pull : bool
        Whether the supports are hoists, which drop out where they would have to push.

    Returns
    -------
    Beam

    Raises
    ------
    InputError
        A field out of bounds; fewer than two supports; hinges that make the beam a mechanism;
        with `only_pull`, loads under which the beam tips, or more than 16 hoists.

    Examples
    --------
    >>> import hangarc as ha
    >>> load = ha.suspension.DistributedLoad(from_m=0.0, to_m=10.0, start_n_m=400.0, end_n_m=400.0)
    >>> level = ha.beam(10.0, [0.0, 5.0, 10.0], [load], ei_nm2=2.0e6)
    >>> level.reaction_n.round().tolist()
    [750.0, 2500.0, 750.0]
    >>> low = ha.beam(10.0, [0.0, 5.0, 10.0], [load], ei_nm2=2.0e6, settlement_m=[0.0, 0.01, 0.0])
    >>> low.reaction_n.round().tolist()  # the middle hoist 10 mm low
    [1230.0, 1540.0, 1230.0]
    """
    supports = np.atleast_1d(real_array("supports_m", supports_m, 1))
    count = len(supports)
    sunk = (
        np.zeros(count)
        if settlement_m is None
        else np.atleast_1d(real_array("settlement_m", settlement_m, 1))
    )
    if len(sunk) != count:
        raise InputError("settlement_m", settlement_m, f"{count} numbers, one per support")
    rates = _one_each("stiffness_n_m", stiffness_n_m, count)
    if len(rates) != count:
        raise InputError("stiffness_n_m", stiffness_n_m, f"a number, or {count}, one per support")
    solution = _core.Beam(
        real("length_m", length_m),
        list(zip(supports.tolist(), sunk.tolist(), rates, strict=True)),
        np.atleast_1d(real_array("hinges_m", hinges_m, 1)),
        [row_of(index, load) for index, load in enumerate(listed("loads", loads))],
        real("self_weight_n_m", self_weight_n_m),
        real("ei_nm2", ei_nm2),
        switch("only_pull", only_pull),
    )
    return Beam(**solution.fields(), solution=solution)


def _optional(field: str, value: Any) -> float | None:
    return None if value is None else real(field, value)


def _one_each(field: str, values: Any, count: int) -> list[float | None]:
    """One number or None per support; a single one stands for all."""
    if values is None or isinstance(values, Real):
        return [_optional(field, values)] * count
    return [
        _optional(f"{field}[{index}]", value) for index, value in enumerate(listed(field, values))
    ]
