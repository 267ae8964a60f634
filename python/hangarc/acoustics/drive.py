"""What levels the seats get at full drive, and which part of the rig runs out first."""

from __future__ import annotations

import dataclasses
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hangarc import _core
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import Result, real, real_array, whole
from hangarc.acoustics.air import air_or_room
from hangarc.acoustics.bands import band_numbers, weighting_db
from hangarc.acoustics.rig import Placed, Rig, placed_rig
from hangarc.acoustics.seats import SeatLevels, seat_levels
from hangarc.model import Air, Venue


@dataclasses.dataclass(frozen=True, eq=False)
class FullDrive(Result):
    """Levels at the seats in dB re 20 µPa, the rig driven to its first stated limit.

    Attributes
    ----------
    levels : SeatLevels
        Places, weights, and levels over unit pressure as they are without drive.
    crest_factor_db : float
        How far the signal's peaks lie over its level.
    gain_db : float
        Gain of the signal at full drive; a cabinet of 0 dB on its axis then gives this peak level
        at 1 m.
    first_out : str
        The cabinet that runs out first, and in which band if the level of one band does it.
    first_hang, first_cabinet : int
        Its numbers.
    first_band_hz : float or None
        Middle of that band; None is all bands together.
    band_headroom_db : list of float or None, one per band
        What is left in each band before its own stated level is reached; None is *not stated*:
        some cabinet states no level of its own there.
    band_peak_db : ndarray, shape (b, n)
        Peak level of each band at each place.
    peak_db, level_db, level_a_db, level_c_db : ndarray, shape (n,)
        Peak level over the bands, and the programme's level: the peaks less the crest factor,
        unweighted, A- and C-weighted (IEC 61672-1:2013).
    farthest : int
        The place that is farthest from the nearest hang, among those that count.
    farthest_m : float
        That distance.
    wanted_db : float or None
        Wanted level of the programme.
    headroom_db : ndarray, shape (n,), or None
        `level_db` over what is wanted.
    farthest_headroom_db : ndarray, shape (b,), or None
        The same of each band at the farthest place, the wanted level having the signal's spectrum.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study()
    >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> driven = ha.acoustics.full_drive(rig, study.venue)
    >>> driven.first_out, driven.first_band_hz
    ('hang 1, cabinet 1: all bands together', None)
    >>> round(float(driven.level_a_db.min()), 1)
    91.2
    """

    levels: SeatLevels
    crest_factor_db: float
    gain_db: float
    first_out: str
    first_hang: int
    first_cabinet: int
    first_band_hz: float | None
    band_headroom_db: list[float | None]
    band_peak_db: NDArray[np.float64]
    peak_db: NDArray[np.float64]
    level_db: NDArray[np.float64]
    level_a_db: NDArray[np.float64]
    level_c_db: NDArray[np.float64]
    farthest: int
    farthest_m: float
    wanted_db: float | None
    headroom_db: NDArray[np.float64] | None
    farthest_headroom_db: NDArray[np.float64] | None


