"""A bundle's files, read from the zip without trusting it.

Rules of this file:

- Nothing is written to a disk here, and no name in the zip is ever used as a path unless it is
  one that a bundle has.
- Refused: names that lead elsewhere, names that a bundle does not have, a name twice, links,
  encrypted files, more files or bytes than a bundle can have.
- Sizes are counted while reading, not believed.
"""

from __future__ import annotations

import lzma
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from simengine.problems import InputError, Problem

MOST_FILES = 40
MOST_BYTES = 64 * 2**20
"""All files of a bundle together, unpacked; one of ten minutes has about 1 MB."""

_NAMES = re.compile(
    r"manifest\.json|log\.session\.jsonl|scenario\.yaml|score\.json|debrief\.(html|pdf)"
    r"|(vocabulary|protocols)/[A-Za-z0-9_][A-Za-z0-9_.-]{0,99}\.yaml"
)

_DAMAGED = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, EOFError, OSError, ValueError, struct.error,
    OverflowError, RuntimeError,
)  # fmt: skip
"""What the zip library raises where a byte of an archive is not what it was."""


def unpacked(path: Path) -> dict[str, bytes]:
    """Return the files of a bundle by name. Raises ``InputError`` with everything wrong."""
    try:
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
            wrong = list(_wrong(path, entries))
            if wrong:
                raise InputError(wrong)
            return _read(path, archive, entries)
    except FileNotFoundError:
        raise InputError([problem(path, "a bundle", "no such file", "missing")]) from None
    except IsADirectoryError:
        raise InputError([problem(path, "a bundle", "a folder", "folder")]) from None
    except _DAMAGED as error:
        told = getattr(error, "strerror", None) or str(error) or "a broken one"
        raise InputError([problem(path, "a whole zip file", told, "not-a-zip")]) from None


def problem(path: Path, expected: str, found: str, code: str, where: str = "") -> Problem:
    """Return a complaint about a bundle; ``where``: the file in it."""
    return Problem(str(path), 0, 0, where, expected, found, code)


def _wrong(path: Path, entries: Sequence[zipfile.ZipInfo]) -> Iterator[Problem]:
    if len(entries) > MOST_FILES:
        found = f"{len(entries):,}"
        yield problem(path, f"at most {MOST_FILES} files in a bundle", found, "too-many-files")
        return
    size = sum(entry.file_size for entry in entries)
    if size > MOST_BYTES:
        yield problem(path, f"at most {_mb(MOST_BYTES)} unpacked", _mb(size), "too-large")
    seen: set[str] = set()
    for entry in entries:
        name = entry.filename
        told = _told(name)
        if name.casefold() in seen:
            yield problem(path, "each file once", f"{told} twice", "name-twice")
        seen.add(name.casefold())
        if name.startswith(("/", "\\")) or ".." in re.split(r"[/\\]", name) or ":" in name:
            yield problem(path, "files inside the bundle", f"the path {told}", "leads-elsewhere")
        elif not _NAMES.fullmatch(name):
            yield problem(path, "only what a bundle has", told, "not-of-a-bundle")
        elif entry.flag_bits & 0x1:
            yield problem(path, "a file that is not encrypted", told, "encrypted")
        elif stat.S_ISLNK(entry.external_attr >> 16):
            yield problem(path, "a file", f"the link {told}", "link")


def _read(
    path: Path, archive: zipfile.ZipFile, entries: Sequence[zipfile.ZipInfo]
) -> dict[str, bytes]:
    files: dict[str, bytes] = {}
    left = MOST_BYTES
    for entry in entries:
        with archive.open(entry) as opened:
            content = opened.read(left + 1)
        left -= len(content)
        if left < 0:
            found = "more than that"
            raise InputError(
                [problem(path, f"at most {_mb(MOST_BYTES)} unpacked", found, "too-large")]
            )
        files[entry.filename] = content
    return files


def _told(name: str) -> str:
    return repr(name if len(name) <= 80 else f"{name[:77]}…")


def _mb(size: int) -> str:
    return f"{size / 2**20:,.0f} MB"
