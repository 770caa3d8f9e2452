"""The certificate of attendance: what stands on it, and that its PDF is accessible."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from simengine.certificate.build_certificate import (
    Attended,
    Certificate,
    certificate_report,
    length_words,
)
from simengine.certificate.draw_certificate import as_json, certificate_pdf, from_json
from simengine.report.blocks import texts
from tests.pdfua.judge import pdfua_failures

WHOLE = Certificate(
    "k7f3m2",
    "Zoë Ångström-Example",
    "nurse · birth unit",
    date(2026, 3, 1),
    "Simulation centre, Example Hospital",
    tuple(
        Attended(date(2026, 1, 1 + number), "A training with a long title " * 3, 600.0, "room 1")
        for number in range(28)
    ),
)
BARE = Certificate("k7f3m2", "", "", date(2026, 3, 1), "", WHOLE.attended[:1])


@pytest.mark.parametrize("certificate", [WHOLE, BARE], ids=["whole", "bare"])
def test_the_pdf_is_accessible_by_an_independent_judge(
    certificate: Certificate, tmp_path: Path
) -> None:
    # ISO 14289-1 (PDF/UA-1) as veraPDF's own rules read it
    file = tmp_path / "certificate.pdf"
    file.write_bytes(certificate_pdf(certificate))
    assert pdfua_failures(file) == []


def test_a_certificate_travels_as_json_and_its_pdf_is_the_same_every_time() -> None:
    assert from_json(as_json(WHOLE)) == WHOLE
    assert certificate_pdf(WHOLE) == certificate_pdf(from_json(as_json(WHOLE)))


def test_trainings_stand_in_order_of_their_days_with_the_whole_time() -> None:
    attended = (WHOLE.attended[1], WHOLE.attended[0])
    lines = texts(certificate_report(Certificate("c", "n", "a", date(2026, 3, 1), "i", attended)))
    assert "2 trainings, 20 min" in lines
    assert "1 January 2026 to 2 January 2026" in lines
    assert lines.index("1 January 2026") < lines.index("2 January 2026")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "1 min"), (89, "1 min"), (2700, "45 min"), (3600, "1 h"), (5400, "1 h 30 min")],
)
def test_lengths_are_told_to_the_minute(seconds: float, words: str) -> None:
    assert length_words(seconds) == words
