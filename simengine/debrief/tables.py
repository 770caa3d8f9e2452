"""The plain tables of the debrief: scores, equipment, versions."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import simengine
from simengine.debrief.debrief_sentences import say
from simengine.debrief.words import at
from simengine.quantities.formatting import NONE, count, percent, percent_span
from simengine.report.blocks import Table
from simengine.scoring.card import Part, ScoreCard
from simengine.session.record import Session

FEW = 5
"""Below this many items a share says little, and the table says so."""


def scores(
    session: Session, card: ScoreCard, roles: Collection[str], *, personal: bool = False
) -> Table:
    """Return the total and its parts by phase, objective and role (those in ``roles``).

    On a ``personal`` page the title says that they are the team's.
    """
    scenario = session.scenario
    applied = [item for item in card.items if item.applied]
    rows = [
        (
            say("scores_whole_session"),
            percent(card.total),
            _interval(card.interval),
            _items(applied),
        )
    ]
    rows += _parts(say("scores_phase"), card.phases, scenario.vocabulary.phases)
    rows += _parts(say("scores_objective"), card.objectives, scenario.objectives)
    labels = {**scenario.vocabulary.roles, **scenario.roles}
    kept = {name: part for name, part in card.roles.items() if name in roles or name not in labels}
    rows += _parts(say("scores_role"), kept, labels)
    taken = sum(deduction.amount for deduction in card.deductions)
    lead = say("scores_lead")
    if taken:
        lead += say("scores_deducted", taken=percent(taken))
    return Table(
        title=say("scores_title_personal" if personal else "scores_title"),
        columns=(
            say("scores_part"),
            say("scores_share_met"),
            say("scores_interval"),
            say("scores_items"),
        ),
        rows=tuple(rows),
        lead=lead,
        note=(
            say("scores_with_interval")
            if card.interval is not None
            else say("scores_without_interval")
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
            count(parts[name].items, "item")
            + (say("scores_few") if parts[name].items < FEW else ""),
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
        rows.append((say("equipment_unavailable", label=label), "–", str(given.get("text", "–"))))
    if not rows:
        return None
    return Table(
        title=say("equipment_title"),
        columns=(say("equipment_fault"), say("equipment_found"), say("equipment_put_right")),
        rows=tuple(rows),
        lead=say("equipment_lead"),
        note=_returned(session),
    )


def _when(session: Session, fault: str, status: str) -> str:
    for event in session.record.faults:
        if event.fault == fault and event.status == status:
            return at(session, event.at_ms)
    if status == "found" and any(
        event.fault == fault and event.status == "mended" for event in session.record.faults
    ):
        return say("equipment_found_with_mending")
    return say("not_recorded")


def _returned(session: Session) -> str:
    if not session.scenario.returns_cot:
        return ""
    for event in session.effective:
        if event.kind == "returned":
            return say("cot_returned")
    return say("cot_not_returned")


def versions(session: Session) -> Table:
    """Return what this page was made from, so that it can be made again."""
    scenario = session.scenario
    opened = next((event.data for event in session.effective if event.kind == "opened"), {})
    rows = [
        (
            say("versions_scenario"),
            say("versions_version", id=scenario.id, version=scenario.version),
            scenario.digest,
        ),
        (
            say("versions_protocol"),
            say("versions_edition", id=scenario.protocol.id, edition=scenario.protocol.edition),
            scenario.protocol.digest,
        ),
        (say("versions_vocabulary"), scenario.vocabulary.id, scenario.vocabulary.digest),
        (
            say("versions_session_log"),
            f"{count(len(session.events), 'entry', 'entries')}",
            session.last_hash,
        ),
        (say("versions_session"), session.session_id, "–"),
        (say("versions_recorded_with"), str(opened.get("program", say("not_recorded"))), "–"),
        (
            say("versions_debrief_made_with"),
            say("versions_simengine", version=simengine.__version__),
            "–",
        ),
    ]
    return Table(
        title=say("versions_title"),
        columns=(say("versions_what"), say("versions_which"), say("versions_digest_sha")),
        rows=tuple(rows),
        lead=say("versions_lead"),
    )
