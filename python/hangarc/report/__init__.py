"""The hang sheet: the work in its order, loads, limits and sound, as text, page and PDF.

An aid to qualified persons; manufacturers' manuals, local codes and licensed engineers prevail.

Examples
--------
>>> import hangarc as ha
>>> answer = ha.evaluate(ha.demo.study(cabinets=4))
>>> print(ha.report.text(answer).splitlines()[0])
Hang sheet: Demo hang (demo data)
>>> ha.report.reasons_against(answer)
[]
"""

from hangarc.report.checked import checked
from hangarc.report.content import CAUTION, compose, title
from hangarc.report.objections import reasons_against
from hangarc.report.page import Picture, html
from hangarc.report.pdf import pdf
from hangarc.report.roof import roof_csv, roof_points
from hangarc.report.terminal import text
from hangarc.report.wording import languages

__all__ = [
    "CAUTION",
    "Picture",
    "checked",
    "compose",
    "html",
    "languages",
    "pdf",
    "reasons_against",
    "roof_csv",
    "roof_points",
    "text",
    "title",
]
