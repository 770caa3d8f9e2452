"""An occasion: one time that something is asked, what may serve it, and what did.

Rules of this file:

- d is the instant of what was done less the occasion's *a*, in whole ms.
- What is in force at *a* (or at *a* + ``not_before``, if that is later) has d = that instant less
  *a*, and uses no performance up. The performance that an occasion is counted from can't serve it.
- Else what was done before *a* is no performance of the occasion, unless ``not_before`` is
  negative (d from there up to 0), or the condition of ``respond`` had begun (d = 0). Before and
  after are by the order of events: at one ms people's events by ``seq``, then state entries.
- Nothing done after the occasion's close counts; what is done at the close's own ms does.
- Time credit, the first that holds: 0 for d < ``not_before`` (``early``); 1 for d <= ``ideal``;
  (latest - d) / (latest - ideal) for d < ``latest``; 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from simengine.scenario.key import Expect, Respond
from simengine.scoring.card import Verdict
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.settings_credit import NOTHING_ASKED, SettingsCredit, settings_credit

FIRST = -1
LAST = inf
"""Places in the order of one ms: before, or after, all people's events."""


class Match:
    """What serves an occasion: the run, the instant that counts, d, and the credits."""

    __slots__ = ("at", "credit", "delay", "early", "in_force", "run", "settings", "time_credit")

    def __init__(self, run: Run, at: int, delay: int, in_force: bool) -> None:
        self.run = run
        self.at = at
        self.delay = delay
        self.in_force = in_force
        self.early = False
        self.time_credit = 0.0
        self.settings = NOTHING_ASKED
        self.credit = 0.0


class Occasion:
    """One occasion in one resample. Instants in ms.

    ``order`` places *a* among the events of its own ms. ``began``: when ``respond``'s condition
    began. ``close``: nothing done after it counts. ``closes_for``: what closes it, ``end`` of the
    session, ``until`` or ``resolved``. ``own``: ``seq`` of the performance it is counted from.
    ``share``: the item's weight ÷ its occasions. After marking: ``match``; ``attempted``, a run
    in a way that does not count; ``reached``, whether it counts; ``why``: a word for what took
    it out.
    """

    __slots__ = (
        "at",
        "attempted",
        "began",
        "close",
        "closes_for",
        "free",
        "match",
        "number",
        "order",
        "own",
        "plan",
        "reached",
        "share",
        "verdict",
        "why",
    )

    def __init__(
        self,
        plan: ItemPlan,
        number: int,
        at: int,
        order: float,
        close: int,
        closes_for: str,
        began: int | None = None,
        own: int | None = None,
    ) -> None:
        self.plan = plan
        self.number = number
        self.at = at
        self.order = order
        self.began = began
        self.close = close
        self.closes_for = closes_for
        self.own = own
        self.free: Match | None = None
        self.match: Match | None = None
        self.attempted: Run | None = None
        self.share = 0.0
        self.reached = True
        self.why = ""
        self.verdict: Verdict = "missed"

    @property
    def credit(self) -> float:
        """The credit in [0, 1]; 0 where nothing serves it."""
        return self.match.credit if self.match is not None else 0.0


def time_credit(delay: int, ideal: int, latest: int, not_before: int | None = None) -> float:
    """Return the time credit of a delay; all in ms, see the rules of this file."""
    if not_before is not None and not_before > 0 and delay < not_before:
        return 0.0
    if delay <= ideal:
        return 1.0
    if delay < latest:
        return (latest - delay) / (latest - ideal)
    return 0.0


def serving(occasion: Occasion, run: Run) -> Match | None:
    """Return how ``run`` could serve an occasion, without credits; ``None`` if it could not."""
    item = occasion.plan.item
    at, close, start = occasion.at, occasion.close, run[0]
    not_before = item.not_before_ms if type(item) is Expect else None
    if run[1] == occasion.own:
        return None
    instant = at + not_before if not_before is not None and not_before > 0 else at
    if start <= instant < run[2] and instant <= close:
        return Match(run, instant, instant - at, True)
    if start > close:
        return None
    if start < at or (start == at and run[1] < occasion.order):
        if occasion.began is not None:
            return Match(run, start, 0, False) if start >= occasion.began else None
        if not_before is not None and start - at >= not_before:
            return Match(run, start, start - at, False)
        return None
    return Match(run, start, start - at, False)


def give_credit(resample: Resample, occasion: Occasion, match: Match) -> None:
    """Work out the credits of what could serve an occasion."""
    item: Expect | Respond = occasion.plan.item  # type: ignore[assignment]
    not_before = item.not_before_ms if type(item) is Expect else None
    delay = match.delay
    match.early = not_before is not None and not_before > 0 and delay < not_before
    match.time_credit = time_credit(delay, item.ideal_ms, item.latest_ms, not_before)
    plan = occasion.plan
    if plan.checks or plan.doses:
        match.settings = settings_credit(resample, plan, match.at, match.run[1])
        match.credit = match.time_credit * match.settings.credit
    else:
        match.credit = match.time_credit


def candidates(
    resample: Resample, occasion: Occasion, runs: Sequence[Run], ways: tuple[str, ...] | None = None
) -> list[tuple[int, Match]]:
    """Return each run that could serve an occasion by being done: (its number in ``runs``, how).

    ``ways``: those that count, for performances (``None``: what is asked has no way). The best
    of the runs in force goes to ``occasion.free``, since it uses nothing up.
    """
    out: list[tuple[int, Match]] = []
    free: Match | None = None
    for number, run in enumerate(runs):
        if ways is not None and run.source.way not in ways:  # type: ignore[union-attr]
            continue
        match = serving(occasion, run)
        if match is None:
            continue
        give_credit(resample, occasion, match)
        if not match.in_force:
            out.append((number, match))
        elif free is None or match.credit > free.credit:
            free = match
    occasion.free = free
    return out


def verdict_of(occasion: Occasion) -> Verdict:
    """Return the verdict of an occasion that counts."""
    match = occasion.match
    if match is None:
        if occasion.why == "no value":
            return "not recorded"
        return "attempted" if occasion.attempted is not None else "missed"
    item: Expect | Respond = occasion.plan.item  # type: ignore[assignment]
    if match.early:
        return "early"
    if match.delay > item.ideal_ms:
        return "late" if match.delay < item.latest_ms else "too late"
    settings: SettingsCredit = match.settings
    if settings.off:
        return "setting off"
    if settings.missing:
        return "not recorded"
    return "on time"
