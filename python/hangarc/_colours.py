"""The colours that all pictures share."""

INK = "#1d2b36"

PALE = "#c9d1d6"

SHADE = "#eef1f3"

FIRST = "#174f8a"

SECOND = "#c9641b"

THIRD = "#3f8f7f"
