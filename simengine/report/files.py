"""Write a report into a folder, as a web page and a PDF."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from simengine.private_files import private_folder, write_private
from simengine.problems import InputError, Problem


@dataclass(frozen=True, slots=True)
class ReportFiles:
    """Where a report was written."""

    pdf: Path
    html: Path


def write_pair(folder: Path, stem: str, pdf: bytes, html: str) -> ReportFiles:
    """Write both forms of a report. Raises ``InputError`` where the folder can't be written to."""
    files = ReportFiles(folder / f"{stem}.pdf", folder / f"{stem}.html")
    try:
        private_folder(folder)
        write_private(files.pdf, pdf)
        write_private(files.html, html)
    except OSError as error:
        reason = error.strerror or str(error)
        wanted = "a folder that can be written to"
        problem = Problem(str(folder), 0, 0, "", wanted, reason, "folder-unwritable")
        raise InputError([problem]) from error
    return files


def safe_name(text: str) -> str:
    """Return text that is safe in a file's name on any system."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", text).strip("-.") or "unnamed"
