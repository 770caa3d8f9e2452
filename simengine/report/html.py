"""A report as one self-contained web page.

Rules of this file:

- One file: style, typeface and pictures are inside it; nothing is fetched and no script runs.
- Every text is escaped by Jinja2 (``autoescape`` is said outright).
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from simengine.report import look
from simengine.report.blocks import Report, as_data
from simengine.report.look import PATHS, sign_svg
from simengine.resources import fonts_dir, templates_dir


def render_html(report: Report, pictures: Mapping[str, bytes]) -> str:
    """Return the web page; ``pictures`` holds an SVG file for each picture that it names."""
    # our own drawings, made from a fixed table: no text of a person is in them
    signs = {
        shape: Markup(
            sign_svg(shape).replace("<svg ", '<svg aria-hidden="true" focusable="false" ')
        )
        for shape in PATHS
    }
    data = as_data(report)
    return (
        _environment()
        .get_template("report.html.j2")
        .render(
            report=data,
            links=_has_links(data),
            pictures={name: _data_uri("image/svg+xml", data) for name, data in pictures.items()},
            look=look,
            signs=signs,
            fonts=_fonts(),
        )
    )


def _has_links(data: Any) -> bool:
    """Whether any block of a report leads somewhere."""
    if isinstance(data, dict):
        return data.get("kind") == "Link" or any(map(_has_links, data.values()))
    return isinstance(data, list) and any(map(_has_links, data))


@cache
def _environment() -> Environment:
    """Return what knows the templates; each is compiled once in a process."""
    return Environment(
        loader=FileSystemLoader(templates_dir()),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def _fonts() -> tuple[tuple[int, str], ...]:
    """Return the typeface that a page carries: weight and address of each style."""
    return tuple(
        (
            weight,
            _data_uri("font/woff2", (fonts_dir() / f"SimengineSans-{style}.woff2").read_bytes()),
        )
        for weight, style in ((400, "Regular"), (700, "Bold"))
    )


def _data_uri(kind: str, data: bytes) -> str:
    """Return ``data`` of a media type as an address that carries it."""
    return f"data:{kind};base64,{b64encode(data).decode('ascii')}"
