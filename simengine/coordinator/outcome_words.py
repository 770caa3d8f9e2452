"""What was decided of a session, in words."""

from __future__ import annotations

from simengine.coordinator.contexts import Sign
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.record_contexts import Entry
from simengine.people.decisions import Decision, Outcomes, Signature, Standing
from simengine.web.local_time import local

UNSIGNED = Sign("none", "○", say("standing_unsigned"))
STANDINGS: dict[Standing, Sign] = {
    "stands": Sign("current", "●", say("standing_signed")),
    "under appeal": Sign("due", "◆", say("standing_appealed")),
    "disputed": Sign("due", "◆", say("standing_disputed")),
    "superseded": Sign("none", "–", say("standing_superseded")),
}


def standing_of(
    said: Outcomes, proposed: str | None, person: str | None = None
) -> tuple[Sign, str]:
    """Return how the outcome stands, and a note beside it."""
    decision = said.of(person)
    if decision is None:
        if not said.confirmed:
            return UNSIGNED, say("outcome_unconfirmed")
        return UNSIGNED, say("outcome_proposed" if proposed else "outcome_none", outcome=proposed)
    note = decision.outcome
    if decision.countersigned:
        note = say("outcome_countersigned", outcome=note)
    standing = decision.standing(person)
    waiting = appealed_by(said) if person is None else ()
    if waiting and standing == "stands":
        return STANDINGS["under appeal"], say(
            "outcome_appealed_by", note=note, codes=", ".join(waiting)
        )
    return STANDINGS[standing], note


def appealed_by(said: Outcomes) -> tuple[str, ...]:
    """Return the codes of those whose own appeal waits for an answer."""
    waiting = []
    for code in said.roles:
        decision = said.of(code)
        if decision is not None and any(appeal.person for appeal in decision.open_appeals(code)):
            waiting.append(code)
    return tuple(waiting)


def entries_of(said: Outcomes, trainee: str) -> tuple[Entry, ...]:
    """Return all that was said; to a trainee nothing that concerns a colleague alone."""
    entries: list[Entry] = []
    for decision in said.decisions:
        if not trainee or decision.person in (None, trainee):
            entries += _decision(decision, trainee)
    if not trainee:
        entries += [
            Entry("", say("entry_remark"), say("entry_remark_text", item=item, text=text))
            for item, text in said.remarks
        ]
        entries += [Entry("", say("entry_nothing"), note) for note in said.notes]
    return tuple(entries)


def _decision(decision: Decision, trainee: str) -> list[Entry]:
    whose = say("entry_signed_for" if decision.person else "entry_signed", person=decision.person)
    entries = [_signed(whose, decision.signature)]
    entries += [
        _signed(say("entry_countersigned"), signature) for signature in decision.countersigned
    ]
    entries += [_signed(say("entry_dissent"), dissent) for dissent in decision.dissents]
    for appeal in decision.appeals:
        if trainee and appeal.person not in (None, trainee):
            continue
        answer = say("appeal_answered" if appeal.answered else "appeal_waits")
        key = "entry_appealed_by" if appeal.person else "entry_appealed"
        words = say(key, person=appeal.person, answer=answer)
        entries.append(Entry(_when(appeal.wall), words, appeal.text))
    entries += [
        Entry(_when(superseded.wall), say("entry_superseded"), superseded.by)
        for superseded in decision.superseded
        if not trainee or superseded.person in (None, trainee)
    ]
    return entries


def _signed(what: str, signature: Signature) -> Entry:
    words = say(
        "signature",
        outcome=signature.outcome,
        name=signature.name,
        credentials=signature.credentials,
    )
    return Entry(_when(signature.wall), what, words)


def _when(wall: str) -> str:
    return local(wall)
