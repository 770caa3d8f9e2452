"""From the page and its figures to the bytes of both outputs."""

from __future__ import annotations

from simengine.cohort_report.build_report import cohort_page
from simengine.cohort_report.cohort_page import report_of
from simengine.cohort_report.material import Material
from simengine.report.drawing import svg
from simengine.report.html import render_html
from simengine.report.pdf import render_pdf


def render(material: Material) -> tuple[bytes, str]:
    """Return the PDF and the web page."""
    page, figures = cohort_page(material)
    report = report_of(page)
    pictures = {name: svg(figure) for name, figure in figures.items()}
    return render_pdf(report, pictures), render_html(report, pictures)
