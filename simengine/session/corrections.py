"""Corrections: what each event says once the ``amend`` events are applied.

Rules of this file:

- Nothing is rewritten in place; an ``amend`` names the event it corrects by id.
- It merges to the leaf: a map into a map, anything else replaces, ``null`` takes the leaf out.
  ``at_ms`` among its fields is when the event happened; all others go into ``data``.
- The later ``seq`` wins. ``withdrawn: true`` takes the event out, ``withdrawn: false`` puts it
  back; withdrawing an ``amend`` undoes it.
- ``opened``, ``state``, ``pause``, ``resume``, ``closed`` and named events can't be corrected,
  except the event that starts the team's clock; nor can ``skip``, ``hold``, ``release`` and
  ``returned``, which moved the session on as they were noted. An amend that tries, or that names
  no event before it, changes nothing and is a finding.
- What was undone (see ``undoing``) never was, and is left out.
- What is dated after it was noted happened when it was noted; a correction can date an event up
  to when the correction was noted.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from simengine.session.events import Event
from simengine.session.record import Finding

_FIXED = frozenset(
    {"opened", "state", "pause", "resume", "skip", "hold", "release", "returned", "closed"}
    | {"undone"}
)


@dataclass(frozen=True, slots=True)
class Corrected:
    """Events as corrected, in order of ``seq``, without ``amend`` and what was taken back."""

    events: tuple[Event, ...]
    findings: tuple[Finding, ...]


def can_be_corrected(event: Event, clock: str | None) -> bool:
    """Whether an ``amend`` of ``event`` counts; ``clock`` names the event that starts the clock."""
    if event.kind == "event":
        return clock is not None and event.data.get("name") == clock
    return event.kind not in _FIXED


def corrected(
    events: Sequence[Event], clock: str | None, undone: Collection[str] = ()
) -> Corrected:
    """Apply all corrections in ``events`` (in order of ``seq``). ``undone``: ids to leave out."""
    if undone:
        events = [event for event in events if event.id not in undone]
    corrections = [event for event in events if event.kind == "amend"]
    if not corrections:
        return Corrected(tuple([_in_time(event) for event in events]), ())
    by_id = {event.id: event for event in reversed(events)}
    findings: list[Finding] = []
    standing: dict[str, list[Event]] = {}
    # From the last on: whether an amend stands is settled by the amends after it alone.
    for amend in reversed(corrections):
        now = _applied(amend, standing.get(amend.id, ()))
        if now is None:
            continue
        target = by_id.get(str(now.data.get("id")))
        if target is None or target.seq >= amend.seq:
            findings.append(_finding("correction-of-nothing", "corrects no earlier entry", amend))
        elif not can_be_corrected(target, clock):
            words = f"is of a {target.kind!r} entry, which is a fact and can't be corrected"
            findings.append(_finding("correction-of-a-fact", words, amend, target))
        else:
            standing.setdefault(target.id, []).insert(0, now)
    out = []
    for event in events:
        if event.kind == "amend":
            continue
        amends = standing.get(event.id)
        now = _applied(event, amends) if amends else _in_time(event)
        if now is not None:
            out.append(now)
    return Corrected(tuple(out), tuple(reversed(findings)))


def _applied(event: Event, amends: Sequence[Event]) -> Event | None:
    """``event`` after ``amends`` in order; ``None`` once withdrawn."""
    withdrawn = False
    at_ms = event.at_ms
    data = event.data
    for amend in amends:
        withdrawn = bool(amend.data.get("withdrawn", withdrawn))
        fields = amend.data.get("fields")
        if not isinstance(fields, Mapping):
            continue
        moved = fields.get("at_ms")
        if isinstance(moved, int) and not isinstance(moved, bool):
            at_ms = min(max(moved, 0), amend.noted_ms)
        data = _merged(data, {key: value for key, value in fields.items() if key != "at_ms"})
    if withdrawn:
        return None
    if at_ms == event.at_ms:
        at_ms = min(at_ms, event.noted_ms)
    return replace(event, at_ms=at_ms, data=data)


def _in_time(event: Event) -> Event:
    """``event``, dated when it was noted if it is dated later than that."""
    return event if event.at_ms <= event.noted_ms else replace(event, at_ms=event.noted_ms)


def _merged(data: Mapping[str, Any], fields: Mapping[str, Any]) -> Mapping[str, Any]:
    out = dict(data)
    for key, value in fields.items():
        if value is None:
            out.pop(key, None)
        elif isinstance(value, Mapping) and isinstance(out.get(key), Mapping):
            out[key] = _merged(out[key], value)
        else:
            out[key] = value
    return out


def _finding(code: str, words: str, amend: Event, target: Event | None = None) -> Finding:
    ids = (amend.id,) if target is None else (amend.id, target.id)
    return Finding(code, f"The correction noted at line {amend.seq + 1} {words}.", ids)
