"""The JSON Schemas of the file formats, and their complaints in words for people.

Rules of this file:

- What a schema expects is told by its ``title``, a noun phrase ("a time such as 20 s").
- One complaint for each fault: of the alternatives of an ``anyOf`` only the one that the author
  plainly meant is told.
- A ``false`` schema says nothing here: it only tells editors what does not go together.
- Values may be nested at most ``limits.LEVELS`` deep. That is looked at before anything walks into
  them, since whatever does so by recursion would end in the middle.
- Nearly every file and line of a log is right, so a fast validator asks first; the one that can say
  what is wrong, and why, is imported only if something is.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from simengine.limits import ACCENTS, LEVELS
from simengine.nearest_name import did_you_mean
from simengine.resources import schemas_dir

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator, ValidationError

SchemaName = Literal[
    "scenario",
    "vocabulary",
    "protocol",
    "equipment",
    "bench",
    "session",
    "agreement",
    "physiology",
    "setup_pack",
    "skills",
    "clock_marks",
    "alone",
    "play",
]

_NOT_ASCII = re.compile(rf"[^\0-\x7f]{{{ACCENTS + 1},}}")

_FORMS = {
    "object": "a map",
    "array": "a list",
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "nothing",
}


@dataclass(frozen=True, slots=True)
class Complaint:
    """What a schema does not like. ``path`` leads to the value; ``key``: one of its keys is meant.

    ``found`` is empty where the value itself tells it best.
    """

    path: tuple[str | int, ...]
    expected: str
    code: str
    found: str = ""
    hint: str = ""
    key: str | None = None


@cache
def validator(name: SchemaName) -> Draft202012Validator:
    """Return the validator of a format, built once."""
    from jsonschema import Draft202012Validator

    schema = json.loads(_text(name))
    return Draft202012Validator(_joined(schema, schema.pop("$defs"), set()))


@cache
def _fast(name: SchemaName) -> Callable[[Any], bool]:
    """Return what tells whether an instance is valid, and no more."""
    import jsonschema_rs

    return jsonschema_rs.Draft202012Validator(_text(name)).is_valid


def _text(name: SchemaName) -> str:
    return (schemas_dir() / f"{name}.schema.json").read_text(encoding="utf-8")


def _joined(schema: Any, definitions: dict[str, Any], done: set[str]) -> Any:
    """Put each definition in the place of its ``$ref``; looking it up each time costs the most.

    A definition that uses itself becomes a circle of objects, which a validator walks as well.
    """
    if isinstance(schema, list):
        schema[:] = [_joined(part, definitions, done) for part in schema]
    if not isinstance(schema, dict):
        return schema
    if "$ref" in schema:
        name = schema["$ref"].removeprefix("#/$defs/")
        if name not in done:
            done.add(name)
            _joined(definitions[name], definitions, done)
        return definitions[name]
    for key, part in schema.items():
        schema[key] = _joined(part, definitions, done)
    return schema


def complaints(name: SchemaName, instance: Any) -> Iterator[Complaint]:
    """Hold JSON values against a schema."""
    if is_too_deep(instance):
        yield Complaint((), f"at most {LEVELS} levels", "too-deep", "deeper nesting")
        return
    if _fast(name)(instance):
        return
    for error in validator(name).iter_errors(instance):
        yield from _explained(error)


def is_too_deep(value: Any) -> bool:
    """Whether JSON values are nested more than ``LEVELS`` deep."""
    level = [value]
    for _ in range(LEVELS):
        level = [
            inner
            for outer in level
            if isinstance(outer, dict | list)
            for inner in (outer.values() if isinstance(outer, dict) else outer)
        ]
        if not level:
            return False
    return True


def is_overloaded(text: str) -> bool:
    """Whether a letter has more accents than any language puts on one.

    To compose such text takes the square of their number.
    """
    if text.isascii():
        return False
    accents = 0
    for run in _NOT_ASCII.finditer(text):
        from unicodedata import combining

        for letter in run[0]:
            accents = accents + 1 if combining(letter) else 0
            if accents > ACCENTS:
                return True
    return False


def _explained(error: ValidationError) -> Iterator[Complaint]:
    path = tuple(error.absolute_path)
    schema, rule = error.schema, error.validator
    instance: Any = error.instance
    if not isinstance(schema, dict):
        return
    if rule == "additionalProperties":
        yield from _unknown_keys(path, schema, instance)
    elif rule == "required":
        missing = str(error.message.split("'")[1])
        yield Complaint(path, f"the key '{missing}'", "missing-key", "none")
    elif rule in ("anyOf", "oneOf"):
        yield from _alternatives(path, error)
    elif rule == "pattern" and "propertyNames" in error.absolute_schema_path:
        yield Complaint(path, _title(schema), "name-form", f"'{instance}'", key=str(instance))
    elif rule in ("minItems", "minProperties"):
        expected = f"{_title(schema)} of at least {error.validator_value}"
        yield Complaint(path, expected, "too-few", str(len(instance) or "none"))
    elif rule == "maxItems":
        yield Complaint(path, _title(schema), "too-many", f"{len(instance)}")
    else:
        yield Complaint(path, _title(schema), "form", hint=_hint(schema, instance))


def _unknown_keys(
    path: tuple[str | int, ...], schema: dict[str, Any], instance: dict[str, Any]
) -> Iterator[Complaint]:
    known = [key for key, value in schema.get("properties", {}).items() if value is not False]
    forbidden = {key for key, value in schema.get("properties", {}).items() if value is False}
    for key in instance:
        if key in known or key in forbidden:
            continue
        there = f"there are: {', '.join(known)}" if known else "it has no keys"
        hint = did_you_mean(key, [name for name in known if name not in instance]) or there
        if key[:1].isdigit():
            hint = "is it a decimal comma? write a point"
        yield Complaint(path, f"a key of {_title(schema)}", "unknown-key", f"'{key}'", hint, key)


def _alternatives(path: tuple[str | int, ...], error: ValidationError) -> Iterator[Complaint]:
    """Tell the alternative whose form (map, list, text) is the one found; else all of them."""
    branches: dict[int, list[ValidationError]] = {}
    for inner in error.context or ():
        branches.setdefault(int(inner.schema_path[0]), []).append(inner)
    meant = [
        errors
        for errors in branches.values()
        if not any(inner.validator == "type" and not inner.path for inner in errors)
    ]
    if not meant:
        yield Complaint(path, _title(error.schema), "form")
        return
    for inner in min(meant, key=len):
        yield from _explained(inner)


def _hint(schema: dict[str, Any], instance: Any) -> str:
    from difflib import get_close_matches

    words = schema.get("enum")
    if words and isinstance(instance, str):
        near = get_close_matches(instance.lower(), [str(word) for word in words], n=1, cutoff=0.6)
        return f"did you mean '{near[0]}'?" if near else ""
    return ""


def _title(schema: Any) -> str:
    if isinstance(schema, dict):
        if "title" in schema:
            return str(schema["title"])
        forms = schema.get("type", ())
        return " or ".join(_FORMS[form] for form in _each(forms)) or "something else"
    return "something else"


def _each(forms: str | Iterable[str]) -> Iterable[str]:
    return (forms,) if isinstance(forms, str) else forms
