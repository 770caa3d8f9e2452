"""An occasion: one time that something is asked, what may serve it, and what did.

Rules of this file:

- d is the instant of what was done less the occasion's *a*, in whole ms. Before and after *a* are
  by the order of events: at one ms people's events by ``seq``, then state entries.
- What is in force at *a* (or at *a* + ``not_before``, if that is later) has d = that instant less
  *a*, and uses no performance up. The performance that an occasion is counted from can't serve it.
- ``not_before`` above 0 decides alone about what was done before. Below 0, d from there up to 0
  earns 1.
- Else, of what was done before *a* (for ``respond``: before the condition began), these serve: an
  action that stays done and was not stopped, from the start, or from time zero if it is done to
  the baby (``ahead``; it uses nothing up, before or after *a*); where *a* is a state's entry, what
  a person recorded at most 10 s before it (d = 0); with ``ahead: counts`` what was done since the
  anchor before (used up); for ``respond`` what was done since the condition began (d = 0).
- ``ahead: early``: what began before *a* serves in none of these ways but the 10 s.
- Anything else done before *a* is for a verdict alone (``early``), and not for ``respond``.
- Nothing done after the occasion's close counts; what is done at the close's own ms does.
- Time credit, the first that holds: 0 for d < ``not_before`` (``early``); 1 for d <= ``ideal``;
  (latest - d) / (latest - ideal) for d < ``latest``; 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from simengine.scenario.key import Ahead, Windowed
from simengine.scoring.card import Verdict
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.settings_credit import NOTHING_ASKED, SettingsCredit, settings_credit

FIRST = -1
LAST = inf
"""Places in the order of one ms: before, or after, all people's events."""

RECORDED_BEFORE_MS = 10_000
"""How long before a state's entry what was recorded still counts as done at it."""


class Match:
    """What serves an occasion: the run, the instant that counts, d, and the credits.

    ``in_force``: it ran at *a*. ``ahead``: it was done before and stays done. ``free``: it uses
    no performance up. ``early``: it was done too early to earn anything. ``wrong``: a value was
    said that is far from the truth.
    """

    __slots__ = (
        "ahead",
        "at",
        "credit",
        "delay",
        "early",
        "free",
        "in_force",
        "run",
        "settings",
        "time_credit",
        "wrong",
    )

    def __init__(
        self,
        run: Run,
        at: int,
        delay: int,
        *,
        in_force: bool = False,
        ahead: bool = False,
        free: bool = False,
    ) -> None:
        self.run = run
        self.at = at
        self.delay = delay
        self.in_force = in_force
        self.ahead = ahead
        self.free = free or in_force or ahead
        self.early = False
        self.wrong = False
        self.time_credit = 0.0
        self.settings = NOTHING_ASKED
        self.credit = 0.0


class Occasion:
    """One occasion in one resample. Instants in ms.

    ``order`` places *a* among the events of its own ms. ``began``: when ``respond``'s condition
    began. ``close``: nothing done after it counts. ``closes_for``: what closes it, ``end`` of the
    session, ``until``, ``resolved`` or ``declared`` (the team called its work done). ``own``:
    ``seq`` of the performance it is counted from. ``at_entry``: *a* is a state's entry. ``since``:
    the anchor before, from which ``ahead: counts`` looks. ``share``: the item's weight ÷ its
    occasions. After marking: ``match``; ``attempted``, a run in a way that does not count;
    ``before``, what was done before; ``reached``, whether it counts; ``why``: a word for what
    took it out.
    """

    __slots__ = (
        "at",
        "at_entry",
        "attempted",
        "before",
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
        "since",
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
        *,
        began: int | None = None,
        own: int | None = None,
        at_entry: bool = False,
        since: int = 0,
    ) -> None:
        self.plan = plan
        self.number = number
        self.at = at
        self.order = order
        self.began = began
        self.close = close
        self.closes_for = closes_for
        self.own = own
        self.at_entry = at_entry
        self.since = since
        self.free: Match | None = None
        self.match: Match | None = None
        self.attempted: Run | None = None
        self.before: Run | None = None
        self.share = 0.0
        self.reached = True
        self.why = ""
        self.verdict: Verdict = "missed"

    @property
    def credit(self) -> float:
        """The credit in [0, 1]; 0 where nothing serves it."""
        return self.match.credit if self.match is not None else 0.0

    @property
    def instant(self) -> int:
        """*a*, or *a* + ``not_before`` if that is later: what runs then is in force for it."""
        not_before = self.plan.not_before
        return self.at + not_before if not_before > 0 else self.at

    def came_before(self, run: Run) -> bool:
        """Whether a run began before *a*, by the order of events."""
        return run[0] < self.at or (run[0] == self.at and run[1] < self.order)


def time_credit(delay: int, ideal: int, latest: int, not_before: int | None = None) -> float:
    """Return the time credit of a delay; all in ms, see the rules of this file."""
    if not_before is not None and not_before > 0 and delay < not_before:
        return 0.0
    if delay <= ideal:
        return 1.0
    if delay < latest:
        return (latest - delay) / (latest - ideal)
    return 0.0


def serving(resample: Resample, occasion: Occasion, run: Run) -> Match | None:
    """Return how ``run`` could serve an occasion, without credits; ``None`` if it could not."""
    start = run[0]
    if run[1] == occasion.own:
        return None
    plan = occasion.plan
    before = occasion.came_before(run)
    if before and plan.ahead is not None:
        return _by_choice(resample, occasion, run, plan.ahead)
    instant = occasion.instant
    if start <= instant < run[2] and instant <= occasion.close:
        return Match(run, instant, instant - occasion.at, in_force=True)
    if run.as_found or start > occasion.close:
        return None
    if before:
        return _done_before(resample, occasion, run)
    return Match(run, start, start - occasion.at, free=run.stays)


