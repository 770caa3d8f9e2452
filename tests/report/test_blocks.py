"""Every kind of block is drawn on page and paper, and says the same on both."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import get_args

import pytest

from simengine.report.blocks import (
    Block,
    Bullets,
    Checklist,
    Fact,
    Facts,
    Grid,
    Group,
    Heading,
    Link,
    Listing,
    Paragraph,
    Picture,
    Question,
    Report,
    Section,
    Sides,
    Sign,
    Signature,
    Signs,
    Table,
    texts,
)
from simengine.report.html import render_html
from simengine.report.pdf import render_pdf, size_of
from simengine.resources import templates_dir
from tests.debrief.read_back import Read, pdf_alts, pdf_text, squeezed
from tests.pdfua.judge import pdfua_failures

DRAWN = {
    "square": b'<svg xmlns="http://www.w3.org/2000/svg" width="40pt" height="40pt" '
    b'viewBox="0 0 40 40"><rect width="40" height="40"/></svg>',
    "sheet": b'<svg xmlns="http://www.w3.org/2000/svg" width="1000" height="400" '
    b'viewBox="0 0 1000 400"><rect width="1000" height="400"/></svg>',
}
ALT = "A square, as large in each direction, filled with ink"
ONE_OF_EACH: tuple[Block, ...] = (
    Grid((Section("In the grid", (Paragraph("short words"),)),)),
    Section(
        "A section",
        (
            Heading(3, "A heading below"),
            Paragraph("plain words"),
            Paragraph("words beside", "soft"),
            Paragraph("words not to miss", "strong"),
            Bullets(("first line", "second line")),
            Facts((Fact("Label", "told", more=("told again",), source="whose"),)),
            Signs((Sign("disc", "on time"), Sign("ring", "missed"))),
            Signature("Signed by"),
            Question("What happened?"),
            Link("Ask for more", "more?of=this"),
            Checklist(("to be ticked",)),
            Checklist(("to be ticked with a word",), notes=True),
            Checklist(tuple(f"of many, {number}" for number in range(9))),
            Group((Paragraph("a point made"),), "point"),
            Group((Paragraph("on a wash"),), "wash"),
            Group((Paragraph("on a card"),), "card"),
            Sides((Heading(4, "Left"),), (Facts((Fact("Right", "hand"),)), Signature("Here"))),
        ),
        breaks="after",
    ),
    Listing("A listing", "leads in", ("one line", "another line")),
    Listing("A short listing", "", ("the only line",)),
    Table("A table", ("What", "Who"), (("row", ""), ("other row", "")), "table lead", "table note"),
    Section("On a page of its own", (Paragraph("alone"),), breaks="before"),
    Picture("square", "A picture", ("Look at it.",), ALT, "picture note"),
    Picture("sheet", "A large picture", ("Look closely.",), ALT, own_page=True),
)
REPORT = Report(
    lang="en-GB",
    day=(2026, 1, 31),
    banner="Simulation: training only",
    title="One of each",
    subtitle="every kind of block",
    caution="Local guidelines decide.",
    notices=("Something is odd.",),
    blocks=ONE_OF_EACH,
)


def kinds(parts: object) -> set[type]:
    classes: set[type] = set()
    for part in parts if isinstance(parts, tuple) else ():
        classes.add(type(part))
        for name in ("blocks", "left", "right", "sections"):
            classes |= kinds(getattr(part, name, ()))
    return classes


def test_one_of_each_is_here() -> None:
    assert kinds(ONE_OF_EACH) == set(get_args(Block))


def test_every_text_stands_on_page_and_paper() -> None:
    read = Read(render_html(REPORT, DRAWN))
    assert read.faults == []
    web = squeezed("".join(read.text)) + "".join(map(squeezed, read.alts))
    pdf = render_pdf(REPORT, DRAWN)
    paper = pdf_text(pdf) + "".join(map(squeezed, pdf_alts(pdf)))
    for text in texts(REPORT):
        assert squeezed(text) in web
        assert squeezed(text) in paper


def test_the_pdf_is_accessible_by_an_independent_judge(tmp_path: Path) -> None:
    # ISO 14289-1 (PDF/UA-1) as veraPDF's own rules read it
    file = tmp_path / "each.pdf"
    file.write_bytes(render_pdf(REPORT, DRAWN))
    assert pdfua_failures(file) == []


def test_headings_go_down_one_level_at_a_time() -> None:
    levels = Read(render_html(REPORT, DRAWN)).headings
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_one_pair_of_templates_draws_every_report() -> None:
    names = sorted(file.name for file in templates_dir().iterdir())
    assert names == ["report.html.j2", "report.typ", "style.css.j2"]


def test_a_report_of_no_day_has_none() -> None:
    assert b"%PDF" in render_pdf(replace(REPORT, day=None), DRAWN)[:8]


@pytest.mark.parametrize(("name", "size"), [("square", (40.0, 40.0)), ("sheet", (750.0, 300.0))])
def test_a_drawing_states_its_size(name: str, size: tuple[float, float]) -> None:
    # CSS Values and Units Level 4, 6.2: a pixel is 1/96 inch, a point 1/72
    assert size_of(DRAWN[name]) == size
