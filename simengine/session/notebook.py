"""How a session shows itself in a notebook: a line, a clock strip, and tables for pandas.

Rules of this file:

- The strip is one picture: the states with their names, then a row of marks for each role. No
  mark is told by its colour alone; each has its words as a tooltip, and all of it is told in the
  picture's description as well.
- Times are the team's clock where it was started, else the time since the start; columns of
  tables are in the units that their names end in.
- pandas is imported as a table is asked for: ``pip install simengine[notebook]`` brings it.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import TYPE_CHECKING, Any

from simengine.quantities import format_duration, parse_duration
from simengine.quantities.formatting import clock, count
from simengine.session.entry_words import entry_words
from simengine.session.events import Event
from simengine.session.replay import curve_columns, curve_rows

if TYPE_CHECKING:
    import pandas as pd

    from simengine.session.record import Session

WIDTH = 960
LABEL = 150
ROW = 26
_MARKED = ("action", "set", "fault", "cue")
_TEAM = "team"


def summary(session: Session) -> str:
    """Return the session in a line."""
    ended = session.closed or "not closed"
    return (
        f"<Session {session.session_id[:8]} of {session.scenario.id}, {session.purpose}: "
        f"{count(len(session.events), 'event')} in {format_duration(_whole(session.end_ms))}, "
        f"{ended}>"
    )


def clock_strip(session: Session) -> str:
    """Return the session as HTML: its states and what each role did, along the clock."""
    zero = session.record.clock_ms or 0
    rows = _rows(session)
    height = ROW * (len(rows) + 2)
    marks: list[str] = []
    for number, (role, events) in enumerate(rows.items(), start=1):
        top = ROW * number
        marks.append(_label(top, role))
        for at_ms, words in events:
            x = _x(session, at_ms)
            caption_text = f"{clock(at_ms - zero)} {words}"
            marks.append(
                f'<path d="M{x:.1f} {top + 4} v{ROW - 8}" stroke="#222" stroke-width="2">'
                f"<title>{escape(caption_text)}</title></path>"
            )
    caption_text = f"{session.scenario.title}: {', '.join(_story(session, zero))}"
    caption = (
        f"{session.scenario.title}, {session.purpose} session, "
        f"{format_duration(_whole(session.end_ms))}, {session.closed or 'not closed'}. "
        "Training only: nothing here is advice for a real baby."
    )
    return (
        f'<figure style="margin:0"><svg viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-label="{escape(caption_text)}" style="max-width:100%;font:12px sans-serif">'
        f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>'
        f"{''.join(_states(session))}{''.join(marks)}{''.join(_axis(session, zero, height))}"
        f"</svg><figcaption>{escape(caption)}</figcaption></figure>"
    )


def curves_frame(session: Session, every: str) -> pd.DataFrame:
    """Return ``curve_rows`` as a table, a row for each ``every``, such as ``1 s``.

    Raises ``ValueError`` where ``every`` is no length of time above 0.
    """
    every_ms = parse_duration(every)
    if every_ms <= 0:
        raise ValueError(f"expected a length of time above 0 such as 1 s, found {every!r}")
    return _pandas().DataFrame(curve_rows(session, every_ms), columns=list(curve_columns(session)))


def events_frame(session: Session) -> pd.DataFrame:
    """Return the entries as a table in order of time, corrections applied, with their words."""
    zero = session.record.clock_ms
    rows = [
        {
            "scenario_time (ms)": at_ms,
            "clock (ms)": None if zero is None else at_ms - zero,
            "kind": event.kind,
            "role": event.data.get("role"),
            "words": entry_words(session.scenario, event),
            "by": event.by,
            "id": event.id,
        }
        for at_ms, event in in_order(session)
    ]
    return _pandas().DataFrame(rows).astype({"clock (ms)": "Int64"})


def in_order(session: Session) -> list[tuple[int, Event]]:
    """Return the entries, corrections applied, each with its scenario time in ms, in order."""
    entries = [
        (session.times.scenario(event.at_ms, event.seq), event)
        for event in session.effective
        if event.kind != "amend"
    ]
    return sorted(entries, key=lambda entry: (entry[0], entry[1].seq))


def _pandas() -> Any:
    try:
        import pandas
    except ImportError as error:
        raise ImportError("a table needs pandas: pip install simengine[notebook]") from error
    return pandas


def _rows(session: Session) -> dict[str, list[tuple[int, str]]]:
    """Return what is marked, by role in the scenario's order; what has no role is the team's."""
    rows: dict[str, list[tuple[int, str]]] = {role: [] for role in (*session.scenario.roles, _TEAM)}
    for at_ms, event in in_order(session):
        if event.kind in _MARKED:
            role = event.data.get("role") or _TEAM
            rows.setdefault(role, []).append((at_ms, entry_words(session.scenario, event)))
    return {role: events for role, events in rows.items() if events}


def _states(session: Session) -> Iterator[str]:
    yield _label(0, "state")
    for number, stay in enumerate(session.stays):
        left = _x(session, stay.entry_ms)
        right = _x(session, min(stay.exit_ms, session.end_ms))
        title = session.scenario.states[stay.state].title
        fits = max(0, int((right - left) / 7))
        shown = title if len(title) <= fits else f"{title[: fits - 1]}…" if fits > 3 else ""
        fill = ("#dfe8ee", "#f1ede2")[number % 2]
        yield (
            f'<g><title>{escape(title)}</title><rect x="{left:.1f}" y="2" '
            f'width="{max(right - left, 1):.1f}" height="{ROW - 4}" fill="{fill}" stroke="#222"/>'
            f'<text x="{left + 4:.1f}" y="{ROW - 9}">{escape(shown)}</text></g>'
        )


def _axis(session: Session, zero: int, height: int) -> Iterator[str]:
    minute = 60_000
    first = -(zero // minute)
    last = (session.end_ms - zero) // minute
    step = max(1, (last - first) // 12)
    for number in range(first, last + 1, step):
        x = _x(session, zero + number * minute)
        yield (
            f'<path d="M{x:.1f} 0 V{height - ROW + 4}" stroke="#222" stroke-opacity=".25"/>'
            f'<text x="{x:.1f}" y="{height - 8}" text-anchor="middle">'
            f"{clock(number * minute)}</text>"
        )


def _story(session: Session, zero: int) -> Iterator[str]:
    for stay in session.stays:
        title = session.scenario.states[stay.state].title
        yield f"{title} from {clock(stay.entry_ms - zero)}"


def _label(top: int, words: str) -> str:
    return f'<text x="0" y="{top + ROW - 9}">{escape(words.replace("_", " "))}</text>'


def _x(session: Session, at_ms: int) -> float:
    return LABEL + (WIDTH - LABEL - 20) * at_ms / max(session.end_ms, 1)


def _whole(ms: int) -> int:
    return round(ms / 1000) * 1000
