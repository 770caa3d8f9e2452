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
from simengine.scoring.draw import Draw, Run
from simengine.scoring.plan import ItemPlan
from simengine.scoring.settings_credit import NOTHING_ASKED, SettingsCredit, settings_credit

FIRST = -1
LAST = inf
"""Places in the order of one ms: before, or after, all people's events."""


class Served:
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


class Asking:
    """One occasion in one draw. Instants in ms.

    ``order`` places *a* among the events of its own ms. ``began``: when ``respond``'s condition
    began. ``close``: nothing done after it counts. ``closes_for``: what closes it, ``end`` of the
    session, ``until`` or ``resolved``. ``own``: ``seq`` of the performance it is counted from.
    ``share``: the item's weight ÷ its occasions. After marking: ``served``; ``attempted``, a run
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
        "number",
        "order",
        "own",
        "plan",
        "reached",
        "served",
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
        self.free: Served | None = None
        self.served: Served | None = None
        self.attempted: Run | None = None
        self.share = 0.0
        self.reached = True
        self.why = ""
        self.verdict: Verdict = "missed"

    @property
    def credit(self) -> float:
        """The credit in [0, 1]; 0 where nothing serves it."""
        return self.served.credit if self.served is not None else 0.0


def time_credit(delay: int, ideal: int, latest: int, not_before: int | None = None) -> float:
    """Return the time credit of a delay; all in ms, see the rules of this file."""
    if not_before is not None and not_before > 0 and delay < not_before:
        return 0.0
    if delay <= ideal:
        return 1.0
    if delay < latest:
        return (latest - delay) / (latest - ideal)
    return 0.0


def serving(asking: Asking, run: Run) -> Served | None:
    """Return how ``run`` could serve an occasion, without credits; ``None`` if it could not."""
    item = asking.plan.item
    at, close, start = asking.at, asking.close, run[0]
    not_before = item.not_before_ms if type(item) is Expect else None
    if run[1] == asking.own:
        return None
    instant = at + not_before if not_before is not None and not_before > 0 else at
    if start <= instant < run[2] and instant <= close:
        return Served(run, instant, instant - at, True)
    if start > close:
        return None
    if start < at or (start == at and run[1] < asking.order):
        if asking.began is not None:
            return Served(run, start, 0, False) if start >= asking.began else None
        if not_before is not None and start - at >= not_before:
            return Served(run, start, start - at, False)
        return None
    return Served(run, start, start - at, False)


def give_credit(draw: Draw, asking: Asking, served: Served) -> None:
    """Work out the credits of what could serve an occasion."""
    item: Expect | Respond = asking.plan.item  # type: ignore[assignment]
    not_before = item.not_before_ms if type(item) is Expect else None
    delay = served.delay
    served.early = not_before is not None and not_before > 0 and delay < not_before
    served.time_credit = time_credit(delay, item.ideal_ms, item.latest_ms, not_before)
    plan = asking.plan
    if plan.checks or plan.doses:
        served.settings = settings_credit(draw, plan, served.at, served.run[1])
        served.credit = served.time_credit * served.settings.credit
    else:
        served.credit = served.time_credit


def candidates(
    draw: Draw, asking: Asking, runs: Sequence[Run], ways: tuple[str, ...] | None = None
) -> list[tuple[int, Served]]:
    """Return each run that could serve an occasion by being done: (its number in ``runs``, how).

    ``ways``: those that count, for performances (``None``: what is asked has no way). The best
    of the runs in force goes to ``asking.free``, since it uses nothing up.
    """
    out: list[tuple[int, Served]] = []
    free: Served | None = None
    for number, run in enumerate(runs):
        if ways is not None and run.source.way not in ways:  # type: ignore[union-attr]
            continue
        served = serving(asking, run)
        if served is None:
            continue
        give_credit(draw, asking, served)
        if not served.in_force:
            out.append((number, served))
        elif free is None or served.credit > free.credit:
            free = served
    asking.free = free
    return out


def verdict_of(asking: Asking) -> Verdict:
    """Return the verdict of an occasion that counts."""
    served = asking.served
    if served is None:
        if asking.why == "no value":
            return "not recorded"
        return "attempted" if asking.attempted is not None else "missed"
    item: Expect | Respond = asking.plan.item  # type: ignore[assignment]
    if served.early:
        return "early"
    if served.delay > item.ideal_ms:
        return "late" if served.delay < item.latest_ms else "too late"
    settings: SettingsCredit = served.settings
    if settings.off:
        return "setting off"
    if settings.missing:
        return "not recorded"
    return "on time"
