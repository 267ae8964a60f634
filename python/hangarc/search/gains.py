"""What gains and a filter can still mend, once the pins are in."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hangarc import _core
from hangarc._ending import Ended, Ending
from hangarc._errors import InputError
from hangarc._keywords import by_name
from hangarc._record import instance, real
from hangarc.model import Study

ElectronicsEnd = Literal["settled", "budget spent"]

ELECTRONICS_ENDINGS: Mapping[str, Ending] = {
    "settled": Ending(True, "No step betters the gains."),
    "budget spent": Ending(
        False,
        "The steps allowed were spent; these are the best gains until then.",
        "A look at the gains: they may serve as they are.",
    ),
}


@dataclasses.dataclass(frozen=True, eq=False)
class Electronics(Ended):
    """Gains and a filter for a hang whose pins stay.

    Attributes
    ----------
    gains_db : ndarray, shape (n,)
        Gain of each cabinet, at most 0 dB.
    band_hz : ndarray, shape (b,)
        Mid-band frequencies, IEC 61260-1:2014, base ten.
    filter_db : ndarray, shape (b,)
        Gain of the whole hang in each third octave, which takes each band's mean to that of all.
    unevenness_before_db, mean_before_db : float
        Unevenness and mean level without gains.
    unevenness_db, mean_db : float
        The same with them. The filter changes neither: each band is taken about its own mean.
    ended : str
        ``settled``, or ``budget spent``: the steps allowed were spent before the least was reached.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study(cabinets=4)
    >>> found = ha.search.electronics(study, 2.0, 11.0)
    >>> found.gains_db.shape, found.unevenness_db < found.unevenness_before_db
    ((4,), True)
    """

    _endings = ELECTRONICS_ENDINGS

    gains_db: NDArray[np.float64]
    band_hz: NDArray[np.float64]
    filter_db: NDArray[np.float64]
    unevenness_before_db: float
    mean_before_db: float
    unevenness_db: float
    mean_db: float
    ended: ElectronicsEnd

    def _picture(self) -> str:
        from hangarc import _pictures

        names = [f"{cabinet}" for cabinet in range(1, len(self.gains_db) + 1)]
        return _pictures.bars(self.gains_db, "gain of each cabinet, dB", names)


@by_name
def electronics(
    study: Study,
    tilt_deg: float,
    top_m: float,
    *,
    least_gain_db: float = -6.0,
    most_filter_db: float = 12.0,
) -> Electronics:
    """Gains and a filter that serve the seats most evenly from the study's hang as it is pinned.

    Minimises the unevenness J over the cabinets' gains g_i in dB by damped least squares
    (Levenberg 1944, Marquardt 1963) within bounds; ``∂L_rb/∂g_i = Σ Re(p̄ p_i) / Σ |p|²`` over the
    lines of band b is cabinet i's share of the energy at seat r. J has more than one valley; the
    steps start from all gains at 0 dB. Pins come first: what they leave is mended here.

    A twin has the gains of the hang, and the hangs beside it sound as they are: p is the pressure
    of a feed with all that sounds in it, and the energies of all feeds make the level.

    Parameters
    ----------
    study : Study
        The question, its hang with the pins in question.
    tilt_deg, top_m : float
        Tilt of the fly frame, −90 to 90°, and height of cabinet 0's upper front hinge.
    least_gain_db : float
        The least gain of a cabinet, −60 to 0 dB.
    most_filter_db : float
        The most that the filter lifts or lowers a band, 0 to 60 dB.

    Returns
    -------
    Electronics

    Raises
    ------
    InputError
        An argument of the wrong type or out of range, or as `optimise_splays`.

    Examples
    --------
    >>> import hangarc as ha
    >>> study = ha.demo.study(cabinets=4)
    >>> found = ha.search.electronics(study, 2.0, 11.0, least_gain_db=-3.0)
    >>> len(found.gains_db), found.ended
    (4, 'settled')
    """
    tilt = real("tilt_deg", tilt_deg)
    if not -90.0 <= tilt <= 90.0:
        raise InputError("tilt_deg", tilt_deg, "a number from -90 to 90")
    fields = _core.electronics(
        instance("study", study, Study).handle,
        tilt,
        real("top_m", top_m),
        real("least_gain_db", least_gain_db),
        real("most_filter_db", most_filter_db),
    )
    return Electronics(**fields)
