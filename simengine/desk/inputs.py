"""What screens send to be recorded, checked before anything else sees it.

Rules of this file:

- Nothing is trusted: form, size, depth, kinds and data are held against the log's own schema, and
  numbers against what every program that reads JSON keeps exactly.
- One entry that can't be taken is refused with words and keeps no other from being taken.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, TypeGuard, cast

import orjson

from simengine.limits import LEVELS
from simengine.resources import schemas_dir
from simengine.schemas import complaints, is_too_deep
from simengine.session.chain import FIRST
from simengine.session.events import Kind

if TYPE_CHECKING:
    from jsonschema_rs import Draft202012Validator

MOST_ENTRIES = 200
_MOST_TEXT = 2000
_EXACT = 2**53
_UUID = re.compile(r"[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}")


class BadRequestError(Exception):
    """A body that is no list of entries at all; the words are for a person."""


@dataclass(frozen=True, slots=True)
class Input:
    """One entry that may be recorded. ``at_ms`` is the log's time."""

    id: str
    kind: Kind
    at_ms: int
    data: dict[str, Any]


@dataclass(frozen=True, slots=True)
class RefusedInput:
    """One entry that can't be recorded, and why."""

    id: str
    words: str


def inputs_from(body: bytes) -> list[Input | RefusedInput]:
    """Read ``{"events": […]}``. Raises ``BadRequestError`` where it is not of that form."""
    try:
        raw = orjson.loads(body)
    except orjson.JSONDecodeError as error:
        raise BadRequestError("Expected JSON.") from error
    if not isinstance(raw, dict) or not isinstance(raw.get("events"), list):
        raise BadRequestError('Expected {"events": […]}.')
    if len(raw["events"]) > MOST_ENTRIES:
        raise BadRequestError(f"At most {MOST_ENTRIES} entries at once.")
    return [_input(event) for event in raw["events"]]


def is_uuid(text: object) -> TypeGuard[str]:
    """Whether a text is a UUID, which the id of an entry has to be."""
    return isinstance(text, str) and _UUID.fullmatch(text) is not None


def _input(raw: Any) -> Input | RefusedInput:
    if not isinstance(raw, dict):
        return RefusedInput("", "An entry is a map.")
    id_ = raw.get("id")
    if not is_uuid(id_):
        return RefusedInput(str(id_)[:40], "An entry needs a UUID as its id.")
    if is_too_deep(raw):
        return RefusedInput(id_, f"It is nested more than {LEVELS} levels deep.")
    unknown = set(raw) - {"id", "kind", "at_ms", "data"}
    if unknown:
        return RefusedInput(id_, f"Unknown keys: {', '.join(sorted(unknown))[:80]}.")
    at_ms, data, kind = raw.get("at_ms"), raw.get("data"), raw.get("kind")
    if isinstance(at_ms, bool) or not isinstance(at_ms, int) or abs(at_ms) >= _EXACT:
        return RefusedInput(id_, "at_ms: expected whole milliseconds.")
    if not isinstance(data, dict):
        return RefusedInput(id_, "data: expected a map.")
    rules = _validators().get(str(kind))
    if rules is None:
        return RefusedInput(id_, f"There is no kind of entry '{str(kind)[:40]}'.")
    if not rules.is_valid(data):
        return RefusedInput(id_, _complaint(kind, data))
    if not _is_plain(data):
        return RefusedInput(id_, f"A text is over {_MOST_TEXT} letters, or a number too large.")
    return Input(id_, cast(Kind, kind), max(0, at_ms), data)


def _complaint(kind: Any, data: dict[str, Any]) -> str:
    whole = {
        "seq": 0,
        "id": "00000000-0000-4000-8000-000000000000",
        "at_ms": 0,
        "noted_ms": 0,
        "wall": "2026-01-01T00:00:00Z",
        "kind": kind,
        "by": "nobody",
        "data": data,
        "prev": FIRST,
        "hash": FIRST,
    }
    parts = [
        f"{' › '.join(str(step) for step in complaint.path)}: expected {complaint.expected}"
        + (f", found {complaint.found}" if complaint.found else "")
        for complaint in complaints("session", whole)
    ]
    return f"{'; '.join(parts)[:400]}."


def _is_plain(value: Any) -> bool:
    if isinstance(value, dict):
        return all(_is_plain(key) and _is_plain(inner) for key, inner in value.items())
    if isinstance(value, list):
        return all(_is_plain(inner) for inner in value)
    if isinstance(value, str):
        return len(value) <= _MOST_TEXT
    return not isinstance(value, int | float) or abs(value) < _EXACT


@cache
def _validators() -> dict[str, Draft202012Validator]:
    """The log's own rules for ``data``, one validator for each kind: a tenth of the work."""
    from jsonschema_rs import Draft202012Validator

    whole = orjson.loads((schemas_dir() / "session.schema.json").read_bytes())
    defs = whole["$defs"]
    return {
        kind: Draft202012Validator({"$defs": defs, "$ref": f"#/$defs/data_{kind}"})
        for kind in whole["properties"]["kind"]["enum"]
    }
