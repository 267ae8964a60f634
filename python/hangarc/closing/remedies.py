"""What would close a hang that does not."""

from __future__ import annotations

import dataclasses
from typing import Any

from hangarc import _core
from hangarc._keywords import by_name
from hangarc._record import Result, besides, instance, real
from hangarc.closing.stages import ClosingStages, stages_of
from hangarc.model import Hang


@dataclasses.dataclass(frozen=True, eq=False)
class ClosingRemedies(Result):
    """States in which a given chain force closes the hang.

    Attributes
    ----------
    available_n : float
        Force available.
    closing_force_n : float or None
        Closing force as the hang is.
    tilt : dict or None
        Least change of tilt within 30°: ``tilt_deg``, ``closing_force_n``, and
        ``front_pick_up_m``, how far the frame's front hole goes up against its rear hole.
    stages : tuple of dict
        The first 2, 3, … cabinets with the bottom frame under them: ``cabinets``,
        ``closing_force_n``, ``chain_closed_m``.
    most_cabinets : int or None
        The most cabinets that close at once.
    staged : ClosingStages
        Closing a few joints at a time, each stage with as many as the force closes.
    landing : dict or None
        Least landing of the bottom frame: ``landed_n``, its share ``landed_share`` of the weight
        below the fly frame, ``closing_force_n``.

    Examples
    --------
    >>> import hangarc as ha
    >>> found = ha.closing.closing_remedies(ha.demo.hang(), 2.0, available_n=800.0)
    >>> round(found.closing_force_n), found.available_n
    (1391, 800.0)
    >>> found.most_cabinets
    4
    """

    available_n: float
    closing_force_n: float | None
    tilt: dict[str, float] | None
    stages: tuple[dict[str, Any], ...]
    most_cabinets: int | None
    staged: ClosingStages
    landing: dict[str, float] | None


@by_name
def closing_remedies(
    hang: Hang, tilt_deg: float, *, available_n: float | None = None
) -> ClosingRemedies:
    """What would close a hang that the available chain force does not.

    Each answer is a computed state: another tilt, fewer cabinets, fewer joints at a time (see
    `closing_stages`), or part of the weight landed. Landed with P under the bottom frame's centre
    of gravity at x_P, joint j asks for T_j = (G_j − P (x_j − x_P))/E_j, with G_j its gravity moment
    and E_j the chain's lever.

    Parameters
    ----------
    hang : Hang
        A compression hang with bottom frame and both chain anchors.
    tilt_deg : float
        Elevation of the held frame's axis, −60 to 60°.
    available_n : float, optional
        Chain force; left out, the lower edge of the slip clutch's band.

    Returns
    -------
    ClosingRemedies

    Raises
    ------
    InputError
        No force given and no clutch band stated, or as `close`.

    Examples
    --------
    >>> import hangarc as ha
    >>> remedies = ha.closing.closing_remedies(ha.demo.hang(), 2.0, available_n=800.0)
    >>> round(remedies.tilt["tilt_deg"], 1)  # at this tilt 800 N close it
    10.6
    """
    fields = _core.closing_remedies(
        instance("hang", hang, Hang).handle,
        real("tilt_deg", tilt_deg),
        None if available_n is None else real("available_n", available_n),
    )
    return ClosingRemedies(
        **besides(fields, "stages", "staged"),
        stages=tuple(besides(stage) for stage in fields["stages"]),
        staged=stages_of(fields["staged"]),
    )
