"""Built against planned: measured angles and loads, and which joint's pin disagrees."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._keywords import by_name
from hangarc._record import FaceType, instance, listed, real, real_array, whole
from hangarc.model import Hang

Verdict = Literal["consistent", "inconsistent", "cannot tell"]

PlanEnd = Literal["accepted", "refused", "nothing tested", "at the greatest tilt", "budget spent"]

PLAN_ENDINGS: Mapping[str, Ending] = {
    "accepted": Ending(True, "The readings accept the plan."),
    "refused": Ending(
        False,
        "The readings refuse the plan.",
        "The pins of the joints that `verdict` and `other_hangs` name.",
    ),
    "nothing tested": Ending(
        False, "As many unknowns as readings: any readings would be accepted.", "More readings."
    ),
    "at the greatest tilt": Ending(
        False, "The readings ask for a tilt beyond 85°.", "A look at the readings and their signs."
    ),
    "budget spent": Ending(
        False, "The steps allowed were spent before the best tilt.", "A look at the readings."
    ),
}


@dataclasses.dataclass(frozen=True)
class AngleReading(FaceType):
    """An inclinometer's reading.

    Parameters
    ----------
    cabinet : int or None
        Cabinet, from 0 at the top; None is the fly frame.
    axis_deg : float
        Elevation of its axis, positive aiming up.
    uncertainty_deg : float
        Standard uncertainty, above 0.

    Examples
    --------
    >>> import hangarc as ha
    >>> reading = ha.survey.AngleReading(cabinet=3, axis_deg=-4.1, uncertainty_deg=0.1)
    >>> reading.cabinet
    3
    """

    cabinet: int | None
    axis_deg: float
    uncertainty_deg: float

    def __post_init__(self) -> None:
        if self.cabinet is not None:
            whole("cabinet", self.cabinet)
        real("axis_deg", self.axis_deg)
        real("uncertainty_deg", self.uncertainty_deg)


@dataclasses.dataclass(frozen=True)
class LoadReading(FaceType):
    """A load cell's reading.

    Parameters
    ----------
    hoist : int
        Hoist, in the order of the picks.
    load_n : float
        Load upward on the frame.
    uncertainty_n : float
        Standard uncertainty, above 0; masses known no better belong into it.

    Examples
    --------
    >>> import hangarc as ha
    >>> ha.survey.LoadReading(hoist=0, load_n=2_950.0, uncertainty_n=60.0).load_n
    2950.0
    """

    hoist: int
    load_n: float
    uncertainty_n: float

    def __post_init__(self) -> None:
        whole("hoist", self.hoist)
        real("load_n", self.load_n)
        real("uncertainty_n", self.uncertainty_n)


@dataclasses.dataclass(frozen=True, eq=False)
class PlanComparison(Ended):
    """Readings against the planned hang.

    Attributes
    ----------
    ended : str
        ``accepted`` or ``refused``: the plan, by χ² against its limit; ``nothing tested``: no
        degree of freedom is left; ``at the greatest tilt``: χ² still falls at ±85°; or
        ``budget spent`` before the best tilt.
    chi_square : float
        χ² of the plan, least over a free tilt.
    freedom : int
        Degrees of freedom: readings, one less where a free tilt changes them.
    chi_square_limit : float
        Greatest χ² accepted; infinite where no degree of freedom is left and nothing is tested.
    p_value : float
        Probability of a χ² at least as great if the plan holds.
    tilt_deg : float
        Tilt of the frame that fits best if the plan holds; on one pick, its hanging tilt.
    residual : ndarray, shape (readings,)
        (reading − prediction)/uncertainty at that tilt.
    verdict : list of str, one per joint between cabinets
        `consistent`, `inconsistent` or `cannot tell`.
    other_hangs : list of (list of (int, float), float)
        Accepted hangs with pins in other positions, fewest pins first, then best: each such joint
        with its position in degrees, and χ².
    deviation_deg : ndarray, shape (n-1,)
        Least-squares estimate of each joint's deviation from plan, all at once.
    determined : ndarray of bool, shape (n-1,)
        Which of these the readings determine; the others hold the share of least norm.
    covariance_deg2 : ndarray, shape (n, n)
        Covariance of (tilt, deviations), in the determined directions.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.1, 2.8, 3.6), rigging="tension")
    >>> axes = ha.pose(hang, 2.0).axis_deg
    >>> read = [ha.survey.AngleReading(i, float(axis), 0.1) for i, axis in enumerate(axes)]
    >>> found = ha.survey.compare_with_plan(hang, 2.0, read)
    >>> found.ended, found.ok
    ('accepted', True)
    """

    _endings = PLAN_ENDINGS

    ended: PlanEnd
    chi_square: float
    freedom: int
    chi_square_limit: float
    p_value: float
    tilt_deg: float
    residual: NDArray[np.float64]
    verdict: list[Verdict]
    other_hangs: list[tuple[list[tuple[int, float]], float]]
    deviation_deg: NDArray[np.float64]
    determined: NDArray[np.bool_]
    covariance_deg2: NDArray[np.float64]

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.deviations(self)

    @property
    def other_pins(self) -> list[tuple[int, float, float]]:
        """Accepted hangs with one joint in another position: joint, position in degrees, χ²."""
        alone = [(pins[0], chi_square) for pins, chi_square in self.other_hangs if len(pins) == 1]
        return [(joint, splay_deg, chi_square) for (joint, splay_deg), chi_square in alone]


@by_name
def compare_with_plan(
    hang: Hang,
    tilt_deg: float,
    readings: Iterable[AngleReading | LoadReading],
    pick_x_m: float | Sequence[float] = (),
    *,
    significance: float = 0.05,
    most_wrong_pins: int = 2,
) -> PlanComparison:
    """Tell from measured angles and loads whether what hangs is what was planned.

    χ² = Σ ((reading − prediction)/uncertainty)² is held against the 1 − α quantile of the χ²
    distribution (e.g. Bevington & Robinson, *Data Reduction and Error Analysis*, 3rd ed., ch. 4 and
    11). On one pick the tilt follows from the pins; on two, or where none are stated, it is free
    and χ² the least over it, with one degree of freedom less where it changes any reading. So for
    the plan and for every hang with up to `most_wrong_pins`
    joints in other of their positions. If no more pins are wrong than that, the true hang is among
    the accepted ones with probability 1 − α, and with it all verdicts are true at once: a joint is
    *consistent* when it sits as planned in every accepted hang, *inconsistent* when it sits
    elsewhere in every one, else *cannot tell*. Wrong pins that cancel, such as two swapped ones
    between the cabinets measured, leave their joints at *cannot tell*. When no hang is accepted,
    more pins are wrong, or something else is: every joint is *cannot tell*.

    Parameters
    ----------
    hang : Hang
        The plan.
    tilt_deg : float
        Planned tilt, where the search for the best tilt starts; on one pick it is not used.
    readings : iterable of AngleReading or LoadReading
        At least one.
    pick_x_m : float or sequence of float
        The picks that carry the hang; none where nothing is known of them.
    significance : float
        α, the probability of refusing a plan that holds.
    most_wrong_pins : int
        How many pins may be wrong at once, at least 1; at most 100 000 hangs
        are tried.

    Returns
    -------
    PlanComparison

    Raises
    ------
    InputError
        No reading, a reading of something that is not there, or an argument out of bounds.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.1, 2.8, 3.6), rigging="tension")
    >>> built = ha.demo.hang((2.1, 4.5, 3.6), rigging="tension")  # one pin in another hole
    >>> axes = ha.pose(built, 2.0).axis_deg
    >>> read = [ha.survey.AngleReading(i, float(axis), 0.1) for i, axis in enumerate(axes)]
    >>> found = ha.survey.compare_with_plan(hang, 2.0, read)
    >>> found.ended, found.verdict
    ('refused', ['consistent', 'inconsistent', 'consistent'])
    """
    rows = []
    given = listed("readings", readings, "a list of AngleReading and LoadReading")
    for index, reading in enumerate(given):
        if isinstance(reading, AngleReading):
            kind = "frame" if reading.cabinet is None else "cabinet"
            number = reading.cabinet or 0
            rows.append((kind, number, reading.axis_deg, reading.uncertainty_deg))
        else:
            load = instance(f"readings[{index}]", reading, LoadReading)
            rows.append(("hoist", load.hoist, load.load_n, load.uncertainty_n))
    return PlanComparison(
        **_core.compare_with_plan(
            instance("hang", hang, Hang).handle,
            real("tilt_deg", tilt_deg),
            real_array("pick_x_m", pick_x_m, 1),
            rows,
            real("significance", significance),
            whole("most_wrong_pins", most_wrong_pins),
        )
    )
