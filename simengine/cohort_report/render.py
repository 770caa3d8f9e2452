"""From the page and its figures to the bytes of both outputs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

from simengine.cohort_report.build import cohort_page
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import CohortPage
from simengine.debrief.html import data_uri, render_template
from simengine.debrief.pdf import accessible, compile_pdf
from simengine.report.drawing import svg

if TYPE_CHECKING:
    from typst import PDFStandard


def render(material: Material) -> tuple[bytes, str]:
    """Return the PDF and the web page."""
    page, figures = cohort_page(material)
    pictures = {name: svg(figure) for name, figure in figures.items()}
    return render_pdf(page, pictures), render_html(page, pictures)


def render_html(page: CohortPage, pictures: Mapping[str, bytes]) -> str:
    """Return the web page; ``pictures`` holds an SVG file for each picture that it names."""
    uris = {name: data_uri("image/svg+xml", data) for name, data in pictures.items()}
    return render_template("cohort.html.j2", page=page, pictures=uris)


def render_pdf(page: CohortPage, pictures: Mapping[str, bytes]) -> bytes:
    """Return the PDF, tagged to PDF/UA-1 where that can be done."""
    drawn = {name: data.decode("utf-8") for name, data in pictures.items()}

    def compiled(said: CohortPage, standards: Sequence[PDFStandard]) -> bytes:
        return compile_pdf("cohort.typ", {"page": asdict(said), "pictures": drawn}, standards)

    return accessible(page, compiled)
