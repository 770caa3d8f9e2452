"""The judge is judged: a file known to be untagged must fail, one made to the standard must pass.

Source: PDF/UA-1 is ISO 14289-1:2014 (from memory). Clause 7.1 asks that all content be tagged or marked as an
artifact, 7.2 for a natural language, 7.18 and 7.21 for alternative text and for embedded fonts.
"""

from pathlib import Path

import pytest
import typst
from matplotlib.figure import Figure

from simengine.resources import fonts_dir
from tests.pdfua.judge import NotJudgedError, pdfua_failures

TAGGED = b"""
#set document(title: "Trial")
#set text(lang: "en", font: "Simengine Sans", fallback: false)
= A heading
Heart rate 104, SpO\xe2\x82\x82 71 %.
#table(columns: 2, table.header[Step][Time], [Dried], [0:41])
"""


def test_an_untagged_plot_fails(tmp_path: Path) -> None:
    figure = Figure()
    figure.subplots().plot([1, 2])
    figure.savefig(tmp_path / "plain.pdf")
    failures = pdfua_failures(tmp_path / "plain.pdf")
    clauses = {failure.split(":")[0] for failure in failures}
    assert {"6.2-1", "7.1-3", "7.1-11"} <= clauses, failures


def test_a_document_made_to_the_standard_passes(tmp_path: Path) -> None:
    path = tmp_path / "tagged.pdf"
    typst.compile(
        TAGGED,
        output=path,
        font_paths=[fonts_dir()],
        ignore_system_fonts=True,
        pdf_standards=["ua-1"],
    )
    assert pdfua_failures(path) == []


def test_the_same_document_without_its_title_fails(tmp_path: Path) -> None:
    path = tmp_path / "untitled.pdf"
    typst.compile(
        TAGGED.replace(b'#set document(title: "Trial")', b""),
        output=path,
        font_paths=[fonts_dir()],
        ignore_system_fonts=True,
    )
    failures = pdfua_failures(path)
    assert any("title" in failure for failure in failures), failures


def test_what_is_no_pdf_is_not_judged(tmp_path: Path) -> None:
    path = tmp_path / "words.pdf"
    path.write_text("These are words.")
    with pytest.raises(NotJudgedError, match="words.pdf"):
        pdfua_failures(path)
