"""What to look at in the record itself: findings, and steps that were likely done but not seen.

Rules of this file:

- A likely unseen step is an occasion without a performance whose window overlaps a stretch in
  which the recorder was busy: at least ``BUSY_ENTRIES`` entries written down within
  ``BUSY_MS``, or an entry written down ``BEHIND_MS`` after it happened.
- These figures are choices of this program, without a source; the list is for review and changes
  no score.
"""

from __future__ import annotations

from collections.abc import Sequence

from simengine.debrief.debrief_sentences import say
from simengine.debrief.words import at
from simengine.report.blocks import Listing
from simengine.scenario.key import Windowed
from simengine.scoring.card import ItemScore
from simengine.session.events import Event
from simengine.session.record import Interval, Session

BUSY_ENTRIES = 4
BUSY_MS = 15_000
BEHIND_MS = 10_000
_BY_HAND = frozenset({"action", "set", "fault", "note", "cue", "information"})


def busy_stretches(events: Sequence[Event]) -> list[Interval]:
    """Return the stretches of log time in which whoever recorded had their hands full."""
    entries = [event for event in events if event.kind in _BY_HAND]
    noted = sorted(event.noted_ms for event in entries)
    stretches = [
        (noted[index], noted[index + BUSY_ENTRIES - 1])
        for index in range(len(noted) - BUSY_ENTRIES + 1)
        if noted[index + BUSY_ENTRIES - 1] - noted[index] <= BUSY_MS
    ]
    stretches += [
        (event.at_ms, event.noted_ms)
        for event in entries
        if event.noted_ms - event.at_ms >= BEHIND_MS
    ]
    return sorted(stretches)


def likely_unseen(session: Session, scores: Sequence[ItemScore]) -> Listing | None:
    """Return the steps that may have been done while the recorder was busy."""
    busy = [
        (session.times.scenario(start), session.times.scenario(end))
        for start, end in busy_stretches(session.effective)
    ]
    items = {item.id: item for item in session.scenario.key}
    lines = []
    for score in scores:
        item = items[score.id]
        if not isinstance(item, Windowed) or not item.latest_ms:
            continue
        for occasion in score.occasions:
            start, end = occasion.opened_ms, occasion.opened_ms + item.latest_ms
            if (
                occasion.done_ms is None
                and occasion.verdict == "missed"
                and any(a <= end and start <= b for a, b in busy)
            ):
                lines.append(
                    say(
                        "likely_unseen_line",
                        title=score.title,
                        start=at(session, start),
                        end=at(session, end),
                    )
                )
    if not lines:
        return None
    return Listing(
        title=say("likely_unseen_title"),
        lead=(say("likely_unseen_lead")),
        lines=tuple(dict.fromkeys(lines)),
    )


def findings(session: Session) -> Listing | None:
    """Return what is odd in the record; it is scored as nothing."""
    if not session.findings:
        return None
    lines = [
        f"{at(session, finding.at_ms)}: {finding.words}"
        if finding.at_ms is not None
        else finding.words
        for finding in session.findings
    ]
    return Listing(
        title=say("findings_title"),
        lead=say("findings_lead"),
        lines=tuple(lines),
    )
