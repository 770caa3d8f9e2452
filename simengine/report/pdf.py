"""A report as a tagged PDF (PDF/UA-1 and PDF/A-2a) by one fixed Typst template.

Rules of this file:

- Data goes in as JSON, never as template text, so that no text of a person can become markup.
- The machine's fonts are not used: the same report gives the same bytes everywhere.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import typst

from simengine.report import look
from simengine.report.blocks import Report, as_data
from simengine.report.look import PATHS, sign_svg
from simengine.resources import fonts_dir, templates_dir

if TYPE_CHECKING:
    from typst import PDFStandard


NOT_ACCESSIBLE = (
    "This PDF could not be made to the standard for accessible documents (PDF/UA). "
    "The web page beside it is accessible."
)
_POINTS = {"pt": 1.0, "px": 0.75, "": 0.75}
"""Points to each unit in which a drawing states its size."""


def render_pdf(report: Report, pictures: Mapping[str, bytes]) -> bytes:
    """Return the PDF; ``pictures`` holds an SVG file for each picture that it names.

    Where the standard refuses (a character that no shipped font has …) the PDF is made without
    it, since people wait for their report, and says so among its notices.
    """
    try:
        return _compiled(report, pictures, ("ua-1", "a-2a"))
    except typst.TypstError:
        noticed = replace(report, notices=(*report.notices, NOT_ACCESSIBLE))
        return _compiled(noticed, pictures, ())


def _compiled(
    report: Report, pictures: Mapping[str, bytes], standards: Sequence[PDFStandard]
) -> bytes:
    data = {
        "report": as_data(report),
        "pictures": {name: svg.decode("utf-8") for name, svg in pictures.items()},
        "sizes": {name: size_of(svg) for name, svg in pictures.items()},
        "signs": {shape: sign_svg(shape) for shape in PATHS},
        "look": {name: getattr(look, name) for name in ("INK", "SOFT", "LINE", "ACCENT", "WASH")},
    }
    root = templates_dir()
    return typst.compile(
        root / "report.typ",
        root=root,
        font_paths=[fonts_dir()],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        pdf_standards=list(standards),
    )


def size_of(svg: bytes) -> tuple[float, float]:
    """Return width and height in points that a drawing of ours states."""
    opening = re.search(rb"<svg [^>]*>", svg)
    sides = []
    for side in (b"width", b"height"):
        stated = opening and re.search(rb"\b" + side + rb'="([0-9.]+)(pt|px|)"', opening[0])
        assert stated, "a drawing of ours states its size"
        sides.append(float(stated[1]) * _POINTS[stated[2].decode()])
    return sides[0], sides[1]
