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

from simengine.scenario.conditions import Condition
from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedSetting,
    Avoid,
    Expect,
    Keep,
    KeyItem,
    Kind,
    Order,
    Repeat,
    Respond,
)
from simengine.scenario.vocabulary import Observation
from simengine.scenario.wanted import Steps, Wanted
from simengine.scoring.clauses import Names, going_on, inward, names_in, union_of
from simengine.scoring.doses import dose_parts
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

KIND_OF: Mapping[type[KeyItem], Kind] = {
    Expect: "expect",
    Respond: "respond",
    Repeat: "repeat",
    Keep: "keep",
    Order: "order",
    Avoid: "avoid",
}


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


@dataclass(frozen=True, slots=True)
class SettingCheck:
    """A setting that an item checks, with the vocabulary's tolerance."""

    setting: str
    wanted: Wanted
    tolerance: float


@dataclass(slots=True, eq=False)
class ItemPlan:
    """A key item laid beside the session. ``set_aside``: why it is not reached, if it is.

    ``action``: the action whose performances it uses up, and ``prompts`` the one whose cues
    concern it. ``doses``: what each performance (by ``seq``) gets for its dose. ``goes_on``: what
    must go on holding once ``respond``'s condition has begun (``None``: nothing). ``closing``:
    entries of the states of ``until``. ``inside``: for each change (by ``seq``) of a setting that
    is asked, whether its value is in the range (empty where that depends on the clock).
    """

    index: int
    item: KeyItem
    kind: Kind
    action: str | None
    prompts: str | None
    weight: float
    during: tuple[Interval, ...]
    phase: str
    set_aside: str = ""
    checks: tuple[SettingCheck, ...] = ()
    doses: dict[int, tuple[PartCredit, ...]] = field(default_factory=dict)
    condition: Condition | None = None
    goes_on: Condition | None = None
    closing: tuple[int, ...] = ()
    inside: dict[int, bool] = field(default_factory=dict)
    names: Names = field(default_factory=Names)
    step: float | None = None


