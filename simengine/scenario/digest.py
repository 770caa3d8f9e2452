"""What a scenario or protocol is, in 64 characters: comments and layout don't change it."""

from __future__ import annotations

from hashlib import sha256
from typing import Any


def digest(written: Any) -> str:
    """Return the SHA-256 (hex) of JSON values in canonical form (RFC 8785).

    The values are those of ``positions.as_written``: each scalar is the text in the file.
    """
    import rfc8785

    return sha256(rfc8785.dumps(written)).hexdigest()
