"""The timeline of a folded session, for who judges conditions on it."""

from __future__ import annotations

from collections.abc import Sequence

from simengine.scenario.wanted import Value
from simengine.session.doses import DoseGiven, dose_given
from simengine.session.readings import session_sensing
from simengine.session.record import Interval, Session
from simengine.session.truth import FaultStatus, Timeline


def timeline_of(session: Session) -> Timeline:
    """Return what conditions look at, by the best account: corrections applied, times as ``at``.

    Stays and curves are what the engine showed. Truths of curves are kept from call to call.
    """
    scenario = session.scenario
    actions = scenario.vocabulary.actions
    doing: dict[str, list[Interval]] = {}
    done: dict[str, list[int]] = {}
    given: dict[str, list[DoseGiven]] = {}
    for performance in session.record.performances:
        if not performance.acts:
            continue
        if performance.stop_ms is not None:
            doing.setdefault(performance.action, []).append(
                (performance.start_ms, performance.stop_ms)
            )
        if performance.lasted(actions[performance.action].shortest_ms):
            done.setdefault(performance.action, []).append(performance.start_ms)
        dose, weight_g = actions[performance.action].dose, scenario.infant.weight_g
        if dose is not None:
            protocol = scenario.doses.get(performance.action, {})
            of_it = dose_given(dose, performance.dose, weight_g, protocol, performance.start_ms)
            if of_it is not None:
                given.setdefault(performance.action, []).append(of_it)
    settings: dict[str, Sequence[tuple[int, Value]]] = {
        name: [(change.at_ms, change.value) for change in changes]
        for name, changes in session.record.changes.items()
    }
    faults: dict[str, list[tuple[int, FaultStatus]]] = {}
    for fault in session.record.faults:
        faults.setdefault(fault.fault, []).append((fault.at_ms, fault.status))
    return Timeline(
        doing=doing,
        done=done,
        given=given,
        settings=settings,
        faults=faults,
        stays=[(stay.entry_ms, stay.exit_ms) for stay in session.stays],
        curves=session.curves,
        words=session.words,
        supplies=session.supplies,
        seen={name: senses.first_known for name, senses in session_sensing(session).items()},
        clock_ms=session.record.clock_ms,
        cache={},
    )
