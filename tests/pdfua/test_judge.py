"""The judge is judged: a file known to be untagged must fail, one made to the standard must pass.

Source: ISO 14289-1:2014, PDF/UA-1 (from memory): 6.2 and 7.1 ask for a tagged document with a
title, all of whose content is tagged or marked as an artifact.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import typst
from matplotlib.figure import Figure

from simengine.resources import fonts_dir
from tests.pdfua.judge import NotJudgedError, pdfua_failures

if TYPE_CHECKING:
    from typst import PDFStandard

TITLE = '#set document(title: "Trial")'
WORDS = """
#set text(lang: "en", font: "Simengine Sans", fallback: false)
= A heading
Heart rate 104, SpO₂ 71 %.
#table(columns: 2, table.header[Step][Time], [Dried], [0:41])
"""


def set_in_type(source: str, target: Path, standards: list["PDFStandard"]) -> Path:
    written = target.with_suffix(".typ")
    written.write_text(source, encoding="utf-8")
    typst.compile(
        written,
        output=target,
        font_paths=[fonts_dir()],
        ignore_system_fonts=True,
        pdf_standards=standards,
    )
    return target


def test_an_untagged_plot_fails(tmp_path: Path) -> None:
    figure = Figure()
    figure.subplots().plot([1, 2])
    figure.savefig(tmp_path / "plain.pdf")
    failures = pdfua_failures(tmp_path / "plain.pdf")
    clauses = {failure.split(":")[0] for failure in failures}
    assert {"6.2-1", "7.1-3", "7.1-11"} <= clauses, failures


def test_a_document_made_to_the_standard_passes(tmp_path: Path) -> None:
    assert pdfua_failures(set_in_type(TITLE + WORDS, tmp_path / "tagged.pdf", ["ua-1"])) == []


def test_the_same_document_without_its_title_fails(tmp_path: Path) -> None:
    failures = pdfua_failures(set_in_type(WORDS, tmp_path / "untitled.pdf", []))
    assert any("title" in failure for failure in failures), failures


def test_what_is_no_pdf_is_not_judged(tmp_path: Path) -> None:
    path = tmp_path / "words.pdf"
    path.write_text("These are words.")
    with pytest.raises(NotJudgedError, match=r"words\.pdf: not judged"):
        pdfua_failures(path)
