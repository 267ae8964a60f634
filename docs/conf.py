"""The documentation site: `make docs` writes it into docs/build, warnings are errors."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "_ext"))

import hangarc

project = "hangarc"
copyright = "the hangarc contributors"
version = release = hangarc.__version__

extensions = [
    "sphinx.ext.autodoc",
    "sphinx.ext.napoleon",
    "myst_nb",
    "sphinx_copybutton",
    "mathml",
    "reference",
    "drawn",
    "lessons",
    "outside",
]
exclude_patterns = ["build", "_ext", "_static"]
nitpicky = False
suppress_warnings: list[str] = []

# A name in single backticks is looked up among the public names, and is code where it is none.
default_role = "py:obj"
add_module_names = False
autodoc_typehints = "none"
autodoc_class_signature = "mixed"
napoleon_numpy_docstring = True
napoleon_google_docstring = False
napoleon_use_ivar = True
python_use_unqualified_type_names = True
toc_object_entries = False

myst_enable_extensions = ["dollarmath", "deflist", "colon_fence", "attrs_block"]
myst_heading_anchors = 3
nb_execution_mode = "off"
nb_merge_streams = True
html_math_renderer = "mathml"

html_theme = "furo"
html_title = f"hangarc {release}"
html_static_path = ["_static"]
html_css_files = ["site.css"]
html_copy_source = False
html_show_sourcelink = False
html_theme_options = {
    "announcement": "An aid to qualified persons. Manufacturers' manuals, local codes and licensed "
    "engineers prevail.",
    "navigation_with_keys": True,
}
copybutton_prompt_text = r">>> |\.\.\. |\$ "
copybutton_prompt_is_regexp = True
