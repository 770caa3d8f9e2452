"""A score card as bytes, to be kept beside a log and read back the same to the last digit.

Rules of this file:

- It is for this program's own use between two of its processes; what programs of others read is
  ``as_json``. A card that was kept by another edition is not read: the session is scored again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields, is_dataclass
from functools import cache
from importlib.metadata import version
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import orjson

from simengine.scoring.card import ScoreCard
from simengine.scoring.edition import EDITION


def card_bytes(card: ScoreCard) -> bytes:
    """Return a card as bytes."""
    return orjson.dumps({"by": _edition(), "card": asdict(card)})


def card_from(content: bytes) -> ScoreCard | None:
    """Return the card that was kept; ``None`` where that was by another edition."""
    kept = orjson.loads(content)
    if kept.get("by") != _edition():
        return None
    card: ScoreCard = _made(ScoreCard, kept["card"])
    return card


def _edition() -> str:
    """What a kept card holds: this version's, with the fields that cards have in it."""
    return f"{version('simengine')} {EDITION} {','.join(f.name for f in fields(ScoreCard))}"


@cache
def _types(kind: type[Any]) -> dict[str, Any]:
    return get_type_hints(kind, vars(__import__(kind.__module__, fromlist=["_"])))


def _made(kind: Any, value: Any) -> Any:
    """Make a value of a kind from JSON values."""
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return (
            None if value is None else _made(next(p for p in parts if p is not type(None)), value)
        )
    if origin is tuple:
        if len(parts) == 2 and parts[1] is Ellipsis:
            return tuple(_made(parts[0], each) for each in value)
        return tuple(_made(part, each) for part, each in zip(parts, value, strict=True))
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {name: _made(parts[1], each) for name, each in value.items()}
    if is_dataclass(kind):
        types = _types(kind)  # type: ignore[arg-type]
        return kind(**{name: _made(types[name], each) for name, each in value.items()})  # type: ignore[operator]
    return value
