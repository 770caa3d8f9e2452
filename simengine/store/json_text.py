"""JSON as the store keeps it."""

from __future__ import annotations

import json


def as_json_text(data: object) -> str:
    """Return data as JSON without needless spaces, as log files have it."""
    return json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
