"""What a beam carries: loads at points and along stretches."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from hangarc._errors import InputError
from hangarc._record import FaceType, real, real_array


@dataclasses.dataclass(frozen=True)
class PointLoad(FaceType):
    """A load at one place of a beam, positive downward.

    Parameters
    ----------
    x_m : float
        Place along the beam.
    force_n : float
        Force.

    Examples
    --------
    >>> import hangarc as ha
    >>> load = ha.suspension.PointLoad(x_m=2.0, force_n=3_000.0)
    >>> ha.beam(5.0, [0.0, 5.0], [load], ei_nm2=2.0e6).reaction_n.round().tolist()
    [1800.0, 1200.0]
    """

    x_m: float
    force_n: float

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            real(field.name, getattr(self, field.name))


@dataclasses.dataclass(frozen=True)
class DistributedLoad(FaceType):
    """A load that varies linearly between two places of a beam, positive downward.

    Parameters
    ----------
    from_m, to_m : float
        First and last place along the beam.
    start_n_m : float
        Load per metre at the first place.
    end_n_m : float, optional
        Load per metre at the last place; left out, the same as at the first.

    Examples
    --------
    >>> import hangarc as ha
    >>> load = ha.suspension.DistributedLoad(from_m=0.0, to_m=5.0, start_n_m=200.0, end_n_m=200.0)
    >>> ha.beam(5.0, [0.0, 5.0], [load], ei_nm2=2.0e6).reaction_n.round().tolist()
    [500.0, 500.0]
    """

    from_m: float
    to_m: float
    start_n_m: float
    end_n_m: float | None = None

    def __post_init__(self) -> None:
        if self.end_n_m is None:
            object.__setattr__(self, "end_n_m", self.start_n_m)
        for field in dataclasses.fields(self):
            real(field.name, getattr(self, field.name))


Load = PointLoad | DistributedLoad | Sequence[float]


def row_of(index: int, load: Load) -> tuple[float, float | None, float, float | None]:
    """Where it begins and ends, and its load there, as the core takes it."""
    if not isinstance(load, PointLoad | DistributedLoad):
        parts = np.atleast_1d(real_array(f"loads[{index}]", load, 1)).tolist()
        if len(parts) == 2:
            load = PointLoad(*parts)
        elif len(parts) in (3, 4):
            load = DistributedLoad(*parts)
        else:
            raise InputError(
                f"loads[{index}]",
                load,
                "a PointLoad, a DistributedLoad, or a tuple of 2, 3 or 4 numbers",
            )
    if isinstance(load, PointLoad):
        return (load.x_m, None, load.force_n, None)
    return (load.from_m, load.to_m, load.start_n_m, load.end_n_m)
