"""The work of hanging, in its order, as figures: lifts, closing, trim, what to read on the way.

Cabinets and joints count from 1 at the top, as the crew counts them; joint 0 joins fly frame and
cabinet 1, joint j lies below cabinet j. Holes of the fly frame count from its front. Heights are
above the floor under the hang. Sideways places are forward of the plumb line of the front pick,
which stays where it is while the hang turns.

Examples
--------
>>> import hangarc as ha
>>> work = ha.evaluate(ha.demo.study(cabinets=4)).work
>>> [(lift.first, lift.last) for lift in work.lifts]
[(1, 4)]
"""

from hangarc.work.job import Anchor, Job, Suspension
from hangarc.work.lifts import FrameUp, Lift, Pin
from hangarc.work.plan import Work
from hangarc.work.rear import Contact, Jump, RearClosing, Swept
from hangarc.work.roof import HoistPoint, Leg
from hangarc.work.trim import ReadingBound, Trim

__all__ = [
    "Anchor",
    "Contact",
    "FrameUp",
    "HoistPoint",
    "Job",
    "Jump",
    "Leg",
    "Lift",
    "Pin",
    "ReadingBound",
    "RearClosing",
    "Suspension",
    "Swept",
    "Trim",
    "Work",
]
