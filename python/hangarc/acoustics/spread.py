"""What a hang sounds like at the seats, band by band, and where nobody sits."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance
from hangarc.acoustics.rig import Placed, Rig
from hangarc.acoustics.seats import SeatLevels, seat_levels
from hangarc.model import Air, Hang, Study, Venue

if TYPE_CHECKING:
    from hangarc._fields import SoundFields

OffSeatsKind = Literal["behind the last row", "front edge", "stage", "named"]


@dataclasses.dataclass(frozen=True, eq=False)
class Unevenness(Result):
    """How unevenly seats are served in each band.

    With L_rb the level of seat r in band b, the energy mean over the band's lines, w_r the seat's
    area weight, v_b the band's weight, T_r what is wanted at the seat and
    M_b = Σ_r w_r (L_rb − T_r) / Σ w the band's own mean, which a filter on the whole hang sets.

    Attributes
    ----------
    unevenness_db : float
        √( Σ_b v_b Σ_r w_r (L_rb − T_r − M_b)² / (Σ v Σ w) ).
    band_hz : ndarray, shape (b,)
        Mid-band frequencies, IEC 61260-1:2014, base ten.
    band_spread_db : ndarray, shape (b,)
        Spread over the seats in each band, √(Σ_r w_r (L_rb − T_r − M_b)² / Σ w).
    band_mean_db : ndarray, shape (b,)
        M_b; 0 dB is one element on its axis at 1 m.
    mean_db : float
        Weighted mean of M_b over the bands.
    spectral_spread_db : float
        How the seats differ in colour; with the spread of the seats' mean level over the bands it
        makes up the unevenness, as squares add.
    share_3_db_below, share_6_db_below : float
        Share of the weight of seats and bands more than 3 and 6 dB below their band's mean.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.unevenness(ha.demo.hang(), 2.0, 11.0, ha.demo.study().venue)
    >>> round(found.unevenness_db, 1), round(found.spectral_spread_db, 1)
    (4.4, 1.7)
    >>> found.band_hz.astype(int).tolist()[:3], found.band_spread_db.round(1).tolist()[:3]
    ([251, 316, 398], [2.4, 3.3, 3.4])
    """

    unevenness_db: float
    band_hz: NDArray[np.float64]
    band_spread_db: NDArray[np.float64]
    band_mean_db: NDArray[np.float64]
    mean_db: float
    spectral_spread_db: float
    share_3_db_below: float
    share_6_db_below: float

    def _picture(self) -> str:
        from hangarc import _pictures

        return _pictures.bands(self.band_hz, self.band_spread_db, "spread over the seats, dB")


@dataclasses.dataclass(frozen=True, eq=False)
class OffSeatsLevel(Result):
    """A place where nobody sits, with its level.

    Attributes
    ----------
    kind : {"behind the last row", "front edge", "stage", "named"}
        What it is.
    index : int or None
        The block it belongs to, or its place among the goals' `off_seats_m`.
    position_m : ndarray, shape (3,)
        Where.
    level_db : float
        Mean over the bands of its level, over the mean level of the seats.

    Examples
    --------
    >>> import hangarc as ha
    >>> sound = ha.evaluate(ha.demo.study(cabinets=4)).search.sound
    >>> loudest = max(sound.off_seats, key=lambda place: place.level_db)
    >>> loudest.kind, round(loudest.level_db, 1)
    ('front edge', 11.1)
    """

    kind: OffSeatsKind
    index: int | None
    position_m: NDArray[np.float64]
    level_db: float


@dataclasses.dataclass(frozen=True, eq=False)
class Condition(Result):
    """One air, or one inaccuracy within the tolerances, and what it makes of the hang.

    Attributes
    ----------
    air : int
        Number of the air; 0 is the study's own, the others are its `more_airs`.
    off : bool
        Whether splays and tilt are off within their tolerances.
    objective_db, spread_db, mean_db : float
        Objective, spread as the goals measure it, and mean level there.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> study = ha.demo.study(cabinets=4)
    >>> cold = ha.Air(temperature_c=5.0, humidity_percent=30.0)
    >>> asked = dataclasses.replace(study, more_airs=[cold])
    >>> for condition in ha.evaluate(asked).search.sound.conditions:
    ...     print(condition.air, round(condition.mean_db, 1))
    ...
    0 -30.7
    1 -31.5
    """

    air: int
    off: bool
    objective_db: float
    spread_db: float
    mean_db: float


@dataclasses.dataclass(frozen=True, eq=False)
class Sound(Unevenness):
    """What one hang sounds like, whatever it was searched for.

    Attributes
    ----------
    evenness_db : float
        Weighted standard deviation of the seats' levels summed over 1 to 8 kHz.
    off_seats_db : float or None
        Level off the seats over that of the seats: the mean over the bands of the energy mean over
        the places below, less `mean_db`. None where the venue has no such place.
    off_seats : tuple of OffSeatsLevel
        Those places.
    roughness_deg : float
        RMS second difference of the splays, one joint free for each gap between blocks.
    conditions : tuple of Condition
        Each air and inaccuracy of the study.

    Examples
    --------
    >>> import hangarc as ha
    >>> sound = ha.evaluate(ha.demo.study(cabinets=4)).search.sound
    >>> round(sound.unevenness_db, 1), round(sound.off_seats_db, 1)
    (4.7, 4.6)
    """

    evenness_db: float
    off_seats_db: float | None
    off_seats: tuple[OffSeatsLevel, ...]
    roughness_deg: float
    conditions: tuple[Condition, ...]

    @classmethod
    def _of_fields(cls, fields: SoundFields) -> Sound:
        """Build from what the core gave."""
        return cls(
            **besides(fields, "off_seats", "conditions"),
            off_seats=tuple(OffSeatsLevel(**row) for row in fields["off_seats"]),
            conditions=tuple(Condition(**row) for row in fields["conditions"]),
        )


@by_name
def unevenness(
    hang: Hang | Placed | Rig,
    tilt_deg: float | None = None,
    top_m: float | None = None,
    venue: Venue | None = None,
    air: Air | None = None,
    lowest_hz: float = 250.0,
    highest_hz: float = 8000.0,
    lines_per_band: int = 6,
    *,
    position_m: Sequence[float] = (0.0, 0.0),
    pan_deg: float = 0.0,
) -> Unevenness:
    """How unevenly a hang serves the seats, band by band: the spread over seats and third octaves.

    J = √( Σ_b Σ_r w_r (L_rb − M_b)² / (B Σ w) ), M_b = Σ_r w_r L_rb / Σ w, flat drive, air
    absorption included; the same level is wanted at every seat and all B bands count alike.

    Parameters
    ----------
    hang, tilt_deg, top_m, air, position_m, pan_deg
        As in `pressure`.
    venue : Venue
        The seats.
    lowest_hz, highest_hz : float
        First and last third octave, by any frequency in it; 20 Hz to 20 kHz.
    lines_per_band : int
        Frequencies in each third octave, 1 to 24. The unevenness moves by 0.02 to 0.07 dB with
        their number.

    Returns
    -------
    Unevenness

    Raises
    ------
    InputError
        As `pressure`; a seat that no sound reaches in these bands.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study()
    >>> straight, curved = ha.demo.hang((0.0,) * 5), ha.demo.hang()
    >>> for hang in (straight, curved):
    ...     print(round(ha.unevenness(hang, 2.0, 11.0, study.venue).unevenness_db, 1))
    ...
    7.7
    4.4
    """
    return unevenness_of(
        seat_levels(
            hang,
            tilt_deg,
            top_m,
            venue,
            air,
            position_m=position_m,
            pan_deg=pan_deg,
            lines_per_band=lines_per_band,
            lowest_hz=lowest_hz,
            highest_hz=highest_hz,
        )
    )


def unevenness_of(levels: SeatLevels) -> Unevenness:
    """Give how unevenly the seats are served that have these levels, band by band."""
    fields = _core.unevenness_of_levels(levels.band_level_db.tolist(), levels.weight.tolist())
    return Unevenness(band_hz=levels.band_hz, **fields)


@by_name
def wanted_db(study: Study) -> NDArray[np.float64]:
    """What a study wants at each seat: the shape T_r from which its unevenness counts.

    Parameters
    ----------
    study : Study
        Its `fall_db_per_doubling` and its goals' `wanted` give the shape.

    Returns
    -------
    ndarray, shape (n,)
        In the order of the seats in `SeatLevels`, up to a constant; 0 where the same level is
        wanted everywhere.

    Raises
    ------
    InputError
        `study` is not a `Study`.

    Examples
    --------
    >>> import hangarc as ha
    >>> import dataclasses
    >>> wanted = [ha.model.WantedLevel(area="Balcony", level_db=-3.0)]
    >>> study = dataclasses.replace(ha.demo.study(), goals=ha.Goals(wanted=wanted))
    >>> at_seats = ha.acoustics.wanted_db(study)
    >>> round(float(at_seats.max() - at_seats.min()), 1)
    3.0
    """
    wanted: NDArray[np.float64] = _core.wanted_db(instance("study", study, Study).handle)
    return wanted
