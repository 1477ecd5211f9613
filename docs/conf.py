"""How the documents become HTML: `make docs`."""

from __future__ import annotations

import sys
from importlib.metadata import version as installed_version
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE / "_tools"))

from api_pages import LAYERS, write_api_pages  # noqa: E402
from pictures import write_pictures  # noqa: E402

project = "feltload"
author = "The feltload authors"
copyright = author
version = release = installed_version("feltload")

extensions = ["myst_nb", "sphinx.ext.autodoc", "numpydoc"]
source_suffix = {".md": "myst-nb", ".ipynb": "myst-nb", ".rst": "restructuredtext"}
# The notebooks are stored as they ran; a test runs them again and compares.
nb_execution_mode = "off"
nb_mime_priority_overrides = [(builder, "image/png", 10) for builder in ("dummy", "linkcheck")]
exclude_patterns = ["_build", "_tools"]
# Docstrings are written for people at a terminal: `name` is code.
default_role = "code"
myst_heading_anchors = 4
myst_enable_extensions = ["colon_fence"]
# Types stand in the parameter lists of the docstrings, with shapes and units.
autodoc_typehints = "none"
autodoc_member_order = "bysource"
numpydoc_show_class_members = False
numpydoc_xref_param_type = False

html_theme = "pydata_sphinx_theme"
html_static_path = ["_tools/static"]
html_css_files = ["pages.css"]
html_title = "feltload"
html_copy_source = False
html_show_sourcelink = False
html_theme_options = {
    "navigation_with_keys": False,
    "show_toc_level": 2,
    "show_prev_next": True,
    "footer_start": ["copyright"],
    "footer_end": [],
    "secondary_sidebar_items": ["page-toc"],
}

# What is drawn and listed comes from the code, before the pages are read.
write_pictures(HERE / "pictures")
# A quick build (`-t quick`) has one layer of the reference: the others take most of the time.
write_api_pages(HERE / "api", LAYERS[-2:-1] if tags.has("quick") else LAYERS)  # noqa: F821
