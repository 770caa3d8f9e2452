"""What a scenario or protocol is, in 64 characters: comments and layout don't change it.

Rules of this file:

- What is only checked is never run, and needs no digest: under ``not_stamped`` there is none, which
  saves a cold `check` a twentieth of its time.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

_stamping: ContextVar[bool] = ContextVar("stamping", default=True)


def digest(written: Any) -> str:
    """Return the SHA-256 (hex) of JSON values in canonical form (RFC 8785).

    The values are those of ``positions.as_written``: each scalar is the text in the file.
    """
    if not _stamping.get():
        return ""
    from hashlib import sha256

    import rfc8785

    return sha256(rfc8785.dumps(written)).hexdigest()


@contextmanager
def not_stamped() -> Iterator[None]:
    """Read files without working out what they are in 64 characters."""
    before = _stamping.set(False)
    try:
        yield
    finally:
        _stamping.reset(before)
