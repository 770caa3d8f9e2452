"""Make a cohort report in a process of its own: what is asked comes in as JSON, files go out.

Rules of this file:

- The address of a database may hold a password, so it comes on standard input and in no argument.
- ``made.json`` is written last: a folder without it holds no report.
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import Any

import orjson

from simengine.cohort_report.build_report import cohort_page
from simengine.cohort_report.cohort_page import report_of
from simengine.coordinator.reports import MADE, PDF, WEB_PAGE
from simengine.private_files import private_folder, write_private
from simengine.report.drawing import svg
from simengine.report.html import render_html
from simengine.report.pdf import render_pdf
from simengine.store import Store
from simengine.store.report_material import material_of


def main() -> None:
    """Read what is asked, make the report, write its files."""
    make(orjson.loads(sys.stdin.buffer.read()))


def make(asked: dict[str, Any]) -> None:
    """Make the report that is asked for."""
    where = asked["where"] if "://" in asked["where"] else Path(asked["where"])
    with Store.open(where) as store:
        material = material_of(
            store,
            title=asked["title"],
            unit=asked["unit"],
            since=date.fromisoformat(asked["since"]),
            until=date.fromisoformat(asked["until"]),
            today=date.fromisoformat(asked["today"]),
            published=asked["published"],
        )
    page, figures = cohort_page(material)
    pictures = {name: svg(figure) for name, figure in figures.items()}
    report = report_of(page)
    folder = Path(asked["folder"])
    private_folder(folder)
    for name, picture in pictures.items():
        write_private(folder / f"{name}.svg", picture)
    write_private(folder / WEB_PAGE, render_html(report, pictures))
    write_private(folder / PDF, render_pdf(report, pictures))
    made = {
        "when": asked["when"],
        "published": asked["published"],
        "title": page.title,
        "subtitle": page.subtitle,
        "notices": page.notices,
        "answers": [
            {
                "question": answer.question,
                "headline": answer.headline,
                "sentences": answer.sentences,
                "picture": answer.picture.picture if answer.picture is not None else "",
                "alt": answer.picture.alt if answer.picture is not None else "",
            }
            for answer in page.answers
        ],
        "pictures": sorted(pictures),
    }
    write_private(folder / MADE, orjson.dumps(made))
