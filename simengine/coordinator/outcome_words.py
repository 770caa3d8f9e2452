"""What was decided of a session, in words."""

from __future__ import annotations

from simengine.coordinator.contexts import Sign
from simengine.coordinator.record_contexts import Entry
from simengine.people.decisions import Decision, Outcomes, Signature, Standing
from simengine.web.local_time import local

UNSIGNED = Sign("none", "○", "not signed")
STANDINGS: dict[Standing, Sign] = {
    "stands": Sign("current", "●", "signed"),
    "under appeal": Sign("due", "◆", "under appeal"),
    "disputed": Sign("due", "◆", "disputed"),
    "superseded": Sign("none", "–", "superseded"),
}


def standing_of(
    said: Outcomes, proposed: str | None, person: str | None = None
) -> tuple[Sign, str]:
    """Return how the outcome stands, and a note beside it."""
    decision = said.of(person)
    if decision is None:
        if not said.confirmed:
            return UNSIGNED, "the record is not confirmed yet"
        return UNSIGNED, f"proposed: {proposed}" if proposed else "no outcome is proposed"
    note = decision.outcome
    if decision.countersigned:
        note += ", countersigned"
    standing = decision.standing(person)
    waiting = appealed_by(said) if person is None else ()
    if waiting and standing == "stands":
        return STANDINGS["under appeal"], f"{note}; appealed by {', '.join(waiting)}"
    return STANDINGS[standing], note


def appealed_by(said: Outcomes) -> tuple[str, ...]:
    """Return the codes of those whose own appeal waits for an answer."""
    waiting = []
    for code in said.roles:
        decision = said.of(code)
        if decision is not None and any(one.person for one in decision.open_appeals(code)):
            waiting.append(code)
    return tuple(waiting)


def entries_of(said: Outcomes, trainee: str) -> tuple[Entry, ...]:
    """Return all that was said; to a trainee nothing that concerns a colleague alone."""
    told: list[Entry] = []
    for decision in said.decisions:
        if not trainee or decision.person in (None, trainee):
            told += _decision(decision, trainee)
    if not trainee:
        told += [
            Entry("", "Seen differently", f"At item {item}: {text}") for item, text in said.remarks
        ]
        told += [Entry("", "Counted for nothing", note) for note in said.notes]
    return tuple(told)


def _decision(decision: Decision, trainee: str) -> list[Entry]:
    whose = f" for {decision.person}" if decision.person else ""
    told = [_signed(f"Signed{whose}", decision.signature)]
    told += [_signed("Countersigned", one) for one in decision.countersigned]
    told += [_signed("Signed otherwise", one) for one in decision.dissents]
    for appeal in decision.appeals:
        if trainee and appeal.person not in (None, trainee):
            continue
        answer = "answered" if appeal.answered else "waits for somebody who has not signed"
        by = f" by {appeal.person}" if appeal.person else ""
        told.append(Entry(_when(appeal.wall), f"Appealed{by}, {answer}", appeal.text))
    told += [
        Entry(_when(one.wall), "Superseded", one.by)
        for one in decision.superseded
        if not trainee or one.person in (None, trainee)
    ]
    return told


def _signed(what: str, signature: Signature) -> Entry:
    words = f"“{signature.outcome}”, by {signature.name} ({signature.credentials})"
    return Entry(_when(signature.wall), what, words)


def _when(wall: str) -> str:
    return local(wall)
