"""What runs out: contents that fall in straight lines between events.

Rules of this file:

- Only the supplies that the scenario starts with are followed.
- A flow is split by the blend: oxygen is flow x (F - air) / (1 - air), the rest is air. What is
  not known, is a word, or is below nought draws nothing.
- A supply is full again, or as a fault leaves it, each time that the account says so once more.
"""

from __future__ import annotations

from simengine.scenario.conditions import Name
from simengine.scenario.vocabulary import Drain
from simengine.session.account import Account
from simengine.session.dynamics import level_at
from simengine.session.plan import Plan
from simengine.session.record import Level

_PER_MINUTE = 60_000


class Supplies:
    """The levels of one run's supplies."""

    __slots__ = ("_filled", "_plan", "levels")

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._filled: dict[str, int] = {}
        self.levels: dict[str, list[Level]] = {}

    def begin(self, account: Account) -> None:
        """Take the contents with which the scenario starts."""
        for name, contents in self._plan.scenario.start.supplies.items():
            self.levels[name] = [Level(0, contents, self._rate(name, account))]

    def follow(self, name: Name, now: int, account: Account) -> list[str]:
        """Follow a change of ``name``; return the supplies that it touched."""
        drawn = self._plan.drawn_by.get(name)
        return [supply for supply in drawn if self._draw(supply, now, account)] if drawn else []

    def follow_all(self, now: int, account: Account) -> None:
        """Follow whatever may have changed."""
        for name in self.levels:
            self._draw(name, now, account)

    def _draw(self, name: str, now: int, account: Account) -> bool:
        levels = self.levels[name]
        last = levels[-1]
        rate = self._rate(name, account)
        times, contents = account.refilled.get(name, (0, 0.0))
        filled = times > self._filled.get(name, 0)
        self._filled[name] = times
        if rate == last.rate_per_ms and not filled:
            return False
        level = Level(now, contents if filled else level_at(last, now), rate)
        if last.start_ms >= now:
            levels[-1] = level
        else:
            levels.append(level)
        return True

    def _rate(self, name: str, account: Account) -> float:
        rate = 0.0
        for drain in self._plan.scenario.vocabulary.supplies[name].drains:
            rate += self._drained(drain, account)
        return rate / _PER_MINUTE

    def _drained(self, drain: Drain, account: Account) -> float:
        if drain.doing is not None and drain.doing not in account.running:
            return 0.0
        if drain.flow is None:
            return drain.rate or 0.0
        flow = account.values.get(drain.flow)
        if flow is None or isinstance(flow, str):
            return 0.0
        mixed = account.values.get(drain.blend) if drain.blend is not None else None
        if drain.blend is None or mixed is None or isinstance(mixed, str):
            return drain.drawn(flow, None)
        return drain.drawn(flow, mixed * self._plan.fraction_of[drain.blend])
