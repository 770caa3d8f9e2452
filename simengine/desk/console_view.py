"""The facilitator's console as one view."""

from __future__ import annotations

from simengine.desk.action_views import actions_of
from simengine.desk.baby_sentences import baby_of
from simengine.desk.coming import coming_of, states_of
from simengine.desk.cot import cot_of
from simengine.desk.equipment_view import faults_of, settings_of, supplies_of
from simengine.desk.expected import expected_of
from simengine.desk.lanes import lanes_of, people_of
from simengine.desk.marks import clock_of
from simengine.desk.scene import Scene, now_of
from simengine.desk.steps import steps_of
from simengine.desk.tape import (
    MOST_SHOWN,
    cues_of,
    entries_in,
    last_entry_of,
    notes_of,
    tape_of,
)
from simengine.desk.view import Banner, ConsoleView
from simengine.scenario.model import Scenario
from simengine.session.fold import Fold
from simengine.session.record import Session
from simengine.session.undo import UNDONE_WITHIN_MS

_LOST = "lost-event"


def console_of(scene: Scene, *, screens: int) -> ConsoleView:
    """Return everything that the console shows. ``screens``: how many displays are open."""
    fold = scene.fold
    state = scene.scenario.states[fold.state]
    expected = expected_of(scene)
    actions = actions_of(scene, expected)
    tape = tape_of(scene, MOST_SHOWN)
    return ConsoleView(
        session=scene.session.session_id,
        version=len(fold.events),
        banner=banner_of(scene.scenario, scene.session.purpose),
        now=now_of(scene),
        turns=turns_of(scene.session),
        clock=clock_of(scene),
        state=state.name,
        state_title=state.title,
        trend=state.trend,
        baby=baby_of(scene),
        coming=coming_of(scene),
        lost=tuple(finding.words for finding in scene.session.findings if finding.code == _LOST),
        states=states_of(scene),
        expected=expected,
        lanes=lanes_of(scene, actions, expected),
        actions=actions,
        settings=settings_of(scene),
        supplies=supplies_of(scene),
        tape=tape,
        earlier=entries_in(scene) - len(tape),
        steps=steps_of(scene),
        undone_within_ms=UNDONE_WITHIN_MS,
        last_entry=last_entry_of(tape),
        cues=cues_of(scene),
        faults=faults_of(scene),
        people=people_of(scene),
        roles=tuple(scene.scenario.roles.items()),
        notes=notes_of(scene),
        kept=len(fold.events),
        screens=screens,
        closed=scene.session.closed,
        ending_ms=_ending(fold, scene.session),
        returns_cot=scene.scenario.returns_cot,
        returned=fold.returned,
        cot=cot_of(scene),
        confirmed=scene.session.record.confirmed,
    )


def turns_of(session: Session) -> tuple[tuple[int, int, bool], ...]:
    """Return from when (log) the session's own time was what, and whether it ran on."""
    return tuple((log, own, runs) for log, _, own, runs in session.times.turns)


def banner_of(scenario: Scenario, purpose: str) -> Banner:
    """Return what every screen carries of a session."""
    protocol = scenario.protocol
    signed = protocol.signed_by
    words = f"{protocol.title}, edition {protocol.edition}"
    words += f", signed by {signed.name} on {signed.date}" if signed else ", unsigned"
    if protocol.superseded_by:
        words += f"; superseded by {protocol.superseded_by}"
    return Banner(
        title=scenario.title,
        protocol=words,
        band=", ".join(
            [
                f"{protocol.title} {protocol.edition}",
                "signed" if signed else "unsigned",
            ]
        ),
        caution=scenario.vocabulary.caution,
        purpose="summative"
        if purpose == "summative"
        else ("rehearsal" if purpose == "rehearsal" else "formative"),
    )


def _ending(fold: Fold, session: Session) -> int | None:
    """When the session closes by itself: after the last look at a state that ends it."""
    stay = fold.stay
    if fold.closed is not None or stay is None or fold.must_return:
        return None
    state = fold.scenario.states[stay.state]
    return stay.entry_ms + state.linger_ms if state.ends else None
