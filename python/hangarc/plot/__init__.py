"""Pictures of a hang, its seats and its forces.

Every function draws on the Axes it is given, or on new ones, and returns them; nothing is shown or
saved. Lines and marks differ in shape as well as in colour; words are in the language asked for.

Examples
--------
>>> import hangarc as ha
>>> ax = ha.plot.column(ha.demo.hang(), 2.0)
>>> ax.get_xlabel()
'forward of the top hinge, m'
"""

try:
    import matplotlib  # noqa: F401
except ModuleNotFoundError as error:
    raise ModuleNotFoundError("pictures need matplotlib: pip install 'hangarc[plot]'") from error

from hangarc.plot.forces import closing_path, joint_forces
from hangarc.plot.hang import column, section
from hangarc.plot.levels import band_levels, seat_levels
from hangarc.plot.plans import plan_difference, seat_plan
from hangarc.plot.style import FIRST, INK, PALE, SECOND, SHADE, STEP_EDGES_DB, STEPS, THIRD
from hangarc.plot.systems import arrival_times, seat_spectra, system_section
from hangarc.plot.trades import trade_off

__all__ = [
    "FIRST",
    "INK",
    "PALE",
    "SECOND",
    "SHADE",
    "STEPS",
    "STEP_EDGES_DB",
    "THIRD",
    "arrival_times",
    "band_levels",
    "closing_path",
    "column",
    "joint_forces",
    "plan_difference",
    "seat_levels",
    "seat_plan",
    "seat_spectra",
    "section",
    "system_section",
    "trade_off",
]
