"""From a scored session to what a cohort knows of it, and back from JSON.

Rules of this file:

- An item's time is that of its first occasion that was reached: from the instant at which it was
  asked to what served it, in time or not, with settings right or not. It is negative where it was
  done before it was asked. What was only said, ordered or attempted was not done.
- ``watched_s`` is from that same instant to the entry of a state of ``until``, the end of the stay
  of ``during``, or the end of the session, whichever is first; for ``respond``, whose windows none
  of the first two closes, to the end of the session.
- Only ``expect`` and ``respond`` have times.
- An item has a ``person`` only where it is that person's own: confirmed, with a role, and nobody
  else held that role then.
- The day is that of the opening in UTC, as the log has it.
- A fault was planted if the log planted it. One that was found or put right without having been,
  and kit that was not there, were met by chance: their times are from the session's start.
- ``from_json`` of a result as orjson tells it is that result, to the last digit.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from sys import intern
from typing import Any

from simengine import __version__
from simengine.cohort.records import FaultResult, ItemResult, SessionResult
from simengine.scenario.key import Item, Windowed
from simengine.scoring.card import EQUAL, ItemScore, OccasionScore, ScoreCard
from simengine.scoring.edition import EDITION
from simengine.scoring.people import Holding, holdings, standing
from simengine.session.account import PROGRAM
from simengine.session.record import FaultEvent, Session


def result_of(session: Session, card: ScoreCard, *, unit: str | None) -> SessionResult:
    """Return a session's result: trainee codes, fractions of 1, seconds of scenario time.

    ``unit``: where it was held, ``None`` where nobody said.
    """
    scenario = session.scenario
    wall = session.events[0].wall
    items = {item.id: item for item in scenario.key}
    held = holdings(session)
    standard = scenario.scoring.pass_mark if scenario.scoring.is_set else None
    return SessionResult(
        session=session.session_id,
        day=datetime.fromisoformat(wall).date(),
        wall=wall,
        unit=unit,
        scenario=scenario.id,
        scenario_title=scenario.title,
        scenario_digest=scenario.digest,
        protocol=scenario.protocol.id,
        protocol_digest=scenario.protocol.digest,
        program=__version__,
        purpose=session.purpose,
        confirmed=session.record.confirmed,
        closed=session.closed,
        duration_s=session.end_ms / 1000,
        total=card.total,
        interval=card.interval,
        outcome=card.outcome,
        standard=standard,
        team={role: tuple(people) for role, people in session.record.team.items()},
        by=tuple(dict.fromkeys(event.by for event in session.events if event.by != PROGRAM)),
        items=tuple(_item(session, items[score.id], score, held) for score in card.items),
        objectives=dict(scenario.objectives),
        faults=tuple(_faults(session)),
        unsafe={item.id.removeprefix("never:"): item.title for item in card.unsafe},
        edition=EDITION,
    )


def from_json(told: Mapping[str, Any]) -> SessionResult:
    """Return the result that ``orjson.dumps`` told."""
    interval = told["interval"]
    return SessionResult(
        **{
            **_shared(told),
            "day": date.fromisoformat(told["day"]),
            "interval": None if interval is None else (interval[0], interval[1]),
            "team": {
                role: tuple(intern(person) for person in people)
                for role, people in told["team"].items()
            },
            "by": tuple(told["by"]),
            "items": tuple(ItemResult(**_shared(item)) for item in told["items"]),
            "objectives": _shared(told["objectives"]),
            "unsafe": _shared(told.get("unsafe", {})),
            "faults": tuple(FaultResult(**_shared(fault)) for fault in told["faults"]),
        }
    )


def _shared(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Return the same values; each text is held once, since most come again in every session."""
    return {
        name: intern(value) if isinstance(value, str) else value for name, value in fields.items()
    }


