"""Write the reference of the Python face into docs/build/python; a warning is an error."""

import warnings
from pathlib import Path

warnings.simplefilter("error")

# Looks for fonts with programs of the system on first use, which pdoc forbids while it imports.
import hangarc  # noqa: E402
import matplotlib.font_manager  # noqa: E402, F401
import pdoc  # noqa: E402

for name in hangarc.__all__:
    getattr(hangarc, name)  # pdoc takes a name that is imported on first use for a missing module

pdoc.render.configure(docformat="numpy")
pdoc.pdoc("hangarc", output_directory=Path(__file__).parent / "build" / "python")
