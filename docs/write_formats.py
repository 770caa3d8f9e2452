"""Write the schemas and the page of the formats from the model: `python docs/write_formats.py`.

Rules of this file:

- What a file may hold is stated beside the fields of the model (``simengine.scenario.forms``);
  ``schemas/*.schema.json`` and ``formats.md`` are written from that, and a test holds them equal.
- A form with a name becomes a definition; one without stands where it is used.
- A default is written as an author would write it: ``10 s``, ``5 %``, a word.
- The same model makes the same files byte for byte.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from simengine.desk import clock_marks
from simengine.people import roster_tables
from simengine.people.roster_tables import RosterFile
from simengine.pilot import skills
from simengine.plays import play_model as plays
from simengine.quantities.formatting import format_duration
from simengine.rehearsal import alone_rules
from simengine.rehearsal.bench import bench_model as bench
from simengine.scenario import (
    equipment_file,
    model,
    physiology,
    protocol,
    protocol_subjects,
    vocabulary,
)
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
PAGE = Path(__file__).with_name("formats.md")
FILES: Mapping[str, Form] = {
    "scenario": model.FILE,
    "vocabulary": vocabulary.FILE,
    "protocol": protocol.FILE,
    "equipment": equipment_file.FILE,
    "bench": bench.FILE,
    "play": plays.FILE,
    "session": event_data.FILE,
    "physiology": physiology.FILE,
    "agreement": protocol_subjects.FILE,
    "setup_pack": contents.FILE,
    "skills": skills.FILE,
    "clock_marks": clock_marks.FILE,
    "alone": alone_rules.FILE,
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
    schema: Schema = {"title": form.title}
    if form.about:
        schema["description"] = form.about
    match form:
        case Value():
            return {**schema, **form.json}
        case Choice():
            return {**schema, "enum": list(form.values)}
        case ListOf():
            items = {"type": "array", "items": _schema(form.item, definitions)}
            most = {"maxItems": form.most} if form.most is not None else {}
            return {**schema, **items, **({"minItems": form.least} if form.least else {}), **most}
        case MapOf():
            return {**schema, **_map(form, definitions)}
        case Record():
            return {**schema, **_record(form, definitions)}
        case AnyForm():
            return {**schema, "anyOf": [_schema(inner, definitions) for inner in form.forms]}
        case ByKey():
            return {**schema, "type": "object", **_by_key(form, definitions)}
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
    properties: Schema = {}
    for name, key in keys.items():
        schema = _schema(key.form, definitions)
        if key.about:
            schema["description"] = key.about
        default = default_of(key)
        if default is not None:
            schema["default"] = default
        properties[name] = schema
    return properties


def _by_key(form: ByKey, definitions: dict[str, Schema]) -> Schema:
    (name, first), *rest = form.forms.items()
    condition: Schema = {"required": [name]}
    if name == form.names:
        condition["properties"] = {name: {"type": "array", "contains": {"type": "string"}}}
    rule: Schema = {"if": condition, "then": _schema(first, definitions)}
    if rest:
        others = ByKey("", dict(rest), form.otherwise, names=form.names)
        rule["else"] = _by_key(others, definitions)
    elif form.otherwise is not None:
        rule["else"] = _schema(form.otherwise, definitions)
    return rule


def default_of(key: Key) -> Any:
    """Return a key's default as an author would write it; ``None`` if there is none to tell."""
    value, reads = key.default, key.form.reads
    if value is None or value in ((), "") or value == {}:
        return None
    if isinstance(key.form, Choice):
        return next(word for word, meant in key.form.values.items() if meant == value)
    if reads in ("time", "when"):
        return format_duration(value)
    if reads in ("share", "fraction"):
        return f"{value * 100:g} %"
    if isinstance(value, tuple):
        return list(value)
    return None if isinstance(value, float) and reads in ("difference", "quantity") else value


def schema_text(name: str) -> str:
    """Return the file of a format's schema."""
    schema = schema_of(name, FILES[name])
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def sentences(file: Form) -> Iterator[str]:
    """Go through what a format says of its keys and values to people."""
    for form in _forms(file):
        yield form.about
        yield from (key.about for key in _keys(form).values())


def _forms(file: Form) -> list[Form]:
    """Return each form of a format once, from the outside to the inside."""
    forms: dict[int, Form] = {}
    waiting = [file]
    for form in waiting:
        if id(form) not in forms:
            forms[id(form)] = form
            waiting += _inside(form)
    return list(forms.values())


def _inside(form: Form) -> list[Form]:
    """Return the forms of which a form is made."""
    match form:
        case Record():
            return [*(key.form for key in form.keys.values()), *form.parts.values()]
        case MapOf():
            return [*(key.form for key in form.keys.values()), form.value]
        case ListOf():
            return [form.item]
        case AnyForm():
            return list(form.forms)
        case ByKey():
            return [*form.forms.values(), *([form.otherwise] if form.otherwise else [])]
    return []


