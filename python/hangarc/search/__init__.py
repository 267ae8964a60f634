"""Which pins, tilt and height serve the seats best and can be hung.

Examples
--------
>>> import hangarc as ha
>>> import dataclasses
>>> study = dataclasses.replace(ha.demo.study(cabinets=3), tilt_range_deg=(0.0, 0.0))
>>> found = ha.optimise_splays(study, seed=0, budget_evaluations=200)
>>> found.ended, len(found.splays_deg)
('budget spent', 2)
"""

from hangarc.search.alignment import Balance, aligned, arrivals_s, balanced, with_gains
from hangarc.search.gains import Electronics, electronics
from hangarc.search.result import Beyond, Constraint, CountRow, HoleRow, Margin, SearchResult
from hangarc.search.splays import one_hole_table, optimise_splays, trade_off
from hangarc.search.system import System, SystemResult, Turn, optimise_system
from hangarc.search.together import (
    check_space,
    rigs_of,
    system_levels,
    system_unevenness,
)

__all__ = [
    "Balance",
    "Beyond",
    "Constraint",
    "CountRow",
    "Electronics",
    "HoleRow",
    "Margin",
    "SearchResult",
    "System",
    "SystemResult",
    "Turn",
    "aligned",
    "arrivals_s",
    "balanced",
    "check_space",
    "electronics",
    "one_hole_table",
    "optimise_splays",
    "optimise_system",
    "rigs_of",
    "system_levels",
    "system_unevenness",
    "trade_off",
    "with_gains",
]
