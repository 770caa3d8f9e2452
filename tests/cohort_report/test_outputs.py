"""Web page and PDF say what the page says, all of it; they are whole, safe and accessible."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from simengine.cohort_report.cohort_page import report_of
from simengine.cohort_report.write_report import write_cohort
from simengine.problems import InputError
from simengine.report.blocks import map_text, texts
from simengine.report.html import render_html
from simengine.report.pdf import NOT_ACCESSIBLE, render_pdf
from simengine.report.printable import clean
from tests.cohort_report.whole import made, material, pictures
from tests.debrief.read_back import Read, pdf_alts, pdf_pages, pdf_text, squeezed
from tests.pdfua.judge import pdfua_failures

KINDS = ("whole", "published", "few", "nothing")


@cache
def html_of(kind: str) -> str:
    return render_html(report_of(made(kind)[0]), pictures(kind))


@cache
def pdf_of(kind: str) -> bytes:
    return render_pdf(report_of(made(kind)[0]), pictures(kind))


@pytest.mark.parametrize("kind", KINDS)
def test_every_text_of_the_page_stands_in_both_outputs(kind: str) -> None:
    page, _ = made(kind)
    read = Read(html_of(kind))
    web = squeezed("".join(read.text)) + "".join(squeezed(alt) for alt in read.alts)
    paper = pdf_text(pdf_of(kind))
    paper += "".join(squeezed(alt) for alt in pdf_alts(pdf_of(kind)))
    assert [text for text in texts(page) if squeezed(text) not in web] == []
    # a paragraph may go on over the page, with the running head between its lines
    missing = [word for text in texts(page) for word in text.split() if squeezed(word) not in paper]
    assert missing == []


@pytest.mark.parametrize("kind", ["whole", "few"])
def test_the_pdf_is_accessible_by_an_independent_judge(kind: str, tmp_path: Path) -> None:
    # ISO 14289-1 (PDF/UA-1) as veraPDF's own rules read it
    file = tmp_path / "cohort.pdf"
    file.write_bytes(pdf_of(kind))
    assert pdfua_failures(file) == []
    assert squeezed(NOT_ACCESSIBLE) not in pdf_text(pdf_of(kind))


def test_the_four_answers_fit_on_the_first_page_of_the_pdf() -> None:
    first = pdf_pages(pdf_of("whole"))[0]
    for answer in made("whole")[0].answers:
        assert squeezed(answer.question) in first
        assert squeezed(answer.headline) in first
        for sentence in answer.sentences:
            assert squeezed(sentence) in first


@pytest.mark.parametrize("kind", KINDS)
def test_the_web_page_is_whole_and_needs_nothing_from_outside(kind: str) -> None:
    read = Read(html_of(kind))
    assert read.faults == []
    tags = [tag for tag, _ in read.tags]
    assert "script" not in tags
    assert "link" not in tags
    for tag, known in read.tags:
        source = known.get("src") or known.get("href") or ""
        assert source.startswith(("data:", "#")) or not source, (tag, source[:60])
    assert set(re.findall(r"url\(\s*[\"']?([^\"')\s]{0,5})", html_of(kind))) == {"data:"}
    # WCAG 2.2: 3.1.1 language, 1.1.1 alternatives, 1.3.1 headings and tables
    assert dict(read.tags)["html"]["lang"] == "en-GB"
    assert all(len(alt) > 40 for alt in read.alts)
    assert read.headings[0] == 1
    assert read.headings.count(1) == 1
    assert all(
        after <= before + 1 for before, after in zip(read.headings, read.headings[1:], strict=False)
    )
    assert all(known.get("scope") for tag, known in read.tags if tag == "th")


def test_text_of_people_never_becomes_markup() -> None:
    hostile = '<script>alert("x")</script> {{ 7 * 7 }} #read("/etc/passwd") $x$ *b*'
    page, figures = made("few")
    page = map_text(page, lambda text: clean(f"{text} {hostile}"))
    assert figures
    read = Read(render_html(report_of(page), pictures("few")))
    assert "script" not in [tag for tag, _ in read.tags]
    assert "{{ 7 * 7 }}" in "".join(read.text)
    paper = pdf_text(render_pdf(report_of(page), pictures("few")))
    assert squeezed('#read("/etc/passwd")') in paper
    assert "root:" not in paper


def test_both_outputs_repeat_byte_for_byte() -> None:
    page, _ = made("few")
    assert render_html(report_of(page), pictures("few")) == html_of("few")
    assert render_pdf(report_of(page), pictures("few")) == pdf_of("few")


@pytest.mark.parametrize("width", [1200, 390])
def test_the_web_page_passes_the_accessibility_rules_and_fits_its_window(
    chromium: Browser, tmp_path: Path, width: int
) -> None:
    file = tmp_path / "cohort.html"
    file.write_text(html_of("whole"), encoding="utf-8")
    page = chromium.new_page(viewport={"width": width, "height": 900})
    page.goto(file.as_uri())
    violations = [
        f"{violation['id']}: {violation['help']}: {violation['nodes'][0]['html'][:120]}"
        for violation in Axe().run(page).response["violations"]
    ]
    assert violations == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1")
    page.close()


def test_the_files_are_named_by_unit_and_reader(tmp_path: Path) -> None:
    nothing = material("nothing")
    names = {
        write_cohort(given, tmp_path).pdf.name
        for given in (
            nothing,
            replace(nothing, unit="Labour ward / 2"),
            replace(nothing, unit="Labour ward / 2", published=True),
        )
    }
    assert names == {"cohort.pdf", "cohort-labour-ward-2.pdf", "cohort-labour-ward-2-published.pdf"}


def test_a_folder_that_can_t_be_written_to_is_said(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("")
    with pytest.raises(InputError, match="a folder that can be written to"):
        write_cohort(material("nothing"), file)
