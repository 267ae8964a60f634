"""How far the figures of an answer may be off, for tolerances that are stated.

Examples
--------
>>> import hangarc as ha
>>> answer = ha.evaluate(ha.demo.study(cabinets=4))
>>> found = ha.uncertainty.uncertainty_of(answer, ha.uncertainty.Tolerances(mass_share=0.02))
>>> found.hoist_load_n.round().tolist()
[10.0, 8.0]
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray

from hangarc import _document
from hangarc._answers import Answer
from hangarc._display import label
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Record, Result, instance, real, whole
from hangarc.acoustics import SeatLevels
from hangarc.acoustics.spread import unevenness_of, wanted_db
from hangarc.closing import close
from hangarc.model import Air, Hang
from hangarc.search.together import study_levels
from hangarc.statics import hanging_tilt, hoist_loads, pose

__all__ = ["Sample", "Tolerances", "Uncertainty", "sample_of", "uncertainty_of"]

Array = NDArray[np.float64]

#: Of an even spread within ±1: what is within a tolerance is as likely anywhere in it.
EVEN = 1.0 / np.sqrt(3.0)

#: Two standard uncertainties: about 95 % of what a normal spread holds (JCGM 100:2008, 6.3.3).
COVER = 2.0

LEAST_HUMIDITY_PERCENT = 0.1
MOST_CASES = 100_000
TOLERANCES_VERSION = 1
#: Added to the closing force to see how stop forces grow with it.
TRIAL_N = 1000.0
#: Unit of each figure, for the text.
UNITS = {
    "tilt_deg": "°",
    "trim_m": "m",
    "hoist_load_n": "N",
    "closing_force_n": "N",
    "stop_force_n": "N",
    "pulled_stop_force_n": "N",
    "mean_level_db": "dB",
    "seat_level_db": "dB",
    "unevenness_db": "dB",
}


@dataclasses.dataclass(frozen=True, kw_only=True)
class Tolerances(Record):
    """By how much, up or down, what an answer was worked out from may be off.

    Parameters
    ----------
    splay_deg : float
        Each splay: play and place of its pin. No splay comes below 0.
    mass_share : float
        Each body's mass, as a share of it.
    cg_m : float
        Each coordinate of each body's centre of gravity.
    anchor_m : float
        Each coordinate of the chain's anchors.
    tilt_deg : float
        Tilt of the fly frame as it is read; on one pick the tilt follows from the balance, and this
        counts for nothing.
    temperature_c, humidity_percent : float
        Temperature and relative humidity of the air.

    Examples
    --------
    >>> import hangarc as ha
    >>> given = ha.uncertainty.Tolerances(splay_deg=0.1, mass_share=0.02, cg_m=0.01)
    >>> given.anchor_m
    0.0
    """

    _kind: ClassVar[str] = "tolerances"

    splay_deg: float = 0.0
    mass_share: float = 0.0
    cg_m: float = 0.0
    anchor_m: float = 0.0
    tilt_deg: float = 0.0
    temperature_c: float = 0.0
    humidity_percent: float = 0.0

    def _check(self, data: dict[str, Any]) -> None:
        for name, most in (
            ("splay_deg", 10.0),
            ("mass_share", 0.5),
            ("cg_m", 1.0),
            ("anchor_m", 1.0),
            ("tilt_deg", 10.0),
            ("temperature_c", 30.0),
            ("humidity_percent", 50.0),
        ):
            if not 0.0 <= real(name, getattr(self, name)) <= most:
                raise InputError(name, getattr(self, name), f"a number from 0 to {most:g}")

    def to_json(self) -> str:
        """Write as versioned JSON; `from_json` gives the same back.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.uncertainty.Tolerances(tilt_deg=0.1).to_json()
        >>> [line.strip() for line in text.splitlines()[1:3]]
        ['"kind": "tolerances",', '"version": 1,']
        """
        return _document.write("tolerances", TOLERANCES_VERSION, self.to_dict(), indent=1)

    @classmethod
    def from_json(cls, text: str) -> Tolerances:
        """Read what `to_json` wrote.

        Raises
        ------
        InputError
            Not JSON, another kind or version, an unknown field, or a value out of bounds.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.uncertainty.Tolerances(tilt_deg=0.1).to_json()
        >>> ha.uncertainty.Tolerances.from_json(text).tilt_deg
        0.1
        """
        return cls.from_dict(_document.read(text, "tolerances", TOLERANCES_VERSION))


@dataclasses.dataclass(frozen=True, eq=False)
class Uncertainty(Result):
    """Standard uncertainties of an answer's figures; ± is twice that.

    An aid to qualified persons; manufacturers' manuals, local codes and licensed engineers prevail.

    Attributes
    ----------
    tolerances : Tolerances
        What they follow from.
    inputs : tuple of str
        Path of each input: ``splays_deg[2]``, ``cabinets[3].cg_m[0]``, ``tilt_deg`` and so on.
    standard : ndarray, shape (k,)
        Standard uncertainty of each, its tolerance over √3; masses as a share.
    tilt_deg, trim_m : float
        Tilt of the fly frame, height of the lowest point.
    hoist_load_n : ndarray, shape (hoists,)
        Load of each hoist.
    closing_force_n : float
        Closing force; NaN where no chain force closes the hang, or it has no chain.
    stop_force_n : ndarray, shape (j,)
        Rear stops, closed at the closing force; NaN where no chain force closes the hang, empty
        without a chain.
    pulled_stop_force_n : ndarray, shape (j,)
        Rear stops, the chain pulled to the force that is planned for this hang: its closing force
        and preload. NaN and empty as above.
    mean_level_db, unevenness_db : float
        The seats' mean level and their unevenness, the goal of the search.
    seat_level_db : ndarray, shape (seats,)
        Level at each seat, its mean over the bands.
    contribution : dict of ndarray, shape (k, …)
        By figure: what each input adds, with its sign; the squares of a column add up to the square
        of the figure's uncertainty.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> found = ha.uncertainty.uncertainty_of(answer, ha.uncertainty.Tolerances(cg_m=0.01))
    >>> round(found.closing_force_n), len(found.inputs)
    (8, 12)
    """

    tolerances: Tolerances
    inputs: tuple[str, ...]
    standard: Array
    tilt_deg: float
    trim_m: float
    hoist_load_n: Array
    closing_force_n: float
    stop_force_n: Array
    pulled_stop_force_n: Array
    mean_level_db: float
    unevenness_db: float
    seat_level_db: Array
    contribution: dict[str, Array]

    def _picture(self) -> str:
        from hangarc import _pictures

        rows = []
        for name, unit in UNITS.items():
            largest = self._largest(name)
            if largest is None or not largest[1] > 0.0:
                continue
            _, standard, adds = largest
            alike: dict[str, float] = {}
            for path, part in zip(self.inputs, adds, strict=True):
                kind = re.sub(r"\[\d+\]", "[…]", path, count=1)
                alike[kind] = alike.get(kind, 0.0) + float((part / standard) ** 2)
            most = max(alike, key=lambda kind: alike[kind])
            figure = f"{label(name).split(',')[0]} ± {COVER * standard:.2g} {unit}"
            rows.append((figure, most, alike[most]))
        return _pictures.shares(rows)

    def _largest(self, name: str) -> tuple[int, float, Array] | None:
        """Of a figure, which of several is most uncertain, how much, and what each input adds."""
        standard = np.atleast_1d(getattr(self, name))
        if not len(standard) or np.isnan(standard).all():
            return None
        at = int(np.nanargmax(standard))
        adds = self.contribution[name].reshape(len(self.inputs), -1)[:, at]
        return at, float(standard[at]), np.abs(adds)

    def lines(self) -> list[str]:
        """Say each figure with its ±, and what adds most to it.

        Examples
        --------
        >>> import hangarc as ha
        >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
        >>> given = ha.uncertainty.Tolerances(mass_share=0.02)
        >>> found = ha.uncertainty.uncertainty_of(answer, given)
        >>> [line for line in found.lines() if line.startswith("hoist")]
        ['hoist_load_n[0], the greatest of all: ± 21 N, most by frame.mass_kg']
        """
        told = []
        for name, unit in UNITS.items():
            largest = self._largest(name)
            if largest is None:
                continue
            at, standard, adds = largest
            most = f", most by {self.inputs[int(adds.argmax())]}" if adds.any() else ""
            where = f"[{at}], the greatest of all" if np.size(getattr(self, name)) > 1 else ""
            told.append(f"{name}{where}: ± {COVER * standard:.3g} {unit}{most}")
        return told


@dataclasses.dataclass(frozen=True, eq=False)
class Sample(Result):
    """Figures of an answer in cases drawn evenly within the tolerances.

    Attributes
    ----------
    tilt_deg, trim_m, closing_force_n, mean_level_db, unevenness_db : ndarray, shape (cases,)
        As in `Uncertainty`; a closing force is NaN where no chain force closes the hang.
    hoist_load_n, stop_force_n, pulled_stop_force_n, seat_level_db : ndarray, shape (cases, …)
        As in `Uncertainty`; stop forces are NaN where no chain force closes the hang.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> given = ha.uncertainty.Tolerances(mass_share=0.02)
    >>> drawn = ha.uncertainty.sample_of(answer, given, cases=50)
    >>> drawn.hoist_load_n.shape
    (50, 2)
    """

    tilt_deg: Array
    trim_m: Array
    hoist_load_n: Array
    closing_force_n: Array
    stop_force_n: Array
    pulled_stop_force_n: Array
    mean_level_db: Array
    unevenness_db: Array
    seat_level_db: Array


@by_name
def uncertainty_of(answer: Answer, tolerances: Tolerances) -> Uncertainty:
    """Standard uncertainty of an answer's figures, first order from their sensitivities.

    u(y)² = Σ_k c_k², c_k = (y(x_k + u_k) − y(x_k − u_k))/2 with u_k the standard uncertainty of
    input k, all inputs independent (JCGM 100:2008, GUM, 5.1.2 with 5.1.3 note 2). Within its
    tolerance ±a an input is anywhere as likely, u = a/√3 (4.3.7). Where one side is no hang, as a
    splay below 0, the difference to the other side counts.

    Parameters
    ----------
    answer : Answer
        The hang, its tilt and height as `hangarc.answer` or `hangarc.evaluate` gave it.
    tolerances : Tolerances
        What may be off, and by how much.

    Returns
    -------
    Uncertainty

    Raises
    ------
    InputError
        An argument of another kind.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> found = ha.uncertainty.uncertainty_of(answer, ha.uncertainty.Tolerances(mass_share=0.02))
    >>> round(found.closing_force_n, 1)
    5.1
    """
    tolerances = instance("tolerances", tolerances, Tolerances)
    model = _Model(instance("answer", answer, Answer))
    inputs = [(name, a * EVEN) for name, a in model.inputs(tolerances) if a > 0.0]
    least = {name: np.zeros(np.shape(value)) for name, value in model.figures({}).items()}
    rows = [_half_difference(model, name, standard) for name, standard in inputs]
    contribution = {
        name: np.array([row[name] for row in rows]).reshape(len(rows), *zero.shape)
        for name, zero in least.items()
    }
    figures: dict[str, Any] = {}
    for name, each in contribution.items():
        total = np.sqrt((each**2).sum(axis=0))
        figures[name] = total if total.ndim else float(total)
    return Uncertainty(
        tolerances=tolerances,
        inputs=tuple(name for name, _ in inputs),
        standard=np.array([standard for _, standard in inputs]),
        contribution=contribution,
        **figures,
    )


@by_name
def sample_of(
    answer: Answer, tolerances: Tolerances, *, cases: int = 1000, seed: int = 0
) -> Sample:
    """Work out an answer's figures again and again, all inputs drawn evenly within the tolerances.

    What `uncertainty_of` gives at first order, at any order (JCGM 101:2008), and slow: every case
    is a hang of its own.

    Parameters
    ----------
    answer, tolerances
        As in `uncertainty_of`.
    cases : int
        How many, 1 to 100,000.
    seed : int
        Seed of the draws.

    Returns
    -------
    Sample

    Raises
    ------
    InputError
        As `uncertainty_of`; cases out of range.

    Examples
    --------
    >>> import hangarc as ha
    >>> answer = ha.evaluate(ha.demo.study(cabinets=4))
    >>> drawn = ha.uncertainty.sample_of(
    ...     answer, ha.uncertainty.Tolerances(splay_deg=0.1), cases=50, seed=1
    ... )
    >>> drawn.trim_m.shape
    (50,)
    """
    tolerances = instance("tolerances", tolerances, Tolerances)
    model = _Model(instance("answer", answer, Answer))
    if not 1 <= whole("cases", cases) <= MOST_CASES:
        raise InputError("cases", cases, f"1 to {MOST_CASES}")
    draw = np.random.default_rng(whole("seed", seed))
    inputs = [(name, a) for name, a in model.inputs(tolerances) if a > 0.0]
    found: list[dict[str, Any]] = []
    for _ in range(cases):
        off = draw.uniform(-1.0, 1.0, len(inputs))
        found.append(model.figures({name: a * z for (name, a), z in zip(inputs, off, strict=True)}))
    return Sample(**{name: np.array([row[name] for row in found]) for name in found[0]})


class _Model:
    """An answer's figures as a function of how far its inputs are off."""

    def __init__(self, answer: Answer) -> None:
        self.study = answer.study
        self.hang = answer.hang
        self.tilt_deg = answer.search.tilt_deg
        self.top_m = answer.search.top_m
        self.pick_x_m = answer.search.pick_x_m.tolist()
        self.wanted_db = wanted_db(answer.study)
        # A joint's stop force is linear in the chain force: two of its states give it at any.
        self.pulled_n = float("nan")
        if answer.work.closing is not None:
            self.pulled_n = answer.work.closing.pulled_n
        self.heard: dict[Any, tuple[float, float, Array]] = {}

    def inputs(self, tolerances: Tolerances) -> Iterator[tuple[str, float]]:
        """Path and tolerance of each."""
        hang = self.hang
        for joint in range(len(hang.splays_deg)):
            yield f"splays_deg[{joint}]", tolerances.splay_deg
        bodies = ["frame", *(f"cabinets[{index}]" for index in range(len(hang.cabinets)))]
        anchored = ["frame"] if hang.rigging == "compression" else []
        if hang.bottom is not None:
            bodies.append("bottom")
            anchored += ["bottom"] if anchored else []
        for body in bodies:
            yield f"{body}.mass_kg", tolerances.mass_share
            for axis in (0, 1):
                yield f"{body}.cg_m[{axis}]", tolerances.cg_m
        for body in anchored:
            for axis in (0, 1):
                yield f"{body}.chain_anchor_m[{axis}]", tolerances.anchor_m
        if len(self.pick_x_m) > 1:
            yield "tilt_deg", tolerances.tilt_deg
        yield "air.temperature_c", tolerances.temperature_c
        yield "air.humidity_percent", tolerances.humidity_percent

    def figures(self, off: dict[str, float]) -> dict[str, Any]:
        """Every figure with inputs off by so much."""
        hang = self._hang({name: by for name, by in off.items() if name[:3] not in ("air", "til")})
        tilt_deg = self.tilt_deg + off.get("tilt_deg", 0.0)
        if len(self.pick_x_m) == 1:
            tilt_deg = hanging_tilt(hang, self.pick_x_m[0]).tilt_deg
        mean_db, uneven_db, seat_db = self._sound(hang, tilt_deg, self._air(off))
        closing_n, stop_n, pulled_stop_n = self._closing(hang, tilt_deg)
        return {
            "tilt_deg": tilt_deg,
            "trim_m": pose(hang, tilt_deg, self.top_m).trim_m,
            "hoist_load_n": hoist_loads(hang, tilt_deg, self.pick_x_m).load_n,
            "closing_force_n": closing_n,
            "stop_force_n": stop_n,
            "pulled_stop_force_n": pulled_stop_n,
            "mean_level_db": mean_db,
            "unevenness_db": uneven_db,
            "seat_level_db": seat_db,
        }

    def _hang(self, off: dict[str, float]) -> Hang:
        if not off:
            return self.hang
        data = self.hang.to_dict()
        for path, by in off.items():
            *parents, last = path.replace("[", ".").replace("]", "").split(".")
            here: Any = data
            for name in parents:
                here = here[int(name)] if name.isdigit() else here[name]
            key: Any = int(last) if last.isdigit() else last
            here[key] = here[key] * (1.0 + by) if key == "mass_kg" else here[key] + by
        data["splays_deg"] = [max(splay, 0.0) for splay in data["splays_deg"]]
        for cabinet, splay in zip(data["cabinets"], data["splays_deg"], strict=False):
            cabinet["splay_positions_deg"] = [splay]
        return Hang.from_dict(data)

    def _air(self, off: dict[str, float]) -> Air:
        air = self.study.air
        humidity = air.humidity_percent + off.get("air.humidity_percent", 0.0)
        return dataclasses.replace(
            air,
            temperature_c=air.temperature_c + off.get("air.temperature_c", 0.0),
            humidity_percent=min(max(humidity, LEAST_HUMIDITY_PERCENT), 100.0),
        )

    def _sound(self, hang: Hang, tilt_deg: float, air: Air) -> tuple[float, float, Array]:
        """Mean level, unevenness and each seat's level; masses alone change none of them."""
        key = (tuple(hang.splays_deg), tilt_deg, air.temperature_c, air.humidity_percent)
        if key not in self.heard:
            study = dataclasses.replace(self.study, air=air)
            levels: SeatLevels = study_levels(study, hang, tilt_deg, self.top_m)
            seat_db = levels.band_level_db.mean(axis=0)
            over = dataclasses.replace(
                levels, band_level_db=levels.band_level_db - self.wanted_db[None, :]
            )
            mean_db = float(np.average(seat_db, weights=levels.weight))
            self.heard[key] = (mean_db, unevenness_of(over).unevenness_db, seat_db)
        return self.heard[key]

    def _closing(self, hang: Hang, tilt_deg: float) -> tuple[float, Array, Array]:
        """Closing force, and stop forces at it and with the chain pulled as planned."""
        if hang.rigging != "compression":
            return float("nan"), np.empty(0), np.empty(0)
        closing = close(hang, tilt_deg, steps=1, preload_n=TRIAL_N)
        at_closing, pulled = closing.at_closing, closing.at_preload
        if closing.closing_force_n is None or at_closing is None or pulled is None:
            none = np.full(len(closing.free_angle_deg), np.nan)
            return float("nan"), none, none
        stop_n = at_closing.stop_force_n
        per_n = (pulled.stop_force_n - stop_n) / TRIAL_N
        beyond_n = self.pulled_n - closing.closing_force_n
        return closing.closing_force_n, stop_n, stop_n + per_n * beyond_n


def _half_difference(model: _Model, name: str, standard: float) -> dict[str, Any]:
    """Half the difference of every figure between an input up and down by its uncertainty."""
    sides = []
    for sign in (1.0, -1.0):
        try:
            sides.append((sign, model.figures({name: sign * standard})))
        except InputError:
            continue
    if not sides:
        raise InputError(name, standard, "an uncertainty within which there is a hang")
    (first, above), *others = sides
    low, reach = (others[0][1], 2.0) if others else (model.figures({}), 1.0)
    if name.startswith("splays_deg") and model.hang.splays_deg[_joint(name)] < standard:
        low, reach = model.figures({}), 1.0  # the lower side was cut at 0
    return {figure: first * (above[figure] - low[figure]) / reach for figure in above}


def _joint(path: str) -> int:
    return int(path.split("[")[1].split("]")[0])
