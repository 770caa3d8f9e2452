"""How the documentation becomes a site: `make docs` writes it into build/docs.

Rules of this file:

- The pages are the Markdown files here, as they are read in the repository; nothing is copied. A
  link to a file of the repository that is no page goes to the file itself.
- The reference is made from the docstrings of what `simengine` names as public.
- A link inside the site that leads nowhere is an error (`--fail-on-warning`).
- Notebooks are run as the site is built, unless NOTEBOOKS=off; none keeps its output.
"""

import os
from pathlib import Path

from docutils import nodes
from sphinx.addnodes import pending_xref
from sphinx.application import Sphinx

import simengine

ROOT = Path(__file__).parents[1]

project = "simengine"
author = "the simengine authors"
copyright = "the simengine authors; Apache-2.0"  # noqa: A001 - the name that Sphinx asks for
version = release = simengine.__version__

extensions = ["myst_nb", "sphinx.ext.autodoc"]
source_suffix = {".md": "myst-nb", ".ipynb": "myst-nb"}
root_doc = "index"
nb_execution_mode = "off" if os.environ.get("NOTEBOOKS") == "off" else "force"
nb_execution_timeout = 600
nb_execution_raise_on_error = True
nb_merge_streams = True
myst_heading_anchors = 4
autodoc_typehints = "description"
autodoc_member_order = "bysource"
autodoc_default_options = {"members": True}

html_theme = "furo"
html_title = f"simengine {release}"
html_copy_source = False


def _without_links_off_the_site(app: Sphinx, doctree: nodes.document) -> None:
    """Keep the words alone of a link to a folder or a page that is in the repository only."""
    folder = Path(app.srcdir, app.env.docname).parent
    for link in list(doctree.findall(pending_xref)):
        target = folder / link["reftarget"]
        if target.is_dir() or ROOT.joinpath(target.with_suffix(".md").name).is_file():
            link.replace_self(link.children)


def setup(app: Sphinx) -> None:
    """Tell Sphinx of what is added here."""
    app.connect("doctree-read", _without_links_off_the_site)
