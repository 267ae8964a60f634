"""A second opinion on an answer, by other routes than the core takes; for those who must sign.

Nothing here calls the core's geometry, statics, closing or field: bodies are placed by complex
numbers, hoists follow from virtual work, joints from one matrix of all bodies' equilibrium, the
closing force from the energy's differences, and levels from a plain complex sum over points. It
is straight Python with NumPy, and slow.

Examples
--------
>>> import hangarc as ha
>>> answer = ha.answer(ha.demo.study(cabinets=4))
>>> ha.verify(answer).line
'83 figures calculated again by other routes: all agree'
"""

from hangarc.second_opinion.routes import Verification, VerifiedRow, verify

__all__ = ["Verification", "VerifiedRow", "verify"]
