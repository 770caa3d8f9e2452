"""What stays the same from resample to resample: the marking guide laid beside one session.

Rules of this file:

- Everything that does not depend on recorded times is worked out here, once for a session:
  which items are set aside, stays, doses in the unit asked, the parts of each condition.
- Plain values alone; ``make_plan`` fills them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from simengine.scenario.conditions import Condition
from simengine.scenario.key import Ahead, Item
from simengine.scenario.vocabulary import Observation
from simengine.scoring.clauses import Names
from simengine.scoring.item_guide import ItemGuide, SettingCheck
from simengine.scoring.parts import PartCredit
from simengine.session.record import (
    Change,
    FaultEvent,
    Interval,
    Performance,
    Session,
    Shown,
)
from simengine.session.truth import Timeline, Truth


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
    stays: bool = False
    on_baby: bool = False

    @property
    def action(self) -> str:
        """The action done."""
        return self.performance.action

    @property
    def as_found(self) -> bool:
        """Whether the scenario itself starts with it, so that it is nobody's performance."""
        return self.start_mark is None

    @property
    def event_id(self) -> str:
        """The event that recorded it; empty for what the scenario starts with."""
        return self.performance.event_id

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
    ``actions``: those whose performances it uses up, any of them; ``group``: all that are matched
    together with them. ``not_before`` in ms (0: none), ``ahead`` and ``takes_found`` as the item
    says. ``doses``: what each performance (by ``seq``) gets for its dose; ``followers``: those
    that only add to the dose of an earlier one. ``closing``: entries of the states of ``until``.
    ``inside``: for each change (by ``seq``) of a setting that is asked, whether its value is in
    the range (empty where that depends on the clock). ``constant``: no recorded time can change
    how it is marked.
    """

    index: int
    guide: ItemGuide
    item: Item
    session: Session
    weight: float
    actions: tuple[str, ...]
    group: tuple[str, ...]
    condition: Condition | None
    goes_on: Condition | None

    during: tuple[Interval, ...]
    set_aside: str
    checks: tuple[SettingCheck, ...]
    not_before: int = 0
    ahead: Ahead | None = None
    takes_found: bool = False
    doses: dict[int, tuple[PartCredit, ...]] = field(default_factory=dict)
    followers: frozenset[int] = frozenset()
    closing: tuple[int, ...] = ()
    inside: dict[int, bool] = field(default_factory=dict)
    constant: bool = False


@dataclass(slots=True, eq=False)
class Plan:
    """A session laid out for marking, see the rules of this file.

    ``declared``: (entry, state) of each state, entered by rule, in which the team called its work
    done. ``groups``: for each action that is used up, all that are matched together with it.
    ``telling``: for each observation the actions with which a value of it was said.
    ``cues``: for each action when it was prompted, as (ms, ``seq``). ``entries``: of each state.
    ``constant`` keeps what is marked alike in every resample, by the place of the item.
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
    telling: Mapping[str, Sequence[str]]
    entries: Mapping[str, Sequence[int]]
    declared: tuple[tuple[int, str], ...]
    groups: Mapping[str, tuple[str, ...]]
    shared: Timeline
    constant: dict[int, Any] = field(default_factory=dict)
    fixed: dict[int, bool] = field(default_factory=dict)
    truths: dict[tuple[int, int, int], Truth] = field(default_factory=dict)
