"""What hangs: cabinets, frames, closing gear, and the hang they make."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Literal

from hangarc import _core
from hangarc._display import html_table
from hangarc._record import Document, Record, degrees, kilonewtons
from hangarc.model.balloon import Balloon
from hangarc.model.stated import (
    BottomFrameLimits,
    CabinetLimits,
    ClosingGearLimits,
    FlyFrameLimits,
)
from hangarc.model.steel import Piece, Run

STANDARD_GRAVITY_M_S2 = 9.80665
"""Standard acceleration of free fall, ISO 80000-3:2019."""


@dataclasses.dataclass(frozen=True, kw_only=True)
class LineElement(Record):
    """A uniform line source along a cabinet's z axis.

    Parameters
    ----------
    height_m : float
        Length of the radiating line, above 0.
    x_m, z_m : float
        Its middle, ahead of the front face and above mid height.
    gain_db : float
        Gain, within ±300 dB; 0 dB gives unit pressure at 1 m, far-field, on axis.
    delay_s : float
        Delay of the element's signal.
    inverted : bool
        Whether the polarity is reversed.
    curvature_deg : float
        Opening angle of the wave front over the height, 0 to 90°; 0 is a straight line.
    low_hz, high_hz : float, optional
        The element is silent below `low_hz`, and at and above `high_hz`.

    Examples
    --------
    >>> import hangarc as ha
    >>> line = ha.LineElement(height_m=0.34, gain_db=-1.5, high_hz=16_000.0)
    >>> ha.Source(elements=[line]).elements[0].gain_db
    -1.5
    """

    _kind: ClassVar[str] = "line_element"

    height_m: float
    x_m: float = 0.0
    z_m: float = 0.0
    gain_db: float = 0.0
    delay_s: float = 0.0
    inverted: bool = False
    curvature_deg: float = 0.0
    low_hz: float | None = None
    high_hz: float | None = None


@dataclasses.dataclass(frozen=True, kw_only=True)
class Source(Record):
    """What a cabinet radiates: line elements whose pressures add, or a measured balloon.

    Parameters
    ----------
    elements : sequence of LineElement
        At least one where there is no balloon, none beside one.
    coverage_deg : float, optional
        Horizontal angle between the −6 dB directions; left out, it radiates alike all round.
    coverage_hz_deg : sequence of (float, float)
        The same where it changes: rising frequencies, each with its angle. Each third octave has
        the angle at its middle, its logarithm straight over that of the frequency; beyond the
        ends the nearest is kept.
    max_level_db : float, optional
        Greatest level on axis, referred to 1 m, in dB re 20 µPa.
    max_level_hz_db : sequence of (float, float)
        Greatest level in single third octaves: rising middle frequencies, each with its level.
    balloon : Balloon, optional
        The cabinet as measured, instead of line elements and coverage.

    Examples
    --------
    >>> import hangarc as ha
    >>> source = ha.Source(
    ...     elements=[ha.LineElement(height_m=0.34)], coverage_deg=100.0, max_level_db=138.0
    ... )
    >>> len(source.elements)
    1
    """

    _kind: ClassVar[str] = "source"
    _parts: ClassVar[Mapping[str, type[Record]]] = {"elements": LineElement, "balloon": Balloon}

    elements: Sequence[LineElement] = ()
    coverage_deg: float | None = None
    coverage_hz_deg: Sequence[Sequence[float]] = ()
    max_level_db: float | None = None
    max_level_hz_db: Sequence[Sequence[float]] = ()
    balloon: Balloon | None = None


@dataclasses.dataclass(frozen=True, kw_only=True)
class Cabinet(Record):
    """A cabinet in its body frame: origin on the front face at mid height, x forward, z up.

    The front hinges lie at (`hinge_x_m`, ± `height_m`/2); the rear link pins at (`rear_pin_x_m`,
    ± (`height_m`/2 − `rear_pin_inset_m`)).

    Parameters
    ----------
    name : str
        Name printed on sheets.
    mass_kg : float
        Mass with its rigging, above 0.
    height_m, depth_m, width_m : float
        Hinge to hinge, front to rear, side to side; above 0.
    cg_m : (float, float)
        Centre of gravity (x, z).
    hinge_x_m, rear_pin_x_m : float
        x of the front hinges and of the rear link pins, which lie behind the hinges.
    rear_pin_inset_m : float
        Rear pins' distance inside the upper and lower edge, 0 to half the height.
    rear_height_m : float, optional
        Height of the rear face when the box tapers.
    splay_positions_deg : sequence of float, or mapping
        Ascending angles, 0 to 45°, that the joint below this cabinet can be pinned at. A list
        serves both rigging kinds; ``{"tension": [...], "compression": [...]}`` gives each its own.
    source : Source, optional
        What it radiates; calculations of sound need it.
    limits : CabinetLimits
        Stated limits of the joint below, both sides together, in newtons: ``hinge_n`` of the front
        hinge, ``rear_link_n`` of the rear link in tension, ``stop_n`` of the rear link or stop in
        compression. A key left out, or None, is *not stated*, which is never a pass.

    Examples
    --------
    >>> import hangarc as ha
    >>> cabinet = ha.Cabinet(
    ...     name="Small cabinet (demo data)",
    ...     mass_kg=21.0,
    ...     height_m=0.26,
    ...     depth_m=0.40,
    ...     width_m=0.70,
    ...     cg_m=(-0.18, 0.0),
    ...     rear_pin_x_m=-0.36,
    ...     splay_positions_deg=[0.0, 1.0, 2.0, 4.0, 7.0, 10.0],
    ...     source=ha.Source(elements=[ha.LineElement(height_m=0.24)], coverage_deg=100.0),
    ...     limits={"hinge_n": 12_000.0, "rear_link_n": 6_000.0},
    ... )
    >>> cabinet.limits.get("stop_n", "not stated")
    'not stated'
    """

    _kind: ClassVar[str] = "cabinet"
    _parts: ClassVar[Mapping[str, type[Record]]] = {"source": Source}

    name: str
    mass_kg: float
    height_m: float
    depth_m: float
    width_m: float
    cg_m: Sequence[float]
    hinge_x_m: float = 0.0
    rear_pin_x_m: float = -0.50
    rear_pin_inset_m: float = 0.05
    rear_height_m: float | None = None
    splay_positions_deg: Sequence[float] | Mapping[str, Sequence[float]]
    source: Source | None = None
    limits: CabinetLimits = dataclasses.field(default_factory=CabinetLimits)

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.cabinet(self)

    def __post_init__(self) -> None:
        positions = self.splay_positions_deg
        if isinstance(positions, Sequence) and not isinstance(positions, str):
            both = {"tension": positions, "compression": positions}
            object.__setattr__(self, "splay_positions_deg", both)
        if self.limits is None:
            object.__setattr__(self, "limits", {})
        super().__post_init__()


@dataclasses.dataclass(frozen=True, kw_only=True)
class FlyFrame(Record):
    """The frame that the hoists hold; its origin is its lower front hinge.

    Parameters
    ----------
    mass_kg : float
        Mass, at least 0.
    height_m : float
        Height above the hinge, for drawings.
    cg_m : (float, float)
        Centre of gravity (x, z).
    pick_x_m : sequence of float
        Holes of the pick line; rear holes are negative.
    pick_z_m : float
        Height of the pick line.
    chain_anchor_m : (float, float), optional
        Upper end of the closing chain.
    rear_pin_m : (float, float), optional
        Rear link pin of joint 0; left out, the pin of cabinet 0 mirrored in the joint.
    rear_outline_m : sequence of (float, float)
        Corners (x, z) of its rear side that can hold the chain off, top to bottom, at most four.
    limits : FlyFrameLimits
        Stated limits in newtons: ``total_n`` of everything hung, ``pick_n`` of one pick,
        ``chain_n`` of the chain anchor; of joint 0, both sides together, ``hinge_n`` of the front
        hinge, ``rear_link_n`` of the rear link in tension, ``stop_n`` in compression. A key left
        out, or None, is *not stated*, which is never a pass.

    Examples
    --------
    >>> import hangarc as ha
    >>> frame = ha.FlyFrame(
    ...     mass_kg=92.0,
    ...     height_m=0.22,
    ...     cg_m=(-0.42, 0.11),
    ...     pick_x_m=[0.25, 0.15, 0.05, -0.05, -0.15],
    ...     pick_z_m=0.17,
    ...     limits={"total_n": 14_000.0, "pick_n": 9_000.0},
    ... )
    >>> frame.pick_x_m[-1]
    -0.15
    """

    _kind: ClassVar[str] = "fly_frame"

    mass_kg: float
    height_m: float
    cg_m: Sequence[float]
    pick_x_m: Sequence[float]
    pick_z_m: float
    chain_anchor_m: Sequence[float] | None = None
    rear_pin_m: Sequence[float] | None = None
    rear_outline_m: Sequence[Sequence[float]] = ()
    limits: FlyFrameLimits = dataclasses.field(default_factory=FlyFrameLimits)

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.fly_frame(self)

    def __post_init__(self) -> None:
        if self.limits is None:
            object.__setattr__(self, "limits", {})
        super().__post_init__()


@dataclasses.dataclass(frozen=True, kw_only=True)
class BottomFrame(Record):
    """The frame below the last cabinet; its origin is its upper front hinge.

    Parameters
    ----------
    mass_kg : float
        Mass, at least 0.
    cg_m : (float, float)
        Centre of gravity (x, z).
    chain_anchor_m : (float, float), optional
        Lower end of the closing chain.
    fixed_splay_deg : float
        The one angle its joint takes, −45 to 45°.
    rear_pin_m : (float, float), optional
        Rear link pin of its joint; left out, the pin of the last cabinet mirrored in the joint.
    rear_outline_m : sequence of (float, float)
        Corners (x, z) of its rear side that can hold the chain off, top to bottom, at most four.
    limits : BottomFrameLimits
        Stated limits in newtons: ``chain_n`` of the chain anchor. A key left out, or None, is *not
        stated*, which is never a pass.

    Examples
    --------
    >>> import hangarc as ha
    >>> tail = ha.BottomFrame(
    ...     mass_kg=24.0,
    ...     cg_m=(-0.36, -0.07),
    ...     chain_anchor_m=(-0.74, -0.04),
    ...     limits={"chain_n": 12_500.0},
    ... )
    >>> tail.limits["chain_n"]
    12500.0
    """

    _kind: ClassVar[str] = "bottom_frame"

    mass_kg: float
    cg_m: Sequence[float]
    chain_anchor_m: Sequence[float] | None = None
    fixed_splay_deg: float = 0.0
    rear_pin_m: Sequence[float] | None = None
    rear_outline_m: Sequence[Sequence[float]] = ()
    limits: BottomFrameLimits = dataclasses.field(default_factory=BottomFrameLimits)

    def __post_init__(self) -> None:
        if self.limits is None:
            object.__setattr__(self, "limits", {})
        super().__post_init__()


@dataclasses.dataclass(frozen=True, kw_only=True)
class ClosingGear(Record):
    """A chain of whole links, shortened by a clutch, in line with a lever hoist.

    Parameters
    ----------
    pitch_m : float
        Inner length of one link, above 0.
    links : int
        Number of links of the whole chain.
    hoist_min_m, hoist_max_m : float
        Length of the lever hoist between hooks, fully shortened and fully drawn out.
    clutch_n : (float, float), optional
        Band of force in which the slip clutch slips.
    chain_mass_kg_m : float
        Mass per metre of the chain, at least 0. A hang that a chain closes carries it along the
        line the closed chain takes, half of each straight part at each of its ends, and what the
        whole chain has over that line at `hoist_end`. Its sag between them is left out.
    hoist_mass_kg : float
        Mass of the lever hoist, at `hoist_end`.
    bypass_mass_kg : float
        Mass of the bypass chain with its fittings, along the closing chain.
    hoist_end : {"lower", "upper"}
        The chain's end with the lever hoist: at the bottom frame or the fly frame.
    limits : ClosingGearLimits
        Stated limits in newtons: ``chain_n`` of the chain with its fittings, ``hoist_n`` of the
        lever hoist. A key left out, or None, is *not stated*, which is never a pass.

    Examples
    --------
    >>> import hangarc as ha
    >>> gear = ha.ClosingGear(
    ...     pitch_m=0.027,
    ...     links=140,
    ...     hoist_min_m=0.34,
    ...     hoist_max_m=1.84,
    ...     clutch_n=(6_500.0, 8_500.0),
    ...     limits={"chain_n": 12_500.0, "hoist_n": 10_000.0},
    ... )
    >>> round(gear.pitch_m * gear.links, 2)  # the whole chain, m
    3.78
    """

    _kind: ClassVar[str] = "closing_gear"

    pitch_m: float
    links: int
    hoist_min_m: float
    hoist_max_m: float
    clutch_n: Sequence[float] | None = None
    chain_mass_kg_m: float = 0.0
    hoist_mass_kg: float = 0.0
    bypass_mass_kg: float = 0.0
    hoist_end: Literal["lower", "upper"] = "lower"
    limits: ClosingGearLimits = dataclasses.field(default_factory=ClosingGearLimits)

    def __post_init__(self) -> None:
        if self.limits is None:
            object.__setattr__(self, "limits", {})
        super().__post_init__()


@dataclasses.dataclass(frozen=True, kw_only=True)
class Hang(Document[_core.Hang]):
    """A column of cabinets under a fly frame, top to bottom.

    Parameters
    ----------
    frame : FlyFrame
        The frame on top.
    cabinets : sequence of Cabinet
        Top to bottom, at least one.
    splays_deg : sequence of float
        Splay between cabinet i and i+1, each one of cabinet i's positions.
    rigging : {"tension", "compression"}
        Two-sided rear links, or one-sided rear stops closed by a chain.
    bottom : BottomFrame, optional
        The frame below the last cabinet.
    gear : ClosingGear, optional
        Chain and lever hoist of a compression hang.
    open_limit_deg : float
        Angle at which an open joint of a compression hang comes to rest, −45 to 0°.
    frame_splay_deg : float
        Angle from the fly frame down to cabinet 0.
    gravity_m_s2 : float
        Acceleration of free fall where it hangs, 9.7 to 9.9; every weight follows it. Left out,
        the standard one of ISO 80000-3:2019. Earth has 9.76 to 9.84 (Hirt et al., Geophysical
        Research Letters 40, 2013).
    pieces : sequence of Piece
        Steel and whatever else hangs on one body.
    runs : sequence of Run
        Cables and ropes along the cabinets.

    Examples
    --------
    >>> import hangarc as ha
    >>> hang = ha.demo.hang((2.0, 2.7, 4.2))
    >>> for name, value in hang.summary():
    ...     print(f"{name}: {value}")
    ...
    cabinets: 4: Demo cabinet
    rigging: compression
    pins: 2 2.7 4.2°
    mass: 374.0 kg, frames included
    pick holes: 16
    chain: 140 links; slip clutch 6.50 kN to 8.50 kN
    """

    _kind: ClassVar[str] = "hang"
    _core_class: ClassVar[Any] = _core.Hang
    _parts: ClassVar[Mapping[str, type[Record]]] = {
        "frame": FlyFrame,
        "cabinets": Cabinet,
        "bottom": BottomFrame,
        "gear": ClosingGear,
        "pieces": Piece,
        "runs": Run,
    }

    frame: FlyFrame
    cabinets: Sequence[Cabinet]
    splays_deg: Sequence[float]
    rigging: Literal["tension", "compression"]
    bottom: BottomFrame | None = None
    gear: ClosingGear | None = None
    open_limit_deg: float = -2.0
    frame_splay_deg: float = 0.0
    gravity_m_s2: float = STANDARD_GRAVITY_M_S2
    pieces: Sequence[Piece] = ()
    runs: Sequence[Run] = ()

    def _mass_kg(self) -> float:
        """Everything hung, as the core places it."""
        mass_kg: float = _core.pose(self.handle, 0.0, 0.0, None)["mass_kg"]
        return mass_kg

    def summary(self) -> list[tuple[str, str]]:
        """Give names and texts of what identifies the hang.

        Examples
        --------
        >>> import hangarc as ha
        >>> ha.demo.hang((2.0, 2.7, 4.2)).summary()[2]
        ('pins', '2 2.7 4.2°')
        """
        names = dict.fromkeys(cabinet.name for cabinet in self.cabinets)
        rows = [
            ("cabinets", f"{len(self.cabinets)}: {', '.join(names)}"),
            ("rigging", self.rigging),
            ("pins", degrees(self.splays_deg)),
            ("mass", f"{self._mass_kg():.1f} kg, frames included"),
            ("pick holes", f"{len(self.frame.pick_x_m)}"),
        ]
        if self.gear is not None:
            clutch = self.gear.clutch_n
            band = "not stated" if clutch is None else " to ".join(map(kilonewtons, clutch))
            rows.append(("chain", f"{self.gear.links} links; slip clutch {band}"))
        return rows

    def _repr_html_(self) -> str:
        from hangarc import _pictures
        from hangarc._pose import pose

        chained = self.rigging == "compression"
        return html_table("Hang", self.summary(), _pictures.column(pose(self, 0.0), chain=chained))
