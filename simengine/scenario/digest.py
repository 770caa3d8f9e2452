"""What a scenario or protocol means, in 64 characters, and its wording, in 64 others.

Rules of this file:

- A digest is worked out from the typed model and not from the text: comments, layout, quotes, the
  order of keys and the unit that a figure is written in change none.
- Meaning is what the engine or the scorer reads. A field is marked where it is not: ``SHOWN``, for
  people alone; ``LABELS``, a map whose names count and whose texts are for people; ``APART``, what
  has a digest of its own or says where something stands. So a new field counts until it is marked;
  one that takes no part in comparisons does not, unless it is marked as ``counts``.
- A figure of the protocol is known by the name under which it was asked for: the digest of a
  scenario is the same under any protocol and for any baby.
- What has its default is left out, so that a field that is added later changes no digest. The names
  of classes and fields are part of the digest: renaming one is a new kind of digest.
- The bytes are canonical JSON (RFC 8785), by which only a float is written in another way than a
  fast writer of JSON does: names are of the Basic Multilingual Plane, where any order is the same.
- What is only checked is never run, and needs no digest: under ``not_stamped`` there is none, which
  saves a cold `check` a twentieth of its time.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import MISSING, fields
from typing import Any, Literal

from simengine.quantities import Range
from simengine.scenario.positions import Mapping as Map
from simengine.scenario.positions import as_written
from simengine.scenario.wanted import ProtocolShare, ProtocolTime, Steps

Mark = Literal["", "shown", "labels", "apart"]

SHOWN = {"digest": "shown"}
LABELS = {"digest": "labels"}
APART = {"digest": "apart"}

_NOTHING = object()
_PLAIN = frozenset({str, int, float, bool, type(None)})
_FIELDS: dict[type[Any], tuple[tuple[str, Mark, Any], ...]] = {}
_stamping: ContextVar[bool] = ContextVar("stamping", default=True)


def stamps(
    value: Any, *, means: Any = None, words: Any = None, unread: Mapping[str, Map] | None = None
) -> tuple[str, str]:
    """Return the digests (SHA-256, hex) of what a part of the model means, and of its wording.

    ``means``, ``words``: JSON values that belong to them. ``unread``: key items, by name, that
    stand in the model later, or under another protocol, and so count as they are written.
    """
    if not is_stamping():
        return "", ""
    waiting = {name: _as_written(node) for name, node in (unread or {}).items()}
    counts = {name: item for name, (item, _) in waiting.items()}
    shown = {name: text for name, (_, text) in waiting.items()}
    return _sha256([meaning(value), means, counts]), _sha256([wording(value), words, shown])


def is_stamping() -> bool:
    """Whether what is read here gets its digests."""
    return _stamping.get()


def _as_written(item: Map) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return a key item as it is written: what counts of it, and what is for people alone."""
    from simengine.scenario.key import Avoid

    shown = {name for name, mark, _ in _fields_of(Avoid) if mark}
    counts: dict[str, Any] = {}
    words: dict[str, Any] = {}
    for key, value in item.items.items():
        (words if key in shown else counts)[key] = as_written(value)
    return counts, words


def meaning(value: Any) -> Any:
    """Return what the engine and the scorer read of a part of the model, as JSON values."""
    if type(value) in _PLAIN:
        return _canonical(value) if type(value) is float else value
    if isinstance(value, ProtocolTime | ProtocolShare):
        return {"protocol": value.reference}
    if isinstance(value, Range | Steps) and value.reference:
        return {"protocol": value.reference}
    if isinstance(value, Mapping):
        return {name: meaning(part) for name, part in value.items()}
    if isinstance(value, tuple | list):
        return [meaning(part) for part in value]
    if not hasattr(type(value), "__dataclass_fields__"):
        return value
    kept: dict[str, Any] = {"": type(value).__name__}
    for name, mark, default in _fields_of(type(value)):
        part = getattr(value, name)
        if mark == "labels":
            kept[name] = sorted(part)
        elif not mark and part != default:
            kept[name] = meaning(part)
    return kept


def wording(value: Any) -> Any:
    """Return what only people read of a part of the model; ``None`` where there is nothing."""
    if type(value) in _PLAIN:
        return None
    if isinstance(value, Mapping):
        parts = {name: wording(part) for name, part in value.items()}
        return {name: part for name, part in parts.items() if part is not None} or None
    if isinstance(value, tuple | list):
        listed = [wording(part) for part in value]
        return listed if any(part is not None for part in listed) else None
    if not hasattr(type(value), "__dataclass_fields__"):
        return None
    words_of_fields: dict[str, Any] = {}
    for name, mark, default in _fields_of(type(value)):
        part = getattr(value, name)
        if mark in ("shown", "labels"):
            words = _whole(part) if part != default else None
        else:
            words = wording(part) if not mark else None
        if words is not None:
            words_of_fields[name] = words
    return words_of_fields or None


def _whole(value: Any) -> Any:
    """Return all of a part that only people read."""
    if isinstance(value, Mapping):
        return {name: _whole(part) for name, part in value.items()}
    if isinstance(value, tuple | list):
        return [_whole(part) for part in value]
    if hasattr(type(value), "__dataclass_fields__"):
        return {
            name: _whole(part)
            for name, _, default in _fields_of(type(value))
            if (part := getattr(value, name)) != default
        }
    return _canonical(value) if type(value) is float else value


def _fields_of(kind: type[Any]) -> tuple[tuple[str, Mark, Any], ...]:
    """Return (name, mark, default) of the fields of a class that are digested."""
    known = _FIELDS.get(kind)
    if known is not None:
        return known
    counted: list[tuple[str, Mark, Any]] = []
    for declared in fields(kind):
        default = declared.default
        if declared.default_factory is not MISSING:
            default = declared.default_factory()
        elif default is MISSING:
            default = _NOTHING
        if declared.compare or declared.metadata.get("digest") == "counts":
            mark = declared.metadata.get("digest", "")
            counted.append((declared.name, "" if mark == "counts" else mark, default))
    known = _FIELDS[kind] = tuple(counted)
    return known


def _canonical(number: float) -> Any:
    import orjson
    import rfc8785

    return orjson.Fragment(rfc8785.dumps(number))


def _sha256(value: Any) -> str:
    from hashlib import sha256

    import orjson

    of_json = orjson.OPT_PASSTHROUGH_DATACLASS | orjson.OPT_PASSTHROUGH_DATETIME
    return sha256(orjson.dumps(value, option=orjson.OPT_SORT_KEYS | of_json)).hexdigest()


@contextmanager
def not_stamped() -> Iterator[None]:
    """Read files without working out what they are in 64 characters."""
    before = _stamping.set(False)
    try:
        yield
    finally:
        _stamping.reset(before)
