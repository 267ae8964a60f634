"""Which pins, tilt and height serve the seats best and can be hung."""

from hangarc.search.gains import Electronics, electronics
from hangarc.search.result import Beyond, CountRow, HoleRow, Margin, SearchResult
from hangarc.search.splays import one_hole_table, optimise_splays, trade_off

__all__ = [
    "Beyond",
    "CountRow",
    "Electronics",
    "HoleRow",
    "Margin",
    "SearchResult",
    "electronics",
    "one_hole_table",
    "optimise_splays",
    "trade_off",
]
