"""Laying the marking guide beside one session.

Rules of this file:

- ``during`` stays are [entry, exit) cut to the session; adjoining ones are one stay.
- An item is set aside (not reached) if it was marked as not observed, or if what it asks for
  (an action, a setting) was not there; a setting that an item only checks is then left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.scenario.vocabulary import Action
from simengine.scoring.guide import guide_of
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.plan import ItemPlan, KnownPerformance, Plan
from simengine.session.record import Interval, Performance, Session
from simengine.session.truth import Timeline


@dataclass(frozen=True, slots=True)
class _Missing:
    """Kit that was not there."""

    actions: frozenset[str]
    settings: frozenset[str]


def make_plan(session: Session) -> Plan:
    """Lay the marking guide beside a session."""
    record, scenario = session.record, session.scenario
    actions = scenario.vocabulary.actions
    performances: dict[str, list[KnownPerformance]] = {}
    for performance in record.performances:
        momentary = performance.stop_ms is None
        performances.setdefault(performance.action, []).append(
            KnownPerformance(
                performance=performance,
                momentary=momentary,
                start=performance.start_ms,
                stop=performance.start_ms if performance.stop_ms is None else performance.stop_ms,
                seq=performance.seq,
                start_mark=performance.start_mark,
                stop_mark=performance.stop_mark,
                shortest=actions[performance.action].shortest_ms,
                way=_way(performance, actions[performance.action]),
                role=performance.role,
                noted=performance.noted_ms,
                stays=actions[performance.action].stays,
                on_baby=actions[performance.action].on_baby,
            )
        )
    entries: dict[str, list[int]] = {}
    for stay in session.stays:
        entries.setdefault(stay.state, []).append(stay.entry_ms)
    missing = _Missing(
        frozenset([kit["action"] for kit in record.unavailable if "action" in kit]),
        frozenset([kit["setting"] for kit in record.unavailable if "setting" in kit]),
    )
    guide = guide_of(scenario)
    items = tuple(
        [
            _item_plan(index, item, guide.groups, session, missing)
            for index, item in enumerate(guide.items)
        ]
    )
    declared = tuple(
        (stay.entry_ms, stay.state)
        for stay in session.stays
        if stay.cause == "rule" and scenario.states[stay.state].declared
    )
    done = frozenset(performances)
    for item in items:
        item.constant = bool(item.set_aside) or item.guide.kind.is_constant(item, done)
    telling: dict[str, dict[str, None]] = {}
    for performance in record.performances:
        for name in performance.spoken:
            if name in scenario.vocabulary.observations:
                telling.setdefault(name, {})[performance.action] = None
    cues: dict[str, list[tuple[int, int]]] = {}
    for cue in record.cues:
        if cue.prompts is not None:
            cues.setdefault(cue.prompts, []).append((cue.at_ms, cue.seq))
    return Plan(
        session=session,
        end=session.end_ms,
        clock_seq=-1 if record.clock_mark is None else record.marks[record.clock_mark].seq,
        items=items,
        performances=performances,
        changes=record.changes,
        faults=record.faults,
        shown=record.shown,
        observations=scenario.vocabulary.observations,
        watched=guide.watched,
        cues=cues,
        telling={name: tuple(by) for name, by in telling.items()},
        entries=entries,
        declared=declared,
        groups=guide.groups,
        shared=Timeline(
            doing={},
            done={},
            settings={},
            faults={},
            stays=[(stay.entry_ms, stay.exit_ms) for stay in session.stays],
            curves=session.curves,
            words=session.words,
            supplies=session.supplies,
            seen={},
            cache={},
            meaningful={
                name: setting.least_change for name, setting in scenario.vocabulary.settings.items()
            },
        ),
    )


def _way(performance: Performance, action: Action) -> str:
    """The way in which it counts: an action that is speech is done by being said."""
    return "done" if action.by_voice and performance.way == "said" else performance.way


def stays_in(session: Session, states: tuple[str, ...]) -> tuple[Interval, ...]:
    """Return the stays in ``states`` (empty: the whole session), adjoining ones as one."""
    end = session.end_ms
    if not states:
        return ((0, end),) if end > 0 else ()
    out: list[Interval] = []
    for stay in session.stays:
        if stay.state not in states:
            continue
        entry, exit_ = stay.entry_ms, min(stay.exit_ms, end)
        if entry >= exit_:
            continue
        if out and out[-1][1] == entry:
            out[-1] = (out[-1][0], exit_)
        else:
            out.append((entry, exit_))
    return tuple(out)


def _item_plan(
    index: int,
    guide: ItemGuide,
    groups: Mapping[str, tuple[str, ...]],
    session: Session,
    missing: _Missing,
) -> ItemPlan:
    item = guide.item
    record = session.record
    set_aside = ""
    if item.id in record.unobserved:
        set_aside = "unobserved"
    elif (guide.item.credited and not missing.settings.isdisjoint(guide.asked_settings)) or any(
        missing.actions.issuperset(any_of) for any_of in guide.kit
    ):
        set_aside = "unavailable"
    checks = guide.checks
    if missing.settings:
        checks = tuple([check for check in checks if check.setting not in missing.settings])
    plan = ItemPlan(
        index=index,
        guide=guide,
        item=item,
        session=session,
        weight=guide.weight,
        actions=guide.actions,
        group=groups[guide.actions[0]] if guide.actions else (),
        condition=guide.condition,
        goes_on=guide.goes_on,
        during=stays_in(session, item.during),
        set_aside=set_aside,
        checks=checks,
    )
    guide.kind.lay(plan)
    return plan
