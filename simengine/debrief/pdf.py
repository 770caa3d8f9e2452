"""The page as a tagged PDF (PDF/UA-1 and PDF/A-2a) by one fixed Typst template.

Rules of this file:

- Data goes in as JSON, never as template text, so that no text of a person can become markup.
- The machine's fonts are not used: the same page gives the same bytes everywhere.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Protocol, TypeVar

import typst

from simengine.debrief.page import DebriefPage
from simengine.report import look
from simengine.report.look import PATHS, sign_svg
from simengine.resources import fonts_dir, templates_dir

if TYPE_CHECKING:
    from typst import PDFStandard


NOT_ACCESSIBLE = (
    "This PDF could not be made to the standard for accessible documents (PDF/UA). "
    "The web page beside it is accessible."
)


def render_pdf(page: DebriefPage, pictures: Mapping[str, bytes]) -> bytes:
    """Return the PDF; ``pictures`` holds an SVG file for each picture that it names.

    Where the standard refuses (a character that no shipped font has …) the PDF is made without
    it, since people wait for their debrief, and says so among its notices.
    """
    return accessible(page, lambda said, standards: _compiled(said, pictures, standards))


class _Noticing(Protocol):
    """A page that can say what is odd about it: a dataclass with ``notices``."""

    @property
    def notices(self) -> tuple[str, ...]: ...


P = TypeVar("P", bound=_Noticing)


def accessible(page: P, compiled: Callable[[P, Sequence[PDFStandard]], bytes]) -> bytes:
    """Return the page as compiled to the standards, or without them, which it then says."""
    try:
        return compiled(page, ("ua-1", "a-2a"))
    except typst.TypstError:
        said = replace(page, notices=(*page.notices, NOT_ACCESSIBLE))  # type: ignore[type-var]
        return compiled(said, ())


def _compiled(
    page: DebriefPage, pictures: Mapping[str, bytes], standards: Sequence[PDFStandard]
) -> bytes:
    data = {
        "page": asdict(page),
        "pictures": {name: svg.decode("utf-8") for name, svg in pictures.items()},
        "heights": {name: _height(svg) for name, svg in pictures.items()},
        "signs": {shape: sign_svg(shape) for shape in PATHS},
    }
    return compile_pdf("debrief.typ", data, standards)


def compile_pdf(
    template: str, data: Mapping[str, object], standards: Sequence[PDFStandard] = ("ua-1", "a-2a")
) -> bytes:
    """Return a report of ours as a PDF: every template gets the look beside its own data.

    Raises ``typst.TypstError`` where the result would not meet ``standards``.
    """
    colours = {name: getattr(look, name) for name in ("INK", "SOFT", "LINE", "ACCENT", "WASH")}
    root = templates_dir()
    return typst.compile(
        root / template,
        root=root,
        font_paths=[fonts_dir()],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps({**data, "look": colours}, ensure_ascii=False)},
        pdf_standards=list(standards),
    )


def _height(svg: bytes) -> float:
    """Return the height in points that a picture of ours states."""
    stated = re.search(rb'<svg [^>]*height="([0-9.]+)pt"', svg)
    return float(stated.group(1)) if stated else 0.0
