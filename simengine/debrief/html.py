"""The page as one self-contained web page.

Rules of this file:

- One file: style, typeface and pictures are inside it; nothing is fetched and no script runs.
- Every text is escaped by Jinja2 (``autoescape`` is said outright).
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from simengine.debrief import look
from simengine.debrief.look import PATHS, sign_svg
from simengine.debrief.page import DebriefPage
from simengine.resources import fonts_dir, templates_dir


def render_html(page: DebriefPage, pictures: Mapping[str, bytes]) -> str:
    """Return the web page; ``pictures`` holds an SVG file for each picture that it names."""
    environment = Environment(
        loader=FileSystemLoader(templates_dir()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # our own drawings, made from a fixed table: no text of a person is in them
    signs = {
        shape: Markup(
            sign_svg(shape).replace("<svg ", '<svg aria-hidden="true" focusable="false" ')
        )
        for shape in PATHS
    }
    return environment.get_template("debrief.html.j2").render(
        page=page,
        look=look,
        signs=signs,
        pictures={name: _uri("image/svg+xml", data) for name, data in pictures.items()},
        fonts=[
            (weight, _uri("font/woff2", (fonts_dir() / f"SimengineSans-{name}.woff2").read_bytes()))
            for weight, name in ((400, "Regular"), (700, "Bold"))
        ],
    )


def _uri(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{b64encode(data).decode('ascii')}"
