"""Write the schemas of the formats from the model: `python docs/write_formats.py`.

Rules of this file:

- What a file may hold is stated beside the fields of the model (``simengine.scenario.forms``);
  ``schemas/*.schema.json`` are written from that, and a test holds the two equal.
- A form with a name becomes a definition; one without stands where it is used.
- A default is written as an author would write it: ``10 s``, ``5 %``, a word.
- The same model makes the same files byte for byte.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from simengine.desk import clock_marks
from simengine.pilot import skills
from simengine.plays import model as plays
from simengine.quantities.wording import format_duration
from simengine.scenario import agreement, model, protocol, vocabulary
from simengine.scenario.forms import (
    NAME,
    AnyForm,
    ByKey,
    Choice,
    Form,
    Key,
    ListOf,
    MapOf,
    Record,
    Value,
)
from simengine.session import event_data
from simengine.setup_pack import contents

SCHEMAS = Path(__file__).parents[1] / "schemas"
FILES: Mapping[str, Form] = {
    "scenario": model.FILE,
    "vocabulary": vocabulary.FILE,
    "protocol": protocol.FILE,
    "play": plays.FILE,
    "session": event_data.FILE,
    "agreement": agreement.FILE,
    "setup_pack": contents.FILE,
    "skills": skills.FILE,
    "clock_marks": clock_marks.FILE,
}
Schema = dict[str, Any]


def schema_of(name: str, file: Form) -> Schema:
    """Return the JSON Schema (draft 2020-12) of a format."""
    definitions: dict[str, Schema] = {}
    whole = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:simengine:{name}:1",
        **_body(file, definitions),
    }
    return {**whole, "$defs": dict(sorted(definitions.items()))}


def _schema(form: Form, definitions: dict[str, Schema]) -> Schema:
    if not form.name:
        return _body(form, definitions)
    if form.name not in definitions:
        definitions[form.name] = {}
        definitions[form.name] = _body(form, definitions)
    return {"$ref": f"#/$defs/{form.name}"}


def _body(form: Form, definitions: dict[str, Schema]) -> Schema:
    said: Schema = {"title": form.title}
    if form.about:
        said["description"] = form.about
    match form:
        case Value():
            return {**said, **form.json}
        case Choice():
            return {**said, "enum": list(form.values)}
        case ListOf():
            items = {"type": "array", "items": _schema(form.item, definitions)}
            most = {"maxItems": form.most} if form.most is not None else {}
            return {**said, **items, **({"minItems": form.least} if form.least else {}), **most}
        case MapOf():
            return {**said, **_map(form, definitions)}
        case Record():
            return {**said, **_record(form, definitions)}
        case AnyForm():
            return {**said, "anyOf": [_schema(inner, definitions) for inner in form.forms]}
        case ByKey():
            return {**said, "type": "object", **_by_key(form, definitions)}
    raise TypeError(form)


def _map(form: MapOf, definitions: dict[str, Schema]) -> Schema:
    value = _schema(form.value, definitions)
    if form.value_about:
        value["description"] = form.value_about
    own = _properties(form.keys, definitions)
    needed = [name for name, key in form.keys.items() if key.needed]
    return {
        "type": "object",
        **({"properties": own} if own else {}),
        **({"required": needed} if needed else {}),
        **({} if form.free else {"propertyNames": _schema(NAME, definitions)}),
        "additionalProperties": value,
        **({"minProperties": form.least} if form.least else {}),
    }


def _record(form: Record, definitions: dict[str, Schema]) -> Schema:
    properties = _properties(form.keys, definitions)
    first = dict(list(properties.items())[:1])
    refused = dict.fromkeys(form.refused, False)
    needed = [name for name, key in form.keys.items() if key.needed]
    schema: Schema = {
        "type": "object",
        "properties": {**first, **refused, **properties},
        **({"required": needed} if needed else {}),
        "additionalProperties": False,
        **({"minProperties": form.least} if form.least else {}),
        **({"maxProperties": form.most} if form.most is not None else {}),
    }
    if form.either:
        schema["oneOf" if form.alone else "anyOf"] = [{"required": [key]} for key in form.either]
    if form.parts:
        schema["allOf"] = [
            {
                "if": {"properties": {"kind": {"const": kind}}},
                "then": {"properties": {"data": _schema(part, definitions)}},
            }
            for kind, part in form.parts.items()
        ]
    return schema


def _properties(keys: Mapping[str, Key], definitions: dict[str, Schema]) -> Schema:
    found: Schema = {}
    for name, key in keys.items():
        schema = _schema(key.form, definitions)
        if key.about:
            schema["description"] = key.about
        default = default_of(key)
        if default is not None:
            schema["default"] = default
        found[name] = schema
    return found


def _by_key(form: ByKey, definitions: dict[str, Schema]) -> Schema:
    (name, first), *rest = form.forms.items()
    asked: Schema = {"required": [name]}
    if name == form.names:
        asked["properties"] = {name: {"type": "array", "contains": {"type": "string"}}}
    found: Schema = {"if": asked, "then": _schema(first, definitions)}
    if rest:
        others = ByKey("", dict(rest), form.otherwise, names=form.names)
        found["else"] = _by_key(others, definitions)
    elif form.otherwise is not None:
        found["else"] = _schema(form.otherwise, definitions)
    return found


def default_of(key: Key) -> Any:
    """Return a key's default as an author would write it; ``None`` if there is none to tell."""
    value, reads = key.default, key.form.reads
    if value is None or value == () or value == "":
        return None
    if isinstance(key.form, Choice):
        return next(word for word, meant in key.form.values.items() if meant == value)
    if reads in ("time", "when"):
        return format_duration(value)
    if reads == "share":
        return f"{value * 100:g} %"
    if isinstance(value, tuple):
        return list(value)
    return None if isinstance(value, float) and reads in ("difference", "quantity") else value


def schema_text(name: str) -> str:
    """Return the file of a format's schema."""
    schema = schema_of(name, FILES[name])
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def sentences(form: Form) -> Iterator[str]:
    """Go through what a format says of its keys and values to people."""
    seen: set[int] = set()
    waiting = [form]
    while waiting:
        part = waiting.pop()
        if id(part) in seen:
            continue
        seen.add(id(part))
        keys = part.keys if isinstance(part, Record | MapOf) else {}
        waiting += part.parts.values() if isinstance(part, Record) else ()
        yield part.about
        yield from (key.about for key in keys.values())
        waiting += [key.form for key in keys.values()]
        match part:
            case ListOf():
                waiting.append(part.item)
            case MapOf():
                waiting.append(part.value)
            case AnyForm():
                waiting += part.forms
            case ByKey():
                waiting += [*part.forms.values(), *([part.otherwise] if part.otherwise else [])]


def main() -> None:
    """Write every schema."""
    for name in FILES:
        (SCHEMAS / f"{name}.schema.json").write_text(schema_text(name), encoding="utf-8")


if __name__ == "__main__":
    main()
