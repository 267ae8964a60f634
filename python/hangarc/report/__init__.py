"""The hang sheet: what the crew has to pin, pick, lift and close, as text and as a page.

An aid to qualified persons; manufacturers' manuals, local codes and licensed engineers prevail.
"""

from hangarc.report.content import CAUTION, Section, Table, sections, title
from hangarc.report.page import Picture, html
from hangarc.report.terminal import text

__all__ = ["CAUTION", "Picture", "Section", "Table", "html", "sections", "text", "title"]
