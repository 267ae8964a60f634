"""Which pins, tilt and height serve the seats best and can be hung."""

from hangarc.search.gains import Electronics, electronics
from hangarc.search.result import Beyond, CountRow, HoleRow, Margin, SearchResult
from hangarc.search.splays import one_hole_table, optimise_splays, trade_off
from hangarc.search.system import (
    Balance,
    System,
    SystemResult,
    Turn,
    aligned,
    arrivals_s,
    balanced,
    check_space,
    optimise_system,
    rigs_of,
    system_levels,
    system_unevenness,
    with_gains,
)

__all__ = [
    "Balance",
    "Beyond",
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