# --- the page for people ------------------------------------------------------------------------

_INTRODUCTION = """<!-- Written by docs/write_formats.py; change the model's fields instead. -->

# The formats, key by key

Every key of every file that the program reads, with what it holds, what it is for, and what it
holds where it is left out. A key with a star has to be there. The page is written from the same
statement as the [schemas](../schemas) by which editors and `check` hold your files. Nothing here is
advice for a real patient: local guidelines and licensed practice decide.
"""
_ROSTER = """## Roster

Tables that a roster is read from, as files with commas, semicolons or tabs, and that it is written
to. A column with a star has to be there. What kind of table a file holds is seen from its headings.
Several texts in a cell have `;` between them.
"""
_CALLED: Mapping[str, str] = {
    "equipment": "catalogue of the cot",
    "bench": "the cot under the hands",
    "setup_pack": "set-up pack",
    "skills": "skill levels",
    "clock_marks": "clock marks",
    "alone": "playing alone",
}


def page() -> str:
    """Return the page that lists every key of every format."""
    places = {
        id(form): (name, heading)
        for name, file in reversed(list(FILES.items()))
        for form, heading in _sections(name, file)
    }
    parts = [_INTRODUCTION]
    for name, file in FILES.items():
        called = _CALLED.get(name, name).capitalize()
        parts.append(
            f"## {called}\n\n{file.about} Schema: "
            f"[{name}.schema.json](../schemas/{name}.schema.json).\n"
        )
        for form, heading in _sections(name, file):
            if form is not file:
                if places[id(form)][0] != name:
                    continue
                parts.append(f"### {heading}\n" + (f"\n{form.about}\n" if form.about else ""))
            parts.append(_table(_keys(form), places))
    return "\n".join([*parts, _ROSTER, *map(_columns, roster_tables.KINDS.values())])


def _columns(file: RosterFile) -> str:
    """Return the list of the columns of one kind of table."""
    rows = ["| column | holds | also called | |", "|---|---|---|---|"]
    for column in file.table.columns:
        star = "" if column.optional else " \\*"
        holds = column.type + (f", in {column.unit}" if column.unit else "")
        also = ", ".join(f"`{heading}`" for heading in column.also)
        rows.append(f"| `{column.name}`{star} | {holds} | {also} | {column.meaning} |")
    table = file.table
    title = f"### Roster: {table.name}\n\n{table.meaning.capitalize()}.\n\n"
    return title + "\n".join(rows) + "\n"


def _sections(name: str, file: Form) -> list[tuple[Form, str]]:
    """Return the maps of a format that have keys of their own, with their headings."""
    called = _CALLED.get(name, name).capitalize()
    sections: list[tuple[Form, str]] = []
    taken: set[str] = set()
    for form in _forms(file):
        if form is not file and len(_keys(form)) < 2:
            continue
        _, _, kind = form.name.partition("data_")
        heading = f"{called}: {f'data of {kind}' if kind else form.title}"
        if heading in taken:
            heading += f" ({form.name})"
        taken.add(heading)
        sections.append((form, heading))
    return sections


def _keys(form: Form) -> Mapping[str, Key]:
    return form.keys if isinstance(form, Record | MapOf) else {}


def _table(keys: Mapping[str, Key], places: Mapping[int, tuple[str, str]]) -> str:
    rows = ["| key | holds | left out | |", "|---|---|---|---|"]
    for name, key in keys.items():
        default = default_of(key)
        left_out = "" if default is None else f"`{_as_written(default)}`"
        star = " \\*" if key.needed else ""
        about = key.about or key.form.about
        rows.append(f"| `{name}`{star} | {_holds(key.form, places)} | {left_out} | {about} |")
    return "\n".join(rows) + "\n"


def _as_written(default: Any) -> str:
    return default if isinstance(default, str) else json.dumps(default, ensure_ascii=False)


def _holds(form: Form, places: Mapping[int, tuple[str, str]]) -> str:
    """Return what a value is, with a link to each map in it that has a section."""
    if form.name == "name":
        return "a name"
    words, besides = form.title, []
    for inner in dict.fromkeys(_own_maps(form)):
        if id(inner) in places:
            link = f"[{inner.title}](#{_anchor(places[id(inner)][1])})"
            if inner.title in words:
                words = words.replace(inner.title, link, 1)
            else:
                besides.append(link)
    return words + (f" ({', '.join(besides)})" if besides else "")


def _own_maps(form: Form) -> list[Form]:
    """Return the maps with keys of their own that a value may be, or be made of."""
    if isinstance(form, Record):
        return [form]
    own = [form] if _keys(form) else []
    return own + [own_map for inner in _inside(form) for own_map in _own_maps(inner)]


def _anchor(heading: str) -> str:
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


def main() -> None:
    """Write every schema, and the page."""
    for name in FILES:
        (SCHEMAS / f"{name}.schema.json").write_text(schema_text(name), encoding="utf-8")
    PAGE.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
