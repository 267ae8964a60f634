"""What the crew read, and whether what hangs is what was planned.

Examples
--------
>>> import hangarc as ha
>>> answer = ha.evaluate(ha.demo.study(cabinets=4))
>>> form = ha.survey.blank_readings(answer)
>>> form.to_csv().splitlines()[0]
'hang,kind,number,value,uncertainty'
"""

from hangarc.statics.built import (
    AngleReading,
    LoadReading,
    PlanComparison,
    compare_with_plan,
)
from hangarc.survey.built import BuiltCheck, ReadingCheck, check_readings
from hangarc.survey.readings import Reading, Readings, blank_readings

__all__ = [
    "AngleReading",
    "BuiltCheck",
    "LoadReading",
    "PlanComparison",
    "Reading",
    "ReadingCheck",
    "Readings",
    "blank_readings",
    "check_readings",
    "compare_with_plan",
]
