"""What stays the same from draw to draw: the marking guide laid beside one session.

Rules of this file:

- Everything that does not depend on recorded times is worked out here, once for a session:
  which items are set aside, stays, doses in the unit asked, the parts of each condition.
- ``during`` stays are [entry, exit) cut to the session; adjoining ones are one stay.
- An item is set aside (not reached) if it was marked as not observed, or if what it asks for
  (an action, a setting) was not there; a setting that an item only checks is then left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from simengine.scenario.conditions import Condition
from simengine.scenario.key import (
    AskedAction,
    AskedSetting,
    Avoid,
    Expect,
    KeyItem,
    Kind,
    Order,
    Repeat,
    Respond,
)
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Steps
from simengine.scoring.clauses import Names
from simengine.scoring.doses import dose_parts
from simengine.scoring.guide import ItemGuide, SettingCheck, guide_of
from simengine.scoring.parts import PartCredit
from simengine.session.record import (
    Change,
    FaultEvent,
    Interval,
    Performance,
    Session,
    Shown,
)
from simengine.session.truth import Timeline, Truth, is_as_wanted


@dataclass(slots=True)
class KnownPerformance:
    """What is known of a performance besides its times. ``start`` and ``stop`` as recorded."""

    performance: Performance
    momentary: bool
    start: int
    stop: int
    seq: int
    start_mark: int | None
    stop_mark: int | None
    shortest: int
    way: str
    role: str | None
    noted: int

    def performed(self, start: int, stop: int | None) -> Performance:
        """Return the performance at other times."""
        as_recorded = self.performance
        if as_recorded.start_ms == start and as_recorded.stop_ms == stop:
            return as_recorded
        return Performance(
            action=as_recorded.action,
            start_ms=start,
            stop_ms=stop,
            way=as_recorded.way,
            role=as_recorded.role,
            event_id=as_recorded.event_id,
            seq=as_recorded.seq,
            start_mark=as_recorded.start_mark,
        )


@dataclass(slots=True, eq=False)
class ItemPlan:
    """A key item laid beside the session. ``set_aside``: why it is not reached, if it is.

    What follows ``guide`` in the first block stands in it too, so that marking has it at hand.
    ``doses``: what each performance (by ``seq``) gets for its dose. ``closing``: entries of the
    states of ``until``. ``inside``: for each change (by ``seq``) of a setting that is asked,
    whether its value is in the range (empty where that depends on the clock). ``constant``: no
    recorded time can change how it is marked.
    """

    index: int
    guide: ItemGuide
    item: KeyItem
    kind: Kind
    weight: float
    action: str | None
    condition: Condition | None
    goes_on: Condition | None

    during: tuple[Interval, ...]
    set_aside: str
    checks: tuple[SettingCheck, ...]
    doses: dict[int, tuple[PartCredit, ...]] = field(default_factory=dict)
    closing: tuple[int, ...] = ()
    inside: dict[int, bool] = field(default_factory=dict)
    constant: bool = False


@dataclass(frozen=True, slots=True)
class _Missing:
    """Kit that was not there."""

    actions: frozenset[str]
    settings: frozenset[str]


@dataclass(slots=True, eq=False)
class Plan:
    """A session laid out for marking, see the rules of this file.

    ``cues``: for each action when it was prompted, as (ms, ``seq``). ``entries``: of each state.
    ``constant`` keeps what is marked alike in every draw, by the place of the item.
    ``truths`` keeps where conditions hold that no recorded time can change (``fixed``, by the
    condition's ``id``: all of them live as long as the plan).
    """

    session: Session
    end: int
    clock_seq: int
    items: tuple[ItemPlan, ...]
    performances: Mapping[str, Sequence[KnownPerformance]]
    changes: Mapping[str, Sequence[Change]]
    faults: Sequence[FaultEvent]
    shown: Sequence[Shown]
    observations: Mapping[str, Observation]
    watched: Names
    cues: Mapping[str, Sequence[tuple[int, int]]]
    entries: Mapping[str, Sequence[int]]
    shared: Timeline
    constant: dict[int, Any] = field(default_factory=dict)
    fixed: dict[int, bool] = field(default_factory=dict)
    truths: dict[tuple[int, int, int], Truth] = field(default_factory=dict)


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
                way=performance.way,
                role=performance.role,
                noted=performance.noted_ms,
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
        [_item_plan(index, item, session, missing) for index, item in enumerate(guide.items)]
    )
    done = frozenset(performances)
    for item in items:
        item.constant = _is_constant(item, done)
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
        entries=entries,
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
        ),
    )


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


def _is_constant(plan: ItemPlan, done: frozenset[str]) -> bool:
    """Whether an item is marked alike in every draw. ``done``: the actions with performances."""
    item = plan.item
    if plan.set_aside:
        return True
    if isinstance(item, Expect):
        fixed = item.anchor.kind in ("start", "state")
        return fixed and plan.action is not None and plan.action not in done
    if isinstance(item, Repeat | Order):
        return done.isdisjoint(plan.guide.asked_actions)
    return (
        isinstance(item, Avoid)
        and isinstance(item.what, AskedAction)
        and item.what.action not in done
    )


def _item_plan(index: int, guide: ItemGuide, session: Session, missing: _Missing) -> ItemPlan:
    item = guide.item
    record = session.record
    set_aside = ""
    if item.id in record.unobserved:
        set_aside = "unobserved"
    elif not (
        missing.actions.isdisjoint(guide.asked_actions)
        and missing.settings.isdisjoint(guide.asked_settings)
    ):
        set_aside = "unavailable"
    checks = guide.checks
    if missing.settings:
        checks = tuple([check for check in checks if check.setting not in missing.settings])
    plan = ItemPlan(
        index=index,
        guide=guide,
        item=item,
        kind=guide.kind,
        weight=guide.weight,
        action=guide.action,
        condition=guide.condition,
        goes_on=guide.goes_on,
        during=stays_in(session, item.during),
        set_aside=set_aside,
        checks=checks,
    )
    if isinstance(item, Expect | Respond):
        asked = item.asked
        if isinstance(asked, AskedSetting):
            wanted = asked.to
            if wanted is not None and not isinstance(wanted, Steps):
                plan.inside = {
                    change.seq: is_as_wanted(change.value, wanted)
                    for change in record.changes.get(asked.setting, ())
                }
        if guide.dose is not None and item.dose is not None:
            plan.doses = {
                done.seq: dose_parts(
                    item.dose, guide.dose, done.dose, session.scenario.infant.weight_g
                )
                for done in record.performances
                if done.action == guide.action
            }
        if isinstance(item, Expect) and item.until:
            plan.closing = tuple(
                [stay.entry_ms for stay in session.stays if stay.state in item.until]
            )
    return plan
