"""A score card as it is kept: JSON, compressed, since it is large and seldom read."""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping
from typing import Any


def packed_card(card: Mapping[str, Any]) -> bytes:
    """Return a card, which ``card_as_json`` told, as bytes; ``zlib`` makes JSON of it again."""
    text = json.dumps(card, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return zlib.compress(text.encode(), level=1)
