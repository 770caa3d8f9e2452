"""Write a pass total and its standard into the text of a scenario, and change nothing else.

Rules of this file:

- Comments, order, quotes and layout stay. Values that are there are replaced where they stand;
  what is missing is put beside them; without ``scoring`` it is added at the end.
- The text that comes out is read again: it must hold the standard, and all the rest as it was.
  Where that fails (a layout that nobody foresaw), nothing is returned.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from simengine.scenario.positions import as_written, parse_yaml

KEYS = ("method", "panel", "date", "error")


@dataclass(frozen=True, slots=True)
class NewStandard:
    """``pass_mark`` and ``error``: shares in words (``73.33 %``); ``date``: ``2026-03-31``."""

    pass_mark: str
    method: str
    panel: str
    date: str
    error: str


@dataclass(frozen=True, slots=True)
class _Edit:
    start: int
    end: int
    text: str


def with_standard(text: str, standard: NewStandard) -> str | None:
    """Return the scenario's text with the standard, ``None`` where it can't be written safely."""
    import yaml

    loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        root = yaml.compose(text, Loader=loader)
    except yaml.YAMLError:
        return None
    if not isinstance(root, yaml.MappingNode):
        return None
    newline = "\r\n" if "\r\n" in text else "\n"
    edits = _edits(text, root, standard, newline)
    changed = text
    for edit in sorted(edits, key=lambda each_edit: each_edit.start, reverse=True):
        changed = changed[: edit.start] + edit.text + changed[edit.end :]
    return changed if _only_that(text, changed, standard) else None


def _edits(text: str, root: Any, standard: NewStandard, newline: str) -> list[_Edit]:
    scoring = _entry(root, "scoring")
    if scoring is None:
        end = len(text.rstrip())
        lines = ["", "", "scoring:", *_scoring_lines(standard)]
        return [_Edit(end, end, newline.join(lines))]
    _, value = scoring
    if not _is_map(value):
        lines = ["", *_scoring_lines(standard)]
        start = value.start_mark.index
        return [_Edit(start, _end(text, value), newline.join(lines))]
    indent = " " * value.start_mark.column
    edits = []
    missing: list[tuple[str, list[str]]] = []
    mark = _entry(value, "pass")
    if mark is None:
        missing.append((f"pass: {standard.pass_mark}", [f"pass: {standard.pass_mark}"]))
    else:
        edits.append(_Edit(mark[1].start_mark.index, _end(text, mark[1]), standard.pass_mark))
    old = _entry(value, "standard")
    if old is None:
        missing.append((f"standard: {_flow(standard)}", _standard_lines(standard)))
    elif _is_map(old[1]) and not old[1].flow_style:
        edits += _block_edits(text, old[1], standard, newline)
    else:
        edits.append(_Edit(old[1].start_mark.index, _end(text, old[1]), _flow(standard)))
    if missing and value.flow_style:
        start = value.start_mark.index + 1
        words = ", ".join(flow for flow, _ in missing)
        edits.append(_Edit(start, start, f"{words}, " if value.value else words))
    elif missing:
        start = value.start_mark.index
        lines = [line for _, block in missing for line in block]
        words = (newline + indent).join(lines)
        edits.append(_Edit(start, start, words + newline + indent))
    return edits


def _block_edits(text: str, old: Any, standard: NewStandard, newline: str) -> list[_Edit]:
    """Replace the values of a standard that has a line for each; what is missing goes before the
    date, or first."""
    indent = " " * old.start_mark.column
    values = _values(standard)
    edits = []
    added = ""
    for name in KEYS:
        entry = _entry(old, name)
        if entry is None:
            added += f"{name}: {values[name]}{newline}{indent}"
        else:
            edits.append(_Edit(entry[1].start_mark.index, _end(text, entry[1]), values[name]))
    shows = _entry(old, "demonstration")
    if shows is not None:
        begin, end = shows[0].start_mark.index, _end(text, shows[1])
        # with its line's end, which stands before it, so that no blank line stays
        edits.append(_Edit(len(text[:begin].rstrip()), end, ""))
    day = _entry(old, "date")
    start = old.start_mark.index if day is None else day[0].start_mark.index
    return [*edits, _Edit(start, start, added)]


def _entry(node: Any, name: str) -> tuple[Any, Any] | None:
    return next(((key, value) for key, value in node.value if key.value == name), None)


def _is_map(node: Any) -> bool:
    return bool(node.id == "mapping")


def _end(text: str, node: Any) -> int:
    """Where a value ends: the mark of a folded text is at the next key, after blank lines."""
    start, end = int(node.start_mark.index), int(node.end_mark.index)
    return start + len(text[start:end].rstrip())


def _values(standard: NewStandard) -> dict[str, str]:
    return {
        "method": _quoted(standard.method),
        "panel": _quoted(standard.panel),
        "date": standard.date,
        "error": standard.error,
    }


def _flow(standard: NewStandard) -> str:
    return "{" + ", ".join(f"{name}: {value}" for name, value in _values(standard).items()) + "}"


def _standard_lines(standard: NewStandard) -> list[str]:
    return ["standard:", *(f"  {name}: {value}" for name, value in _values(standard).items())]


def _scoring_lines(standard: NewStandard) -> list[str]:
    """The lines of a whole ``scoring``, without the line that names it."""
    block = [f"pass: {standard.pass_mark}", *_standard_lines(standard)]
    return ["  " + line for line in block]


def _quoted(words: str) -> str:
    return "'" + re.sub(r"\s+", " ", words).strip().replace("'", "''") + "'"


def _only_that(before: str, after: str, standard: NewStandard) -> bool:
    """Whether the new text holds the standard, and all else as it was."""
    old, new = parse_yaml(before.encode(), "before"), parse_yaml(after.encode(), "after")
    if old.root is None or new.root is None or new.problems:
        return False
    was, is_ = as_written(old.root), as_written(new.root)
    for root in (was, is_):
        if not isinstance(root.get("scoring"), dict):
            root["scoring"] = {}
    scoring = is_["scoring"]
    asked_for = {
        "method": re.sub(r"\s+", " ", standard.method).strip(),
        "panel": re.sub(r"\s+", " ", standard.panel).strip(),
        "date": standard.date,
        "error": standard.error,
    }
    good = scoring.pop("pass", None) == standard.pass_mark
    good = scoring.pop("standard", None) == asked_for and good
    was["scoring"].pop("pass", None)
    was["scoring"].pop("standard", None)
    return bool(good and was == is_ and list(was) == list(is_))
