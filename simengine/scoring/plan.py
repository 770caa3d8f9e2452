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
from simengine.scenario.key import KeyItem
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
    ``doses``: what each performance (by ``seq``) gets for its dose. ``closing``: entries of the
    states of ``until``. ``inside``: for each change (by ``seq``) of a setting that is asked,
    whether its value is in the range (empty where that depends on the clock). ``constant``: no
    recorded time can change how it is marked.
    """

    index: int
    guide: ItemGuide
    item: KeyItem
    session: Session
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


@dataclass(slots=True, eq=False)
class Plan:
    """A session laid out for marking, see the rules of this file.

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
    entries: Mapping[str, Sequence[int]]
    shared: Timeline
    constant: dict[int, Any] = field(default_factory=dict)
    fixed: dict[int, bool] = field(default_factory=dict)
    truths: dict[tuple[int, int, int], Truth] = field(default_factory=dict)
