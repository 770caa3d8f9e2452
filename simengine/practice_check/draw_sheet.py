"""Draw a sheet as PDF: from JSON to bytes, in a process of its own."""

from __future__ import annotations

import sys

import orjson

from simengine.practice_check.sheet import Sheet, sheet_of, sheet_report


def sheet_pdf(sheet: Sheet) -> bytes:
    """Return the sheet as PDF/UA-1."""
    from simengine.report.pdf import render_pdf

    return render_pdf(sheet_report(sheet), {})


def main() -> None:
    """Read a sheet as JSON from standard input, write its PDF to standard output."""
    sys.stdout.buffer.write(sheet_pdf(sheet_of(orjson.loads(sys.stdin.buffer.read()))))
