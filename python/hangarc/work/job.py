"""What belongs to a hang's job besides its physics: who, where, with what, how near."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Literal

from hangarc import _document
from hangarc._errors import InputError
from hangarc._record import Record, instance, real, whole
from hangarc.model import Site

JOB_VERSION = 1

SIDES = ("", "left", "right", "centre")


@dataclasses.dataclass(frozen=True, kw_only=True)
class Anchor(Record):
    """One point of the roof.

    Parameters
    ----------
    name : str
        Name of the point.
    place_m : (float, float, float)
        Its place (x, y, z) in room axes.

    Examples
    --------
    >>> import hangarc as ha
    >>> point = ha.work.Anchor(name="P7", place_m=(1.65, 6.0, 16.0))
    >>> ha.work.Suspension(anchors=[point]).anchors[0].name
    'P7'
    """

    _kind: ClassVar[str] = "anchor"

    name: str
    place_m: Sequence[float]

    def _check(self, data: dict[str, Any]) -> None:
        _texts(data, ("name",))
        _numbers("place_m", data["place_m"], 3)


@dataclasses.dataclass(frozen=True, kw_only=True)
class Suspension(Record):
    """What one hoist hangs from: a point of the roof, or a bridle.

    Parameters
    ----------
    anchors : sequence of Anchor
        One point straight above the pick, or the two or three anchors of a bridle.
    apex_m : float, optional
        Height of the bridle's apex, which lies above the pick; needed for a bridle.

    Examples
    --------
    >>> import hangarc as ha
    >>> anchors = [
    ...     ha.work.Anchor(name="P8", place_m=(-1.05, -1.5, 16.0)),
    ...     ha.work.Anchor(name="P9", place_m=(-1.05, 1.5, 16.0)),
    ... ]
    >>> ha.work.Suspension(anchors=anchors, apex_m=14.0).apex_m
    14.0
    """

    _kind: ClassVar[str] = "suspension"
    _parts: ClassVar[Mapping[str, type[Record]]] = {"anchors": Anchor}

    anchors: Sequence[Anchor]
    apex_m: float | None = None

    def _check(self, data: dict[str, Any]) -> None:
        if not 1 <= len(self.anchors) <= 3:
            raise InputError("anchors", len(self.anchors), "one to three anchors")
        if len(self.anchors) > 1 and self.apex_m is None:
            raise InputError("apex_m", None, "the height of the bridle's apex")
        if self.apex_m is not None:
            real("apex_m", self.apex_m)


@dataclasses.dataclass(frozen=True, kw_only=True)
class Job(Record):
    """What identifies a hang, how the crew builds it, and what it measures with.

    Texts left empty are lines to fill in by hand.

    Parameters
    ----------
    project, hang, revision, author : str
        Names printed at the head of each page.
    date : str
        As YYYY-MM-DD.
    side : {"", "left", "right", "centre"}
        Which side of the room, seen from the stage towards the seats.
    datum : str
        The mark in the hall that room axes start from.
    position_m : (float, float), optional
        Where the upper front hinge of cabinet 1 hangs on the floor plan, (x, y) from the datum;
        left out, as the study's site has it.
    pan_deg : float, optional
        Turn of the hang about the vertical, positive to the left; left out, as the study's site has
        it.
    stack : int
        Cabinets on a cart.
    cart_m : float
        Height of the cart's deck.
    clear_m : float
        Height that the hang's lowest point keeps while the rear closes.
    steel_m : float
        Length of shackles and steel between a hoist's hook and the frame's hole.
    stop_force_n : float
        Least force on every stop once the chain is pulled beyond the closing force. The default is
        an assumption of this library.
    suspensions : sequence of Suspension
        What each hoist hangs from, front first; empty where it is not stated.
    above_kg : mapping of str to float
        What the study's `hoist_mass_kg` is made of: hoist, chain, cable, steel. Adds up to it.
    tilt_tolerance_deg, height_tolerance_m : float, optional
        How far tilt and trim height may be off; left out, half the study's steps of tilt and top
        height, the finest difference its search told apart.
    tilt_uncertainty_deg : float
        Standard uncertainty of the inclinometer.
    load_uncertainty : float
        Standard uncertainty of a load reading over the planned load, masses included.
    wind_speed_m_s : float, optional
        Gust speed up to which the hang stays up: every part is then held against its limit in
        wind from the front and the rear too. Left out, wind is not counted.
    out_of_step_m : float, optional
        By how much either of two hoists may be out of step with the other, as by a link of its
        chain. Left out, they are in step.

    Examples
    --------
    >>> import hangarc as ha
    >>> job = ha.Job(project="Festival hall (demo data)", side="left", stack=4, stop_force_n=500.0)
    >>> ha.Job.from_json(job.to_json()) == job
    True
    """

    _kind: ClassVar[str] = "job"
    _parts: ClassVar[Mapping[str, type[Record]]] = {"suspensions": Suspension}

    project: str = ""
    hang: str = ""
    revision: str = ""
    author: str = ""
    date: str = ""
    side: Literal["", "left", "right", "centre"] = ""
    datum: str = ""
    position_m: Sequence[float] | None = None
    pan_deg: float | None = None
    stack: int = 4
    cart_m: float = 0.15
    clear_m: float = 1.0
    steel_m: float = 0.0
    stop_force_n: float = 500.0
    suspensions: Sequence[Suspension] = ()
    above_kg: Mapping[str, float] = dataclasses.field(default_factory=dict)
    tilt_tolerance_deg: float | None = None
    height_tolerance_m: float | None = None
    tilt_uncertainty_deg: float = 0.1
    load_uncertainty: float = 0.02
    wind_speed_m_s: float | None = None
    out_of_step_m: float | None = None

    def _check(self, data: dict[str, Any]) -> None:
        _texts(data, ("project", "hang", "revision", "author", "date", "side", "datum"))
        if self.side not in SIDES:
            raise InputError("side", self.side, " or ".join(map(repr, SIDES)))
        if self.date:
            try:
                datetime.date.fromisoformat(self.date)
            except ValueError:
                raise InputError("date", self.date, "a date as YYYY-MM-DD") from None
        if self.position_m is not None:
            _numbers("position_m", data["position_m"], 2)
        if self.pan_deg is not None and not -360.0 <= real("pan_deg", self.pan_deg) <= 360.0:
            raise InputError("pan_deg", self.pan_deg, "a number from -360 to 360")
        if whole("stack", self.stack) < 1:
            raise InputError("stack", self.stack, "a whole number of at least 1")
        for field in ("cart_m", "clear_m", "steel_m", "stop_force_n"):
            _at_least(field, data[field], 0.0)
        for field in ("wind_speed_m_s", "out_of_step_m"):
            if data[field] is not None:
                _at_least(field, data[field], 0.0)
        for field in ("tilt_tolerance_deg", "height_tolerance_m"):
            if data[field] is not None:
                _above_0(field, data[field])
        for field in ("tilt_uncertainty_deg", "load_uncertainty"):
            _above_0(field, data[field])
        instance("above_kg", self.above_kg, dict)
        for name, mass_kg in self.above_kg.items():
            _at_least(f"above_kg.{name}", mass_kg, 0.0)

    def at(self, site: Site) -> Job:
        """Give the job with its place and pan, those of the site where it states none.

        Parameters
        ----------
        site : Site
            Where the study's hang hangs.

        Returns
        -------
        Job

        Examples
        --------
        >>> import hangarc as ha
        >>> ha.Job().at(ha.model.Site(position_m=(1.5, 6.0), pan_deg=-5.0)).position_m
        (1.5, 6.0)
        """
        return dataclasses.replace(
            self,
            position_m=site.position_m if self.position_m is None else self.position_m,
            pan_deg=site.pan_deg if self.pan_deg is None else self.pan_deg,
        )

    def to_json(self) -> str:
        """Write as versioned JSON; `from_json` gives the same back.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.Job(project="Festival hall (demo data)").to_json()
        >>> [line.strip() for line in text.splitlines()[1:3]]
        ['"kind": "job",', '"version": 1,']
        """
        return _document.write("job", JOB_VERSION, self.to_dict(), indent=1)

    @classmethod
    def from_json(cls, text: str) -> Job:
        """Read what `to_json` wrote.

        Raises
        ------
        InputError
            Not JSON, another kind or version, an unknown field, or a value out of bounds.

        Examples
        --------
        >>> import hangarc as ha
        >>> text = ha.Job(side="left").to_json()
        >>> ha.Job.from_json(text).side
        'left'
        """
        return cls.from_dict(_document.read(text, "job", JOB_VERSION))


def _texts(data: Mapping[str, Any], fields: Sequence[str]) -> None:
    for field in fields:
        instance(field, data[field], str)


def _numbers(field: str, value: Any, count: int) -> None:
    if not isinstance(value, list) or len(value) != count:
        raise InputError(field, value, f"{count} numbers")
    for index, item in enumerate(value):
        real(f"{field}[{index}]", item)


def _at_least(field: str, value: Any, least: float) -> None:
    if real(field, value) < least:
        raise InputError(field, value, f"a number of at least {least:g}")


def _above_0(field: str, value: Any) -> None:
    if real(field, value) <= 0.0:
        raise InputError(field, value, "a number above 0")
