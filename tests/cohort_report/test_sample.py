"""The samples in `reports/` say what the demo says: the report, and a certificate."""

from __future__ import annotations

import re
from pathlib import Path

from simengine.certificate.build_certificate import certificate_report
from simengine.cohort_report.demo.attended import demo_certificate
from simengine.report.blocks import texts
from tests.cohort_report.whole import cohort, made
from tests.debrief.read_back import Read, pdf_text, squeezed

REPORTS = Path(__file__).parents[2] / "reports"
ADVICE = "the sample is not what the demo writes: run `make demo` and commit reports/cohort.*"


def test_the_sample_page_says_what_the_demo_says() -> None:
    read = Read((REPORTS / "cohort.html").read_text(encoding="utf-8"))
    sample = squeezed("".join(read.text)) + "".join(squeezed(alt) for alt in read.alts)
    assert [text for text in texts(made("whole")[0]) if squeezed(text) not in sample] == [], ADVICE


def test_the_sample_pdf_says_what_the_demo_says() -> None:
    sample = pdf_text((REPORTS / "cohort.pdf").read_bytes())
    for answer in made("whole")[0].answers:
        assert squeezed(answer.headline) in sample, ADVICE


def test_the_samples_are_not_large() -> None:
    assert (REPORTS / "cohort.html").stat().st_size < 1_500_000
    assert (REPORTS / "cohort.pdf").stat().st_size < 700_000


def test_the_sample_certificate_says_what_the_demo_says_and_no_score() -> None:
    lines = texts(certificate_report(demo_certificate(cohort())))
    sample = pdf_text((REPORTS / "certificate-of-attendance.pdf").read_bytes())
    advice = "the sample is not what the demo writes: run `make demo` and commit it"
    assert [text for text in lines if squeezed(text) not in sample] == [], advice
    assert len(demo_certificate(cohort()).attended) > 3
    assert not [text for text in lines if re.search(r"\d\s?%|achieved", text)]
