"""What is kept of one person, as text that needs no program to be read.

Rules of this file:

- It says what the JSON says, in its order and nothing else: names of values as headings, days and
  instants as they are kept.
- What is not known reads ``not recorded``, and a list without anything ``none``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

_STEP = "  "


def person_as_text(told: Mapping[str, Any]) -> str:
    """Return what ``person_as_json`` gave as text."""
    return "\n".join(_lines(told, "")) + "\n"


def _lines(value: Mapping[str, Any], indent: str) -> Iterator[str]:
    for name, part in value.items():
        label = name.replace("_", " ")
        if isinstance(part, Mapping) and part:
            yield f"{indent}{label}:"
            yield from _lines(part, indent + _STEP)
        elif isinstance(part, list) and part:
            yield from _listed(label, part, indent)
        else:
            yield f"{indent}{label}: {_word(part)}"
        if not indent:
            yield ""


def _listed(label: str, some: list[Any], indent: str) -> Iterator[str]:
    if not any(isinstance(part, Mapping | list) for part in some):
        yield f"{indent}{label}: {', '.join(_word(part) for part in some)}"
        return
    yield f"{indent}{label} ({len(some)}):"
    for part in some:
        if isinstance(part, Mapping):
            first, *rest = _lines(part, indent + _STEP * 2)
            yield f"{indent}{_STEP}- {first.strip()}"
            yield from rest
        else:
            yield f"{indent}{_STEP}- {_word(part)}"


def _word(value: Any) -> str:
    if value is None or value == "":
        return "not recorded"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | Mapping) and not value:
        return "none"
    return str(value)
