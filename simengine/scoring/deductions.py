"""What is taken from the total for what was not advised, all items together.

Rules of this file:

- An act deducts once, by the largest of the items that it offends: of two items' occurrences that
  overlap in time and are about the same action, setting or observation, the larger counts.
- Stretches of one item less than 30 s apart are one act. An item's acts take at most ``at_most``.
- All deductions together take at most 30 %, the largest first. All are told.
"""

from __future__ import annotations

from collections.abc import Iterable

from simengine.scenario.key import Avoid
from simengine.scoring.mark import Marked
from simengine.session.record import Interval

APART_MS = 30_000
AT_MOST = 0.30


def deduct(marked: Iterable[Marked]) -> None:
    """Give each item that was not avoided what it takes from the total."""
    offended = [item for item in marked if item.occurred]
    if not offended:
        return
    offended.sort(key=lambda item: -_avoid(item).deduct)
    charged: list[tuple[Marked, Interval]] = []
    left = AT_MOST
    for item in offended:
        rule = _avoid(item)
        number = 0
        for act in acts(item):
            if not any(_is_same_act(item, act, other, at) for other, at in charged):
                number += 1
            charged.append((item, act))
        amount = rule.deduct * number
        if rule.at_most is not None:
            amount = min(amount, rule.at_most)
        item.deducted = min(amount, left)
        left -= item.deducted


def acts(item: Marked) -> list[Interval]:
    """Return an item's occurrences, stretches less than 30 s apart as one."""
    out: list[Interval] = []
    stretched = False
    for start, stop in (stretch for stretch, _ in item.occurred):
        lasting = stop > start
        if out and lasting and stretched and start - out[-1][1] < APART_MS:
            out[-1] = (out[-1][0], max(out[-1][1], stop))
        else:
            out.append((start, stop))
        stretched = lasting
    return out[:1] if _avoid(item).once else out


def _avoid(item: Marked) -> Avoid:
    assert isinstance(item.plan.item, Avoid)
    return item.plan.item


def _is_same_act(item: Marked, act: Interval, other: Marked, at: Interval) -> bool:
    if other is item or subjects(item).isdisjoint(subjects(other)):
        return False
    return act[0] <= at[1] and at[0] <= act[1]


def subjects(item: Marked) -> frozenset[str]:
    """What an item is about: actions and settings that it names, else observations."""
    return item.plan.guide.about
