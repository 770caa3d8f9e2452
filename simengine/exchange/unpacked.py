"""A bundle's files, read from the zip without trusting it.

Rules of this file:

- Nothing is written to a disk here, and no name in the zip is ever used as a path unless it is
  one that a bundle has.
- Refused: names that lead elsewhere, names that a bundle does not have, a name twice, links,
  encrypted files, ways of packing other than the usual two, more files or bytes than a bundle
  can have (``simengine.limits``).
- Sizes are counted while reading, not believed.
"""

from __future__ import annotations

import io
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from simengine.limits import BUNDLE_BYTES, BUNDLE_FILES, read_at_most
from simengine.problems import InputError, Problem

_NAMES = re.compile(
    r"manifest\.json|log\.session\.jsonl|scenario\.yaml|score\.json|debrief\.(html|pdf)"
    r"|(vocabulary|equipment|physiology|protocols)/[A-Za-z0-9_][A-Za-z0-9_.-]{0,99}\.yaml"
)

_END_OF_LIST = b"PK\x05\x06"
_LARGE_FILE = b"PK\x06\x07"
_LISTED_BYTES = 500
"""More than one of our files takes in the list, its name of up to 116 letters included."""
_WAYS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""Others may ask for gigabytes of memory by a header of a few bytes."""

_DAMAGED = (
    zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, struct.error,
    OverflowError, RuntimeError,
)  # fmt: skip
"""What the zip library raises where a byte of an archive is not what it was."""


def unpacked(path: Path) -> dict[str, bytes]:
    """Return the files of a bundle by name. Raises ``InputError`` with everything wrong."""
    try:
        content = read_at_most(path, BUNDLE_BYTES)
    except FileNotFoundError:
        raise InputError([problem(path, "a bundle", "no such file", "missing")]) from None
    except IsADirectoryError:
        raise InputError([problem(path, "a bundle", "a folder", "folder")]) from None
    except OSError as error:
        words = (error.strerror or "an error while reading").lower()
        raise InputError([problem(path, "a bundle", words, "unreadable")]) from None
    if content is None:
        excess = "a larger file"
        raise InputError([problem(path, f"at most {_mb(BUNDLE_BYTES)}", excess, "too-large")])
    if _lists_too_much(content):
        expected = f"at most {BUNDLE_FILES} files in a bundle"
        raise InputError([problem(path, expected, "a list of more", "too-many-files")])
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
            wrong = list(_wrong(path, entries))
            if wrong:
                raise InputError(wrong)
            return _read(path, archive, entries)
    except _DAMAGED as error:
        damage = getattr(error, "strerror", None) or str(error) or "a broken one"
        raise InputError([problem(path, "a whole zip file", damage, "not-a-zip")]) from None


def _lists_too_much(content: bytes) -> bool:
    """Whether the list at a zip file's end is longer than a bundle's; reading it takes memory.

    Where the list stands and how long it is: APPNOTE.TXT, 4.3.14 to 4.3.16 (the file format as its
    makers publish it). The form for files beyond 4 GB counts as too long.
    """
    at = content.rfind(_END_OF_LIST)
    if at < 0 or len(content) < at + 22:
        return False
    (length,) = struct.unpack_from("<L", content, at + 12)
    return length > BUNDLE_FILES * _LISTED_BYTES or content[at - 20 : at - 16] == _LARGE_FILE


def problem(path: Path, expected: str, found: str, code: str, where: str = "") -> Problem:
    """Return a complaint about a bundle; ``where``: the file in it."""
    return Problem(str(path), 0, 0, where, expected, found, code)


def _wrong(path: Path, entries: Sequence[zipfile.ZipInfo]) -> Iterator[Problem]:
    if len(entries) > BUNDLE_FILES:
        number = f"{len(entries):,}"
        yield problem(path, f"at most {BUNDLE_FILES} files in a bundle", number, "too-many-files")
        return
    size = sum(entry.file_size for entry in entries)
    if size > BUNDLE_BYTES:
        yield problem(path, f"at most {_mb(BUNDLE_BYTES)} unpacked", _mb(size), "too-large")
    seen: set[str] = set()
    for entry in entries:
        name = entry.filename
        quoted = _told(name)
        if name.casefold() in seen:
            yield problem(path, "each file once", f"{quoted} twice", "name-twice")
        seen.add(name.casefold())
        if name.startswith(("/", "\\")) or ".." in re.split(r"[/\\]", name) or ":" in name:
            yield problem(path, "files inside the bundle", f"the path {quoted}", "leads-elsewhere")
        elif not _NAMES.fullmatch(name):
            yield problem(path, "only what a bundle has", quoted, "not-of-a-bundle")
        elif entry.flag_bits & 0x1:
            yield problem(path, "a file that is not encrypted", quoted, "encrypted")
        elif entry.compress_type not in _WAYS:
            yield problem(
                path, "a file stored or deflated", f"{quoted}, packed otherwise", "packing"
            )
        elif stat.S_ISLNK(entry.external_attr >> 16):
            yield problem(path, "a file", f"the link {quoted}", "link")


def _read(
    path: Path, archive: zipfile.ZipFile, entries: Sequence[zipfile.ZipInfo]
) -> dict[str, bytes]:
    files: dict[str, bytes] = {}
    left = BUNDLE_BYTES
    for entry in entries:
        with archive.open(entry) as opened:
            content = opened.read(left + 1)
        left -= len(content)
        if left < 0:
            excess = "more than that"
            raise InputError(
                [problem(path, f"at most {_mb(BUNDLE_BYTES)} unpacked", excess, "too-large")]
            )
        files[entry.filename] = content
    return files


def _told(name: str) -> str:
    return repr(name if len(name) <= 80 else f"{name[:77]}…")


def _mb(size: int) -> str:
    return f"{size / 2**20:,.0f} MB"