@dataclass(slots=True, eq=False)
class Plan:
    """A session laid out for marking, see the rules of this file.

    ``cues``: for each action when it was prompted, as (ms, ``seq``). ``entries``: of each state.
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
        frozenset(kit["action"] for kit in record.unavailable if "action" in kit),
        frozenset(kit["setting"] for kit in record.unavailable if "setting" in kit),
    )
    cues: dict[str, list[tuple[int, int]]] = {}
    for cue in record.cues:
        if cue.prompts is not None:
            cues.setdefault(cue.prompts, []).append((cue.at_ms, cue.seq))
    items = tuple(
        [_item_plan(index, item, session, missing) for index, item in enumerate(scenario.key)]
    )
    watched = union_of([plan.names for plan in items if plan.condition is not None])
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
        watched=watched,
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


def phase_of(item: KeyItem, session: Session) -> str:
    """Return the phase that an item belongs to.

    That of the action asked; for a setting, of the first action of the vocabulary that carries
    it, those that this marking guide asks for coming first; for a fault, of what puts it right;
    for a condition, of the first name in it; ``order``: of its first action. Else the
    vocabulary's first phase.
    """
    vocabulary = session.scenario.vocabulary
    action: str | None = None
    setting: str | None = None
    if isinstance(item, Expect | Respond):
        asked = item.asked
        if isinstance(asked, AskedAction):
            action = asked.action
        elif isinstance(asked, AskedSetting):
            setting = asked.setting
        else:
            fault = session.scenario.start.faults.get(asked.fault)
            mended_by = fault.mended_by if fault is not None else None
            if isinstance(mended_by, str):
                action = mended_by
            elif mended_by is not None:
                setting = mended_by.setting
    elif isinstance(item, Repeat):
        action = item.action
    elif isinstance(item, Order):
        action = item.actions[0]
    elif isinstance(item, Avoid) and isinstance(item.what, AskedAction):
        action = item.what.action
    else:
        condition = item.condition if isinstance(item, Keep) else item.what
        names = names_in(condition)  # type: ignore[arg-type]
        action = next(iter(names.actions), None)
        setting = next(iter(names.settings), None)
        for name in names.observed:
            if action is None:
                revealed = vocabulary.observations[name].revealed_by
                action = revealed[0].action if revealed else None
    if action is None and setting is not None:
        carrying = [a.name for a in vocabulary.actions.values() if setting in a.settings]
        wanted = {
            i.asked.action
            for i in session.scenario.key
            if isinstance(i, Expect | Respond) and isinstance(i.asked, AskedAction)
        }
        action = next((a for a in carrying if a in wanted), next(iter(carrying), None))
    if action is not None and action in vocabulary.actions:
        return vocabulary.actions[action].phase
    return next(iter(vocabulary.phases))


@dataclass(frozen=True, slots=True)
class _Missing:
    """Kit that was not there."""

    actions: frozenset[str]
    settings: frozenset[str]


def _prompts(item: KeyItem, session: Session) -> str | None:
    """The action whose prompts concern an item that asks for one thing."""
    if isinstance(item, Expect | Respond):
        if isinstance(item.asked, AskedAction):
            return item.asked.action
        if isinstance(item.asked, AskedFault) and item.asked.status == "mended":
            fault = session.scenario.start.faults.get(item.asked.fault)
            if fault is not None and isinstance(fault.mended_by, str):
                return fault.mended_by
    return None


def _item_plan(index: int, item: KeyItem, session: Session, missing: _Missing) -> ItemPlan:
    vocabulary = session.scenario.vocabulary
    plan = ItemPlan(
        index=index,
        item=item,
        kind=KIND_OF[type(item)],
        action=(
            item.asked.action
            if isinstance(item, Expect | Respond) and isinstance(item.asked, AskedAction)
            else None
        ),
        weight=session.scenario.scoring.weights[item.importance],
        prompts=_prompts(item, session),
        during=stays_in(session, item.during),
        phase=phase_of(item, session),
    )
    asked_actions: tuple[str, ...] = ()
    asked_settings: tuple[str, ...] = ()
    if isinstance(item, Expect | Respond):
        asked = item.asked
        if isinstance(asked, AskedAction):
            asked_actions = (asked.action,)
        elif isinstance(asked, AskedSetting):
            asked_settings = (asked.setting,)
            plan.step = vocabulary.settings[asked.setting].step
            wanted = asked.to
            if wanted is not None and not isinstance(wanted, Steps):
                plan.inside = {
                    change.seq: is_as_wanted(change.value, wanted)
                    for change in session.record.changes.get(asked.setting, ())
                }
        elif asked.status == "mended":
            fault = session.scenario.start.faults.get(asked.fault)
            mended_by = fault.mended_by if fault is not None else None
            if isinstance(mended_by, str):
                asked_actions = (mended_by,)
            elif mended_by is not None:
                asked_settings = (mended_by.setting,)
        plan.checks = tuple(
            SettingCheck(name, wanted, vocabulary.settings[name].tolerance)
            for name, wanted in item.settings.items()
            if name not in missing.settings
        )
        if item.dose is not None and isinstance(asked, AskedAction):
            entry = vocabulary.actions[asked.action].dose
            if entry is not None:
                plan.doses = {
                    done.seq: dose_parts(
                        item.dose, entry, done.dose, session.scenario.infant.weight_g
                    )
                    for done in session.record.performances
                    if done.action == asked.action
                }
        if isinstance(item, Expect) and item.until:
            plan.closing = tuple(
                [stay.entry_ms for stay in session.stays if stay.state in item.until]
            )
        elif isinstance(item, Respond):
            plan.condition = inward(item.whenever)
            plan.goes_on = going_on(plan.condition)
    elif isinstance(item, Repeat):
        asked_actions = (item.action,)
    elif isinstance(item, Order):
        asked_actions = item.actions
    elif isinstance(item, Keep):
        plan.condition = item.condition
    elif not isinstance(item.what, AskedAction):
        plan.condition = item.what
    if plan.condition is not None:
        plan.names = names_in(plan.condition)
        if isinstance(item, Keep):
            asked_actions, asked_settings = plan.names.actions, plan.names.settings
    if item.id in session.record.unobserved:
        plan.set_aside = "unobserved"
    elif not (
        missing.actions.isdisjoint(asked_actions) and missing.settings.isdisjoint(asked_settings)
    ):
        plan.set_aside = "unavailable"
    return plan
