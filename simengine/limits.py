"""How much is read of anything that people or other programs send: every such limit.

Rules of this file:

- A limit is many times what real use needs; what real use needs stands beside it. What is larger is
  refused with a sentence that names the file and the limit, and other files go on.
- Sizes are counted while reading and never believed, since a file may grow, or be a device.
- ``docs/limits.md`` is the same list for people, which a test holds to this file.
"""

from __future__ import annotations

from pathlib import Path

YAML_BYTES = 1_000_000
"""A scenario, protocol, vocabulary, play or text: the longest shipped has 23 kB."""
YAML_NODES = 50_000
"""Keys and values of one such file, aliases as often as they are used."""
LEVELS = 50
"""How deep values may be nested, the innermost counted: no format of ours needs a third of it."""
ACCENTS = 30
"""On one letter, as in text that can be composed safely (Unicode Standard Annex 15)."""

TABLE_BYTES = 20_000_000
"""A CSV file: the moves of all staff of a region over ten years take about 5 MB."""
TABLE_ROWS = 100_000
TABLE_LINES = 1_000_000
"""Line ends, also those of empty rows and inside cells."""
TABLE_COLUMNS = 200
TABLE_SEPARATORS = 4_000_000
"""Cells of a file, as good as: ``TABLE_ROWS`` rows of 40, where no table of ours has 20."""

LOG_BYTES = 64_000_000
"""A session's log: the longest shipped has 23 kB."""
LOG_ENTRIES = 100_000
"""One each second for a day and a night are 86,400."""
LINE_BYTES = 1_000_000
"""One entry of a log."""

BUNDLE_FILES = 40
BUNDLE_BYTES = 64 * 2**20
"""A bundle, and all its files unpacked; one of ten minutes has about 1 MB."""

BODY_BYTES = 256 * 1024
"""What the console takes at once: a touch has 500 bytes, a roster for the page some 100 kB."""

_PART_BYTES = 2**20


def megabytes(size: int) -> str:
    """Return a limit of whole megabytes for a person."""
    return f"{size // 1_000_000:,} MB"


def read_at_most(file: Path, most: int) -> bytes | None:
    """Return what is in a file; ``None`` where it has more than ``most`` bytes.

    Raises ``OSError`` where the file can't be read.
    """
    parts: list[bytes] = []
    size = 0
    with file.open("rb") as opened:
        while part := opened.read(_PART_BYTES):
            size += len(part)
            if size > most:
                return None
            parts.append(part)
    return b"".join(parts)
