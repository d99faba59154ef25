"""Settings of the documentation: `sphinx-build -W -n docs OUT`."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))  # the package need not be installed

from framecheck import __version__

project = "framecheck"
author = "the framecheck developers"
copyright = ""  # noqa: A001  # the name is the builder's
version = release = __version__

extensions = ["myst_parser"]
exclude_patterns = ["generators", "_build"]
root_doc = "index"
nitpicky = True
smartquotes = False  # quotes and dots stand for themselves in what is typed

myst_heading_anchors = 3
myst_enable_extensions = ["colon_fence"]

html_theme = "furo"
html_title = f"framecheck {__version__}"
html_static_path = ["static"]
html_css_files = ["framecheck.css"]
html_js_files = [("reachable.js", {"defer": "defer"})]
html_show_copyright = False
html_show_sourcelink = False
html_show_search_summary = False  # they are fetched, which plain files do not allow
html_copy_source = False
html_theme_options = {
    # Quiet ink on plain paper: one accent, and nothing from the network.
    "light_css_variables": {
        "color-brand-primary": "#0a5fb4",
        "color-brand-content": "#0a5fb4",
        "font-stack": "system-ui, sans-serif",
    },
    "dark_css_variables": {
        "color-brand-primary": "#7ab8ff",
        "color-brand-content": "#7ab8ff",
    },
}