def _done_before(resample: Resample, occasion: Occasion, run: Run) -> Match | None:
    start, not_before = run[0], occasion.plan.not_before
    if not_before > 0:
        return None
    if occasion.began is not None and start >= occasion.began:
        return Match(run, start, 0, free=run.stays)
    if not_before < 0 and start - occasion.at >= not_before:
        return Match(run, start, start - occasion.at, free=run.stays)
    if occasion.at_entry and start >= occasion.at - RECORDED_BEFORE_MS:
        return Match(run, start, 0, free=run.stays)
    if run.stays and not _is_over(run, occasion.at) and _counts_from(resample, run):
        return Match(run, start, start - occasion.at, ahead=True)
    return None


def _by_choice(resample: Resample, occasion: Occasion, run: Run, ahead: Ahead) -> Match | None:
    """How what began before *a* serves an item that says how it is to be taken."""
    start = run[0]
    if occasion.began is not None and start >= occasion.began:
        return Match(run, start, 0)
    if occasion.at_entry and start >= occasion.at - RECORDED_BEFORE_MS:
        return Match(run, start, 0)
    if ahead == "counts" and start >= occasion.since and not run.as_found:
        return Match(run, start, start - occasion.at)
    return None


def _is_over(run: Run, at: int) -> bool:
    """Whether something lasting was stopped before *a*."""
    return run[2] != run[0] and run[2] <= at


def _counts_from(resample: Resample, run: Run) -> bool:
    if not run.on_baby or resample.plan.session.scenario.start.clock is None:
        return True
    return resample.clock is not None and run[0] >= resample.clock


def give_credit(resample: Resample, occasion: Occasion, match: Match) -> None:
    """Work out the credits of what could serve an occasion."""
    item: Windowed = occasion.plan.item  # type: ignore[assignment]
    plan = occasion.plan
    delay = match.delay
    match.early = plan.not_before > 0 and delay < plan.not_before
    match.time_credit = time_credit(delay, item.ideal_ms, item.latest_ms, plan.not_before)
    if plan.checks or plan.doses:
        match.settings = settings_credit(resample, plan, match.at, match.run[1])
        match.credit = match.time_credit * match.settings.credit
    else:
        match.credit = match.time_credit


def candidates(
    resample: Resample,
    occasion: Occasion,
    runs: Sequence[Run],
    ways: tuple[str, ...] | None = None,
) -> list[tuple[int, Match]]:
    """Return each run that could serve an occasion by being done: (its number in ``runs``, how).

    ``ways``: those that count, for performances (``None``: what is asked has no way). The best
    of what uses nothing up goes to ``occasion.free``.
    """
    plan = occasion.plan
    actions = plan.actions if len(plan.actions) < len(plan.group) else None
    out: list[tuple[int, Match]] = []
    free: Match | None = None
    takes_found = plan.takes_found
    for number, run in enumerate(runs):
        if ways is not None and run.source.way not in ways:  # type: ignore[union-attr]
            continue
        if actions is not None and run.action not in actions:
            continue
        if (run.as_found and not takes_found) or run[1] in plan.followers:
            continue
        match = serving(resample, occasion, run)
        if match is None:
            continue
        give_credit(resample, occasion, match)
        if not match.free:
            out.append((number, match))
        elif free is None or match.credit > free.credit:
            free = match
    occasion.free = free
    return out


def met_as_found(resample: Resample, occasion: Occasion, runs: Sequence[Run]) -> bool:
    """Whether what the scenario itself started with meets an occasion."""
    for run in runs:
        if run.as_found:
            match = serving(resample, occasion, run)
            if match is not None and match.in_force:
                return True
    return False


def last_before(
    occasion: Occasion, runs: Sequence[Run], used: set[int], ways: tuple[str, ...] | None = None
) -> Run | None:
    """Return the last run that began before *a* and serves nothing else.

    None where the same action is asked again, since what came before is what it is asked after.
    """
    if occasion.own is not None:
        return None
    latest: Run | None = None
    actions = occasion.plan.actions
    for number, run in enumerate(runs):
        if not occasion.came_before(run):
            break
        if actions and run.action not in actions:
            continue
        counts = ways is None or run.source.way in ways  # type: ignore[union-attr]
        if counts and number not in used and not run.as_found:
            latest = run
    return latest


def early_match(occasion: Occasion, run: Run) -> Match:
    """Return what was done before *a* as a match that earns nothing."""
    match = Match(run, run[0], run[0] - occasion.at)
    match.early = True
    return match


def verdict_of(occasion: Occasion) -> Verdict:
    """Return the verdict of an occasion that counts."""
    match = occasion.match
    if match is None:
        return "attempted" if occasion.attempted is not None else "missed"
    item: Windowed = occasion.plan.item  # type: ignore[assignment]
    if match.wrong or match.settings.told_wrong:
        return "told wrong"
    if match.early:
        return "early"
    if match.delay > item.ideal_ms:
        return "late" if match.delay < item.latest_ms else "too late"
    settings: SettingsCredit = match.settings
    if settings.off:
        return "setting off"
    if settings.missing and (settings.all_missing or settings.dose_missing):
        return "not recorded"
    return "on time"
