"""Write the cohort report into a folder: the only part of it that touches files."""

from __future__ import annotations

from pathlib import Path

from simengine.cohort_report.material import Material
from simengine.report.files import ReportFiles, safe_name, write_pair


def write_cohort(material: Material, folder: Path | str) -> ReportFiles:
    """Write the report as PDF and web page.

    Files are named by the unit, and by who may read them. Raises ``InputError`` where the folder
    can't be written to.
    """
    from simengine.cohort_report.render import render

    pdf, html = render(material)
    stem = "cohort"
    if material.unit is not None:
        stem += f"-{safe_name(material.unit).lower()}"
    if material.published:
        stem += "-published"
    return write_pair(Path(folder), stem, pdf, html)
