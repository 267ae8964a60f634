"""How a chain closes the rear of a compression hang, and what it takes.

Examples
--------
>>> import hangarc as ha
>>> hang = ha.demo.hang()
>>> closing = ha.close(hang, 2.0)
>>> closing.ended, round(closing.closing_force_n)
('closed', 1391)
>>> ha.shortening(hang, 2.0).link
41
"""

from hangarc.closing.at_force import RestAtForce, rest_at_force
from hangarc.closing.let_off import Bypass, bypass
from hangarc.closing.links import LinkChoice, Shortening, shortening
from hangarc.closing.path import (
    Closing,
    ContactEvent,
    JointForces,
    Snap,
    close,
)
from hangarc.closing.remedies import ClosingRemedies, closing_remedies
from hangarc.closing.sensitivity import (
    ClosingSensitivities,
    ClosingSpread,
    closing_sensitivities,
    closing_spread,
)
from hangarc.closing.stages import ClosingStage, ClosingStages, closing_stages

__all__ = [
    "Bypass",
    "Closing",
    "ClosingRemedies",
    "ClosingSensitivities",
    "ClosingSpread",
    "ClosingStage",
    "ClosingStages",
    "ContactEvent",
    "JointForces",
    "LinkChoice",
    "RestAtForce",
    "Shortening",
    "Snap",
    "bypass",
    "close",
    "closing_remedies",
    "closing_sensitivities",
    "closing_spread",
    "closing_stages",
    "rest_at_force",
    "shortening",
]