def _item(session: Session, item: Item, score: ItemScore, held: Sequence[Holding]) -> ItemResult:
    first = next(
        (occasion for occasion in score.occasions if occasion.verdict != "not reached"), None
    )
    timed = first is not None and isinstance(item, Windowed)
    people = dict.fromkeys(holder.person for holder in held)
    return ItemResult(
        id=score.id,
        title=score.title,
        kind=score.kind,
        importance=score.importance,
        weight=score.weight,
        applied=score.applied,
        credit=score.credit,
        verdict=score.verdict,
        objective=score.objective,
        phase=score.phase or None,
        role=score.role,
        person=next(
            (person for person in people if standing(session, score, person, held) == "own"),
            None,
        ),
        with_cue=score.with_cue,
        time_s=_seconds(first.delay_ms) if timed and first is not None else None,
        watched_s=_watched_s(session, item, first) if timed and first is not None else None,
        limit_s=item.latest_ms / 1000 if isinstance(item, Windowed) else None,
        stops_pass=_stops_pass(session, item, score),
    )


def _stops_pass(session: Session, item: Item, score: ItemScore) -> bool:
    if not item.credited:
        return item.stops_pass and score.verdict == "done in error"
    if item.importance != "essential" or score.credit is None:
        return False
    short = score.credit < session.scenario.scoring.essential_floor - EQUAL
    return short or (score.with_cue and not item.cues_allowed)


def _watched_s(session: Session, item: Item, occasion: OccasionScore) -> float:
    opened = occasion.opened_ms
    ends = [session.end_ms]
    if item.anchor is not None and item.during:
        ends += _left(session, item.during, opened)
    ends += [
        stay.entry_ms
        for stay in session.stays
        if stay.state in item.until and stay.entry_ms > opened
    ]
    return max(0, min(ends) - opened) / 1000


def _left(session: Session, states: Sequence[str], at_ms: int) -> Iterator[int]:
    """Yield when states outside ``states`` are entered after an instant."""
    for stay in session.stays:
        if stay.entry_ms > at_ms and stay.state not in states:
            yield stay.entry_ms


def _faults(session: Session) -> Iterator[FaultResult]:
    named = session.scenario.start.faults
    planted: dict[str, list[FaultEvent]] = {}
    for fault in session.record.faults:
        planted.setdefault(fault.fault, []).append(fault)
    for name, steps in planted.items():
        start = steps[0].at_ms
        found_at_ms = next((step.at_ms for step in steps if step.status != "planted"), None)
        put_right = next((step.at_ms for step in steps if step.status == "mended"), None)
        yield FaultResult(
            id=name,
            title=named[name].shows,
            planted=True,
            found_s=None if found_at_ms is None else (found_at_ms - start) / 1000,
            put_right_s=None if put_right is None else (put_right - start) / 1000,
            watched_s=max(0, session.end_ms - start) / 1000,
        )
    yield from _met(session, set(planted))


def _met(session: Session, planted: set[str]) -> Iterator[FaultResult]:
    """Yield what nobody had planted, once each."""
    named = session.scenario.start.faults
    met: dict[str, dict[str, int]] = {}
    titles: dict[str, str] = {}
    for event in session.effective:
        data = event.data
        if event.kind == "fault" and data.get("fault") not in planted:
            name = str(data["fault"])
            titles[name] = named[name].shows if name in named else name.replace("_", " ")
            step = str(data.get("status"))
        elif event.kind == "unavailable":
            name, label = _kit(session, data)
            titles[name], step = f"{label}: was not there", "found"
        else:
            continue
        at_ms = session.times.scenario(event.at_ms, event.seq)
        met.setdefault(name, {}).setdefault(step, at_ms)
    for name, steps in met.items():
        if "planted" in steps:
            continue
        put_right = steps.get("mended")
        yield FaultResult(
            id=name,
            title=titles[name],
            planted=False,
            found_s=_seconds(steps.get("found", put_right)),
            put_right_s=_seconds(put_right),
            watched_s=session.end_ms / 1000,
        )


def _kit(session: Session, data: Mapping[str, Any]) -> tuple[str, str]:
    vocabulary = session.scenario.vocabulary
    labels = {
        "action": {name: action.label for name, action in vocabulary.actions.items()},
        "setting": {name: setting.label for name, setting in vocabulary.settings.items()},
    }
    kind = "action" if "action" in data else "setting"
    name = str(data[kind])
    return f"unavailable:{name}", labels[kind].get(name, name.replace("_", " "))


def _seconds(ms: int | None) -> float | None:
    return None if ms is None else ms / 1000
