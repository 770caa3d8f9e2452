"""What the sentences of a score card deny that the record holds, found without the scorer's help.

The record is read by itself: every performance that was written down and not removed, every value
set by hand, every fault found or put right, with its time on the team's clock. A sentence of what
was missed has to tell each of them that is about what its item asks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simengine.quantities.formatting import instant
from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedKnowledge,
    Avoid,
    Expect,
    Item,
    Order,
    Repeat,
    Respond,
)
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.session.record import Session

DENIES = ("There is no record", "there is no record")


def denials(session: Session, card: ScoreCard) -> list[str]:
    """Return each sentence that denies, or leaves out, what the record holds of what it asks."""
    keyed = {item.id: item for item in session.scenario.key}
    return [
        f"{scored.id}: {complaint}"
        for scored in card.items
        if scored.applied or scored.kind == "avoid"
        for complaint in _of_item(session, keyed[scored.id], scored)
    ]


def _of_item(session: Session, item: Item, scored: ItemScore) -> Iterator[str]:
    if isinstance(item, Expect | Respond):
        times = _times_of(session, item.asked)
        for occasion in scored.occasions:
            if occasion.verdict in ("missed", "attempted"):
                yield from _left_out(occasion.sentence, times)
                within = _times_of(
                    session, item.asked, (occasion.opened_ms, occasion.opened_ms + item.ideal_ms)
                )
                if "It was needed before" not in occasion.sentence:
                    yield from _misdated(occasion.sentence, within)
            elif any(words in occasion.sentence for words in DENIES):
                yield f"{occasion.verdict}: {occasion.sentence}"
    elif isinstance(item, Repeat) and scored.verdict in ("missed", "attempted"):
        yield from _left_out(scored.sentence, _times_of(session, item.asked))
    elif isinstance(item, Order) and any(words in scored.sentence for words in DENIES):
        for member in item.members:
            times = _done_at(session, member)
            if times and not any(time in scored.sentence for time in times):
                yield f"leaves out {', '.join(times)}: {scored.sentence}"
    elif isinstance(item, Avoid) and "did not happen" in scored.sentence:
        plain = item.only_while is None and not item.during and not item.begun
        if plain and isinstance(item.what, AskedAction):
            times = _done_at(session, item.what.actions)
            if times:
                yield f"in the record at {', '.join(times)}: {scored.sentence}"


def _left_out(sentence: str, times: Sequence[str]) -> Iterator[str]:
    missing = [time for time in times if time not in sentence]
    if missing:
        yield f"leaves out {', '.join(missing)}: {sentence}"
    if times and any(words in sentence for words in DENIES):
        yield f"denies {', '.join(times)}: {sentence}"


def _misdated(sentence: str, within: Sequence[str]) -> Iterator[str]:
    """Times told as another time than asked, though they lie within what is asked."""
    for clause in sentence.split("; "):
        if "but not in the time aimed for" in clause:
            head = clause.split(", but not in the time aimed for")[0]
            wrong = [time for time in within if time in head]
            if wrong:
                yield f"{', '.join(wrong)} was when it was asked: {sentence}"


def _times_of(
    session: Session, subject: object, within: tuple[int, int] | None = None
) -> list[str]:
    """When the record holds something of what is asked; ``within`` (ms): in a way that counts."""
    record = session.record
    if isinstance(subject, AskedAction):
        return _done_at(session, subject.actions, within)
    if isinstance(subject, AskedKnowledge):
        revealing = session.scenario.vocabulary.revealing(subject.observation)
        aloud = [
            _clock(session, done.start_ms)
            for done in record.performances
            if subject.observation in done.spoken
            and done.way in ("done", "simulated", "said")
            and done.start_ms <= session.end_ms
        ]
        if within is not None:
            return []
        # A value said aloud stands for the reading that it rests on.
        if subject.told and aloud:
            return aloud
        return _done_at(session, revealing, readings=subject.observation)
    if isinstance(subject, AskedFault):
        return [
            _clock(session, event.at_ms)
            for event in record.faults
            if event.fault == subject.fault and event.status == subject.status and not within
        ]
    return [
        _clock(session, change.at_ms)
        for change in record.changes.get(subject.setting, ())  # type: ignore[attr-defined]
        if change.touched and (within is None or within[0] <= change.at_ms <= within[1])
    ]


def _done_at(
    session: Session,
    actions: Sequence[str],
    within: tuple[int, int] | None = None,
    readings: str = "",
) -> list[str]:
    """The times of what was done; of what reads a value, the time at which it could be read."""
    vocabulary = session.scenario.vocabulary
    delays = {}
    if readings:
        delays = {by.action: by.delay_ms for by in vocabulary.observations[readings].revealed_by}
    out = []
    for done in session.record.performances:
        if done.action not in actions or done.start_mark is None or done.start_ms > session.end_ms:
            continue
        if within is not None:
            voiced = vocabulary.actions[done.action].by_voice and done.way == "said"
            if not (voiced or done.way in ("done", "simulated")):
                continue
            if not within[0] < done.start_ms <= within[1]:
                continue
            if not done.lasted(vocabulary.actions[done.action].shortest_ms):
                continue
        at = done.start_ms
        if done.action in delays and done.way in ("done", "simulated"):
            readable = at + delays[done.action]
            short = done.stop_ms is not None and readable >= done.stop_ms
            if readable > session.end_ms:
                continue
            at = at if short else readable
        out.append(_clock(session, at))
    return out


def _clock(session: Session, at: int) -> str:
    event = session.scenario.start.clock or ""
    return instant(at - (session.record.clock_ms or 0), event.replace("_", " "))
