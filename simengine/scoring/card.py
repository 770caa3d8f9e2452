"""The score card of a session as plain data.

Rules of this file:

- Credits, totals and shares are fractions of 1, unrounded; ``None`` where not reached.
- Times are scenario time in whole ms.
- A verdict is one of ``Verdict``; the words that a person reads are made from it in one place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from simengine.scenario.key import Importance, Kind

if TYPE_CHECKING:
    import pandas as pd

EQUAL = 1e-9
"""Credits and sums that differ by no more are equal: the last digits of doubles."""

Verdict = Literal[
    "on time",
    "late",
    "too late",
    "early",
    "setting off",
    "not recorded",
    "attempted",
    "told wrong",
    "missed",
    "partly",
    "kept",
    "in order",
    "out of order",
    "done in error",
    "not done",
    "not reached",
]


@dataclass(frozen=True, slots=True)
class Compared:
    """One setting (or dose, route, strength, flush) as read beside what was asked.

    ``tenfold``: ``about ten times`` or ``about a tenth of``, where the dose is such a slip.
    """

    name: str
    label: str
    read: str
    asked: str
    credit: float
    recorded: bool = True
    tenfold: str = ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a verdict rests on: an event (if any), its instant, and words with units."""

    event_id: str | None
    at_ms: int | None
    words: str


@dataclass(frozen=True, slots=True)
class OccasionScore:
    """One time that an item was asked."""

    opened_ms: int
    done_ms: int | None
    delay_ms: int | None
    time_credit: float | None
    settings_credit: float | None
    credit: float | None
    verdict: Verdict
    role: str | None = None
    with_cue: bool = False
    settings: tuple[Compared, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class ItemScore:
    """An item's credit, verdict and evidence.

    ``applied``: it is in the session's sums (``avoid`` never is). ``part_ms`` of ``whole_ms``:
    for ``repeat`` the time covered of the time that counts, for ``keep`` the time in which it
    held. ``flip``: share of redraws that change the verdict. ``unrecorded``: something that it asks
    was not written down.
    """

    id: str
    kind: Kind
    title: str
    importance: Importance
    weight: float
    applied: bool
    credit: float | None
    verdict: Verdict
    role: str | None
    objective: str | None
    with_cue: bool
    sentence: str
    why: str
    reference: str | None
    occasions: tuple[OccasionScore, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    phase: str = ""
    part_ms: int | None = None
    whole_ms: int | None = None
    flip: float | None = None
    unrecorded: bool = False

    @property
    def too_close(self) -> bool:
        """Whether recording error changes the verdict in over 10 % of the redraws."""
        return self.flip is not None and self.flip > 0.10


@dataclass(frozen=True, slots=True)
class Deduction:
    """What an ``avoid`` item takes from the total: ``amount`` is a fraction of 1."""

    id: str
    title: str
    occurrences: int
    amount: float
    stops_pass: bool
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """The score of one phase, objective or role: its total and the items that it rests on.

    ``interval``: the 90 % interval of the total for recording error. ``unrecorded``: in how many
    items something that they ask was not written down.
    """

    total: float | None
    items: int
    weight: float
    interval: tuple[float, float] | None = None
    unrecorded: int = 0


@dataclass(frozen=True, slots=True)
class Found:
    """Something about the record besides verdicts, for a person to look at."""

    code: Literal["ten-fold", "too little", "told wrong"]
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class ScoreCard:
    """The score of a session: a pure function of (scenario, protocol, log).

    ``interval``: the 90 % interval of the total for recording error. ``roles`` has ``team`` for
    what belongs to nobody. ``unsafe``: what is unsafe in any baby and occurred, each with its
    evidence; it stands among ``deductions`` too. ``found``: ten-fold slips, doses far too small and
    values told wrong. ``unrecorded``: in how many items something that they ask was not written
    down. Until the record is ``confirmed`` a miss is provisional.
    """

    total: float | None
    outcome: Literal["achieved", "not yet achieved", "too close to call"] | None
    reasons: tuple[str, ...]
    interval: tuple[float, float] | None
    items: tuple[ItemScore, ...]
    deductions: tuple[Deduction, ...]
    phases: Mapping[str, Part] = field(default_factory=dict)
    objectives: Mapping[str, Part] = field(default_factory=dict)
    roles: Mapping[str, Part] = field(default_factory=dict)
    unsafe: tuple[ItemScore, ...] = ()
    found: tuple[Found, ...] = ()
    unrecorded: int = 0
    confirmed: bool = False

    @property
    def slips(self) -> tuple[Evidence, ...]:
        """The ten-fold slips in doses as recorded."""
        return tuple(finding.evidence for finding in self.found if finding.code == "ten-fold")

    def __repr__(self) -> str:
        """Return the card in a line."""
        from simengine.scoring.notebook import summary

        return summary(self)

    def _repr_html_(self) -> str:
        """Return the table of items that a notebook shows."""
        from simengine.scoring.notebook import item_table

        return item_table(self)

    def to_frame(self) -> pd.DataFrame:
        """Return the items as a table, a row for each, by id; credits are fractions of 1.

        Needs pandas (``simengine[notebook]``), else raises ``ImportError``.
        """
        from simengine.scoring.notebook import items_frame

        return items_frame(self)
