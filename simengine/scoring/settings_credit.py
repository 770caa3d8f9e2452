"""The settings credit of what was done: settings and dose against what the item asks.

Rules of this file:

- It is the mean over the item's settings; 1 where none is asked. With a dose the amount decides:
  the amount's credit times the mean of all other parts.
- The value compared is the one in force at the instant that counts, what is set at that very
  instant included. A setting never known by then takes the first value set within ``settle``
  afterwards; failing that it leaves the mean and is told as "not recorded", never "wrong".
- What is asked by a minute that has not been reached yet is left out of the mean.
"""

from __future__ import annotations

from typing import NamedTuple

from simengine.scenario.key import Windowed
from simengine.scoring.doses import AMOUNT
from simengine.scoring.parts import PartCredit, part_credit, wanted_at
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample


class SettingsCredit(NamedTuple):
    """``credit`` in [0, 1]; ``off``: something recorded was outside; ``missing``: not recorded.

    ``all_missing``: nothing of what is asked was recorded. ``dose_missing``: the amount was not.
    ``wholly_off``: the names of parts that earned nothing.
    """

    credit: float
    off: bool
    missing: bool
    parts: tuple[PartCredit, ...]
    all_missing: bool = False
    dose_missing: bool = False
    wholly_off: frozenset[str] = frozenset()


NOTHING_ASKED = SettingsCredit(1.0, False, False, ())


def settings_credit(resample: Resample, plan: ItemPlan, instant: int, seq: int) -> SettingsCredit:
    """Return the settings credit at ``instant`` (ms) of what was done by event ``seq``."""
    doses = plan.doses.get(seq, ())
    if not plan.checks and not doses:
        return NOTHING_ASKED
    item = plan.item
    assert isinstance(item, Windowed)
    parts: list[PartCredit] = []
    for check in plan.checks:
        wanted = wanted_at(check.wanted, instant, resample.clock)
        if wanted is None:
            continue
        step = resample.step_at(check.setting, instant)
        if step is None:
            step = resample.first_step_after(check.setting, instant, item.settle_ms)
        value = None if step is None else step.value
        parts.append(part_credit(check.setting, value, wanted, check.tolerance))
    parts.extend(doses)
    if not parts:
        return NOTHING_ASKED
    amount = next((part for part in doses if part.name == AMOUNT), None)
    others = [part for part in parts if part is not amount and part.value is not None]
    known = [part for part in parts if part.value is not None]
    credit = sum(part.credit for part in others) / len(others) if others else 1.0
    if amount is not None and amount.value is not None:
        credit *= amount.credit
    return SettingsCredit(
        credit,
        any(part.off for part in known),
        len(known) < len(parts),
        tuple(parts),
        not known,
        amount is not None and amount.value is None,
        frozenset(part.name for part in known if part.credit == 0.0),
    )