@by_name
def full_drive(
    rig: Placed | Rig,
    venue: Venue,
    *,
    air: Air | None = None,
    crest_factor_db: float = 12.0,
    spectrum_db: ArrayLike | None = None,
    wanted_db: float | None = None,
    lowest_hz: float = 50.0,
    highest_hz: float = 16000.0,
    lines_per_band: int = 5,
) -> FullDrive:
    """Levels in dB re 20 µPa at the seats, from the stated greatest levels of the cabinets.

    A signal with shares 10^{u_b/10} of its energy in the third octaves drives the rig alike. With
    e_b the mean over a band's lines of a cabinet's own level on its axis at 1 m, a gain g brings it
    to g + e_b + u_b in each band and g + 10 lg Σ 10^{(e_b + u_b)/10} in all; g at full drive is the
    largest that every stated level (`Source.max_level_db`, `Source.max_level_hz_db`) allows. Stated
    levels are taken as those of the peaks. Compression and distortion short of the stated levels
    are left out.

    Parameters
    ----------
    rig : Placed or Rig
        The hangs; every cabinet states its greatest level, in all or for every band.
    venue : Venue
        The seats, floors and surfaces.
    air : Air, optional
        Left out, 20 °C, 50 %, 101.325 kPa.
    crest_factor_db : float
        Peaks over the level of the programme, 0 to 30; 12 is common practice, no source.
    spectrum_db : array_like, shape (b,), optional
        Levels of the signal's third octaves relative to each other; left out, all alike.
    wanted_db : float, optional
        Wanted level of the programme, in dB re 20 µPa, for the headroom.
    lowest_hz, highest_hz, lines_per_band
        As in `band_lines_hz`.

    Raises
    ------
    InputError
        A cabinet that does not state its greatest level; else as `pressure`.

    Examples
    --------
    >>> import hangarc as ha
    >>> rig = ha.Placed(hang=ha.demo.hang(), tilt_deg=2.0, top_m=11.0)
    >>> driven = ha.acoustics.full_drive(rig, ha.demo.study().venue, wanted_db=100.0)
    >>> round(float(driven.headroom_db.min()), 1)
    4.3
    """
    rig = placed_rig(rig)
    crest = real("crest_factor_db", crest_factor_db)
    if not 0.0 <= crest <= 30.0:
        raise InputError("crest_factor_db", crest_factor_db, "0 to 30")
    bands = band_numbers(lowest_hz, highest_hz)
    count = whole("lines_per_band", lines_per_band, 24)
    given = np.zeros(len(bands)) if spectrum_db is None else spectrum_db
    spectrum = real_array("spectrum_db", given, 1).ravel()
    fields = _core.full_drive(
        rig._fields_for(_core.band_lines_hz(bands, count)),
        air_or_room(air).handle,
        bands,
        count,
        spectrum.tolist(),
    )
    levels = seat_levels(
        rig,
        venue=venue,
        air=air,
        lowest_hz=lowest_hz,
        highest_hz=highest_hz,
        lines_per_band=lines_per_band,
    )
    share_db = fields["share_db"][:, None]
    band_peak_db = levels.band_level_db + share_db + fields["gain_db"]
    band_db = band_peak_db - crest

    def summed(weighting: Literal["A", "C", "Z"]) -> NDArray[np.float64]:
        weight_db = weighting_db(levels.band_hz, weighting)[:, None]
        energy: NDArray[np.float64] = np.sum(10.0 ** ((band_db + weight_db) / 10.0), axis=0)
        return 10.0 * np.log10(energy)

    level_db = summed("Z")
    farthest, farthest_m = _farthest(rig, levels)
    headroom_db = farthest_headroom_db = None
    if wanted_db is not None:
        wanted_db = real("wanted_db", wanted_db)
        headroom_db = level_db - wanted_db
        farthest_headroom_db = band_db[:, farthest] - wanted_db - share_db[:, 0]
    band = fields["band"]
    first_band_hz = None if band is None else float(levels.band_hz[band])
    place = f"hang {fields['hang'] + 1}, cabinet {fields['cabinet'] + 1}"
    where = "all bands together" if first_band_hz is None else f"{first_band_hz:.0f} Hz"
    return FullDrive(
        levels=levels,
        crest_factor_db=crest,
        gain_db=fields["gain_db"],
        first_out=f"{place}: {where}",
        first_hang=fields["hang"],
        first_cabinet=fields["cabinet"],
        first_band_hz=first_band_hz,
        band_headroom_db=fields["band_headroom_db"],
        band_peak_db=band_peak_db,
        peak_db=level_db + crest,
        level_db=level_db,
        level_a_db=summed("A"),
        level_c_db=summed("C"),
        farthest=farthest,
        farthest_m=farthest_m,
        wanted_db=wanted_db,
        headroom_db=headroom_db,
        farthest_headroom_db=farthest_headroom_db,
    )


def _farthest(rig: Rig, levels: SeatLevels) -> tuple[int, float]:
    """The counted place farthest from the top of the nearest hang, and its distance."""
    tops_m = np.array([(*placed.position_m, placed.top_m) for placed in rig.hangs])
    away_m = np.linalg.norm(levels.position_m[:, None, :] - tops_m, axis=2).min(axis=1)
    away_m = np.where(levels.weight > 0.0, away_m, -np.inf)
    farthest = int(np.argmax(away_m))
    return farthest, float(away_m[farthest])
