"""The plain tables of the debrief: scores, equipment, versions."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import simengine
from simengine.debrief.words import at
from simengine.quantities.wording import NONE, count, percent, percent_span
from simengine.report.blocks import Table
from simengine.scoring.card import Part, ScoreCard
from simengine.session.record import Session

FEW = 5
"""Below this many items a share says little, and the table says so."""


def scores(session: Session, card: ScoreCard, roles: Collection[str]) -> Table:
    """Return the total and its parts by phase, objective and role (those in ``roles``)."""
    scenario = session.scenario
    applied = [item for item in card.items if item.applied]
    rows = [("Whole session", percent(card.total), _interval(card.interval), _items(applied))]
    rows += _parts("Phase", card.phases, scenario.vocabulary.phases)
    rows += _parts("Objective", card.objectives, scenario.objectives)
    labels = {**scenario.vocabulary.roles, **scenario.roles}
    kept = {name: part for name, part in card.roles.items() if name in roles or name not in labels}
    rows += _parts("Role", kept, labels)
    taken = sum(deduction.amount for deduction in card.deductions)
    lead = "Share of the weighted items that applied."
    if taken:
        lead += (
            f" {percent(taken)} has been taken from the whole for what was not advised here; "
            "the parts are without deductions."
        )
    return Table(
        title="Scores",
        columns=("Part", "Share met", "90 % interval", "Items"),
        rows=tuple(rows),
        lead=lead,
        note=(
            "The interval says how far recording error alone could move a share (scored again "
            "1,000 times with times moved as people misjudge them); a session is one of many that "
            "the same team could have had, and that is not in it."
            if card.interval is not None
            else "No interval: these times were recorded by a machine, or not redrawn."
        ),
    )


def _interval(ends: tuple[float, float] | None) -> str:
    return NONE if ends is None else percent_span(*ends)


def _items(items: Collection[object]) -> str:
    return count(len(items), "item")


def _parts(
    kind: str, parts: Mapping[str, Part], labels: Mapping[str, str]
) -> list[tuple[str, str, str, str]]:
    order = [name for name in labels if name in parts]
    order += [name for name in parts if name not in labels]
    return [
        (
            f"{kind}: {labels.get(name, name)}",
            percent(parts[name].total),
            _interval(parts[name].interval),
            count(parts[name].items, "item") + (", few" if parts[name].items < FEW else ""),
        )
        for name in order
    ]


def equipment(session: Session) -> Table | None:
    """Return the planted faults: found and put right, when; ``None`` where none was planted."""
    faults = session.scenario.start.faults
    if not faults:
        return None
    events = session.record.faults
    rows = []
    for name, fault in faults.items():
        if fault.planted_at_start or any(
            event.fault == name and event.status == "planted" for event in events
        ):
            rows.append(
                (
                    fault.shows,
                    _when(session, name, "found"),
                    _when(session, name, "mended"),
                )
            )
    for given in session.record.unavailable:
        thing = str(given.get("action") or given.get("setting") or "")
        vocabulary = session.scenario.vocabulary
        label = (
            vocabulary.actions[thing].label
            if thing in vocabulary.actions
            else vocabulary.settings[thing].label
            if thing in vocabulary.settings
            else thing
        )
        rows.append((f"{label}: not there (a hazard to report)", "–", str(given.get("text", "–"))))
    if not rows:
        return None
    return Table(
        title="Equipment",
        columns=("Fault", "Found", "Put right"),
        rows=tuple(rows),
        lead="What was planted, and what became of it.",
        note=_returned(session),
    )


def _when(session: Session, fault: str, status: str) -> str:
    for event in session.record.faults:
        if event.fault == fault and event.status == status:
            return at(session, event.at_ms)
    if status == "found" and any(
        event.fault == fault and event.status == "mended" for event in session.record.faults
    ):
        return "with putting it right"
    return "not recorded"


def _returned(session: Session) -> str:
    if not session.scenario.returns_cot:
        return ""
    for event in session.effective:
        if event.kind == "returned":
            return "The cot was checked and returned to service before the session was closed."
    return (
        "The return of the cot to service is not in the record: make sure that every planted "
        "fault has been put right."
    )


def versions(session: Session) -> Table:
    """Return what this page was made from, so that it can be made again."""
    scenario = session.scenario
    opened = next((event.data for event in session.effective if event.kind == "opened"), {})
    rows = [
        ("Scenario", f"{scenario.id}, version {scenario.version}", scenario.digest),
        (
            "Protocol",
            f"{scenario.protocol.id}, edition {scenario.protocol.edition}",
            scenario.protocol.digest,
        ),
        ("Vocabulary", scenario.vocabulary.id, scenario.vocabulary.digest),
        ("Session log", f"{count(len(session.events), 'entry', 'entries')}", session.last_hash),
        ("Session", session.session_id, "–"),
        ("Recorded with", str(opened.get("program", "not recorded")), "–"),
        ("Debrief made with", f"simengine {simengine.__version__}", "–"),
    ]
    return Table(
        title="Versions",
        columns=("What", "Which", "Digest (SHA-256)"),
        rows=tuple(rows),
        lead="With these the same figures come out again.",
    )
