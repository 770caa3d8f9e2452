"""Draw a certificate of attendance as PDF: from JSON to bytes, in a process of its own."""

from __future__ import annotations

import sys
from dataclasses import asdict
from datetime import date

import orjson

from simengine.certificate.build_certificate import Attended, Certificate, certificate_report


def certificate_pdf(certificate: Certificate) -> bytes:
    """Return the certificate as PDF/UA-1."""
    from simengine.report.pdf import render_pdf

    return render_pdf(certificate_report(certificate), {})


def as_json(certificate: Certificate) -> bytes:
    """Return what ``main`` draws from."""
    return orjson.dumps(asdict(certificate))


def from_json(told: bytes) -> Certificate:
    """Return the certificate of ``as_json``."""
    given = orjson.loads(told)
    attended = tuple(
        Attended(**{**part, "day": date.fromisoformat(part["day"])}) for part in given["attended"]
    )
    return Certificate(
        **{**given, "issued": date.fromisoformat(given["issued"]), "attended": attended}
    )


def main() -> None:
    """Read a certificate as JSON from standard input, write its PDF to standard output."""
    sys.stdout.buffer.write(certificate_pdf(from_json(sys.stdin.buffer.read())))
