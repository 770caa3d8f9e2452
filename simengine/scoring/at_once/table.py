"""What marking gives in every redraw, as one table: what the certainty of a score is made of.

Rules of this file:

- A row is an item, a column a redraw. A credit that is not a number is not reached.
- ``wholly_off``: the dose or a setting under ``must`` earned nothing. ``occurred`` holds each
  occurrence of what was to be avoided, as (start, stop) in ms, ``NEVER`` where there is none.
- Roles have their sums apart, since an item belongs to a role occasion by occasion.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import get_args

import numpy as np

from simengine.scenario.key import Avoid
from simengine.scoring.at_once.runs import any_of
from simengine.scoring.at_once.stretches import Flags, Floats, Ints
from simengine.scoring.card import EQUAL, Verdict
from simengine.scoring.deductions import AT_MOST, deduct
from simengine.scoring.mark import Marked
from simengine.scoring.outcome import wholly_off
from simengine.scoring.plan import ItemPlan, Plan
from simengine.scoring.totals import role_rows
from simengine.session.record import NEVER

VERDICTS: tuple[Verdict, ...] = get_args(Verdict)
CODE: dict[str, int] = {verdict: code for code, verdict in enumerate(VERDICTS)}


class MarkedRedraws:
    """The items of a plan as marked in each of ``number`` redraws."""

    def __init__(self, plan: Plan, number: int) -> None:
        items = len(plan.items)
        self.plan = plan
        self.number = number
        self.verdict = np.full((items, number), CODE["not reached"], dtype=np.int8)
        self.credit: Floats = np.full((items, number), np.nan)
        self.with_cue: Flags = np.zeros((items, number), np.bool_)
        self.wholly_off: Flags = np.zeros((items, number), np.bool_)
        self.occurred: dict[int, tuple[Ints, Ints]] = {}
        self.deducted: Floats = np.zeros((items, number))
        self.roles: dict[str, tuple[Floats, Floats]] = {}

    def give_share(self, index: int, share: Floats) -> None:
        """Take a share of the time as the credit of an item, see ``Marked.give_share``."""
        code = np.where(share > 0.0, CODE["partly"], CODE["missed"])
        code = np.where(share >= 1.0 - EQUAL, CODE["kept"], code)
        self.credit[index] = share
        self.verdict[index] = np.where(np.isnan(share), self.verdict[index], code)

    def for_role(self, role: str, weight: Floats, credit: Floats) -> None:
        """Add to a role what it did, with its weight in each redraw."""
        if role not in self.roles:
            self.roles[role] = np.zeros(self.number), np.zeros(self.number)
        got, weights = self.roles[role]
        got += weight * credit
        weights += weight

    def as_a_whole(self, plan: ItemPlan, role: str) -> None:
        """Add to a role an item that belongs to it as a whole."""
        credit = self.credit[plan.index]
        reached = ~np.isnan(credit)
        if reached.any():
            self.for_role(role, np.where(reached, plan.weight, 0.0), np.nan_to_num(credit))

    def put(self, marked: Marked, columns: Ints) -> None:
        """Take an item as it was marked one by one, for these redraws."""
        index = marked.plan.index
        self.verdict[index, columns] = CODE[marked.verdict]
        self.credit[index, columns] = np.nan if marked.credit is None else marked.credit
        self.with_cue[index, columns] = marked.with_cue
        self.wholly_off[index, columns] = bool(wholly_off(marked))
        weights, earned = np.zeros(self.number), np.zeros(self.number)
        for role, _, weight, credit in role_rows([marked]):
            weights[columns], earned[columns] = weight, credit
            self.for_role(role, weights, earned)
        if marked.occurred:
            starts, stops = self.occurred.get(index, (self._none(0), self._none(0)))
            missing = len(marked.occurred) - len(starts)
            if missing > 0:
                starts = np.concatenate([starts, self._none(missing)])
                stops = np.concatenate([stops, self._none(missing)])
            for row, (stretch, _) in enumerate(marked.occurred):
                starts[row, columns], stops[row, columns] = stretch
            self.occurred[index] = starts, stops

    def _none(self, rows: int) -> Ints:
        return np.full((rows, self.number), NEVER, dtype=np.int64)

    def has_occurred(self, index: int) -> Flags:
        """Whether what an item is to avoid occurred, in each redraw."""
        if index not in self.occurred:
            return np.zeros(self.number, np.bool_)
        return any_of(self.occurred[index][0] < NEVER)

    def deduct(self) -> None:
        """Take from the total what was not avoided, see ``deductions``."""
        times = np.zeros(self.number, dtype=np.int64)
        for starts, _ in self.occurred.values():
            times += (starts < NEVER).sum(axis=0)
        once = times == 1
        for index, (starts, _) in self.occurred.items():
            rule = self.plan.items[index].item
            assert isinstance(rule, Avoid)
            most = AT_MOST if rule.at_most is None else min(rule.at_most, AT_MOST)
            alone = once & (starts < NEVER).any(axis=0)
            self.deducted[index, alone] = min(rule.deduct, most)
        for column in np.flatnonzero(times > 1):
            offended = []
            for index, (starts, stops) in self.occurred.items():
                marked = Marked(self.plan.items[index])
                stretches = zip(starts[:, column].tolist(), stops[:, column].tolist(), strict=True)
                marked.occurred = [
                    (stretch, None) for stretch in sorted(stretches) if stretch[0] < NEVER
                ]
                offended.append(marked)
            offended.sort(key=lambda marked: marked.plan.index)
            deduct(offended)
            for marked in offended:
                self.deducted[marked.plan.index, column] = marked.deducted

    def totals(self) -> Floats:
        """Return the session's total in each redraw; not a number without weight."""
        weight = np.array([plan.weight for plan in self.plan.items])[:, None]
        reached = ~np.isnan(self.credit)
        weights = (reached * weight).sum(axis=0)
        got = np.where(reached, self.credit, 0.0) * weight
        with np.errstate(invalid="ignore"):
            share = got.sum(axis=0) / weights
        return np.where(weights > 0.0, np.maximum(share - self.deducted.sum(axis=0), 0.0), np.nan)

    def role_totals(self) -> dict[str, Floats]:
        """Return the totals of each role, of the redraws in which it has one."""
        return {
            role: got[weights > 0.0] / weights[weights > 0.0]
            for role, (got, weights) in self.roles.items()
            if (weights > 0.0).any()
        }

    def flips(self, marked: Sequence[Marked]) -> list[float]:
        """Return for each item the share of redraws in which its verdict differs."""
        codes = np.array([[CODE[item.verdict]] for item in marked], dtype=np.int8)
        shares: list[float] = ((self.verdict != codes).sum(axis=1) / self.number).tolist()
        return shares

    def stands(self) -> Iterable[float]:
        """Return for each item the share of redraws in which what was to be avoided occurs."""
        for index in range(len(self.plan.items)):
            yield float(self.has_occurred(index).sum() / self.number)
