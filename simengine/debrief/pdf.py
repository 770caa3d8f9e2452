"""The page as a tagged PDF (PDF/UA-1 and PDF/A-2a) by one fixed Typst template.

Rules of this file:

- Data goes in as JSON, never as template text, so that no text of a person can become markup.
- The machine's fonts are not used: the same page gives the same bytes everywhere.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import asdict

import typst

from simengine.debrief import look
from simengine.debrief.look import PATHS, sign_svg
from simengine.debrief.page import DebriefPage
from simengine.resources import fonts_dir, templates_dir


def render_pdf(page: DebriefPage, pictures: Mapping[str, bytes]) -> bytes:
    """Return the PDF; ``pictures`` holds an SVG file for each picture that it names.

    Raises ``typst.TypstError`` where the result would not be accessible.
    """
    data = {
        "page": asdict(page),
        "pictures": {name: svg.decode("utf-8") for name, svg in pictures.items()},
        "heights": {name: _height(svg) for name, svg in pictures.items()},
        "signs": {shape: sign_svg(shape) for shape in PATHS},
    }
    return compile_pdf("debrief.typ", data)


def compile_pdf(template: str, data: Mapping[str, object]) -> bytes:
    """Return a report of ours as a PDF: every template gets the look beside its own data.

    Raises ``typst.TypstError`` where the result would not be accessible.
    """
    colours = {name: getattr(look, name) for name in ("INK", "SOFT", "LINE", "ACCENT", "WASH")}
    root = templates_dir()
    return typst.compile(
        root / template,
        root=root,
        font_paths=[fonts_dir()],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps({**data, "look": colours}, ensure_ascii=False)},
        pdf_standards=["ua-1", "a-2a"],
    )


def _height(svg: bytes) -> float:
    """Return the height in points that a picture of ours states."""
    stated = re.search(rb'<svg [^>]*height="([0-9.]+)pt"', svg)
    return float(stated.group(1)) if stated else 0.0
