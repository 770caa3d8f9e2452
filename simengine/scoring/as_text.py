"""A score card as text for a terminal: the total with its interval, then a line for each item."""

from __future__ import annotations

from simengine.quantities.formatting import count, percent, times
from simengine.scenario.kinds import CLASSES
from simengine.scoring.card import ItemScore, ScoreCard
from simengine.session.record import Session


def card_as_text(session: Session, card: ScoreCard) -> str:
    """Return the card as lines of text, every figure with its unit."""
    scenario = session.scenario
    protocol = scenario.protocol
    signed = "signed" if protocol.signed_by is not None else "unsigned"
    lines = [
        f"{scenario.title} (version {scenario.version}), {session.purpose} session",
        f"Protocol: {protocol.title}, edition {protocol.edition}, {signed}",
        _total(card),
        _outcome(card),
        "",
        f"{'credit':>7}  {'verdict':<13} item",
        *(_line(item) for item in card.items if CLASSES[item.kind].credited),
    ]
    if card.unsafe:
        lines += ["", "Unsafe in any baby:"]
        lines += [f"  {item.title}: {item.sentence}" for item in card.unsafe]
    if card.deductions:
        lines += ["", "Taken from the total:"]
        lines += [
            f"{percent(-deduction.amount):>7}  {deduction.title} ({times(deduction.occurrences)})"
            for deduction in card.deductions
        ]
    if card.found:
        lines += ["", "Found in the record:"]
        lines += [f"  {finding.evidence.words}" for finding in card.found]
    if session.findings:
        lines += ["", "About the record itself:"]
        lines += [f"  {finding.words}" for finding in session.findings]
    return "\n".join(lines)


def _total(card: ScoreCard) -> str:
    if card.total is None:
        return "Total: none, since no item applied"
    applied = sum(item.applied for item in card.items)
    line = f"Total {percent(card.total)}, from {count(applied, 'item')} that applied"
    if card.unrecorded:
        line += f", {card.unrecorded} not recorded"
    if card.interval is not None:
        low, high = card.interval
        line += f"; {percent(low)} to {percent(high)} if times were recorded with the usual error"
    return line


def _outcome(card: ScoreCard) -> str:
    if card.outcome is None:
        return f"Outcome: none. {' '.join(card.reasons)}"
    reasons = "".join(f"\n  {reason}" for reason in card.reasons)
    return f"Outcome proposed, for a person to sign: {card.outcome}{reasons}"


def _line(item: ItemScore) -> str:
    credit = percent(item.credit)
    notes = [
        word
        for word, holds in (
            ("with a cue", item.with_cue),
            ("too close to call", item.too_close),
            ("something not recorded", item.unrecorded and item.verdict != "not recorded"),
        )
        if holds
    ]
    remarks = f" ({', '.join(notes)})" if notes else ""
    return f"{credit:>7}  {item.verdict:<13} {item.title}{remarks}"
