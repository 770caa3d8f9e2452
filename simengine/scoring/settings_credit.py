"""The settings credit of what was done: settings and dose against what the item asks.

Rules of this file:

- It is the mean over the item's settings and the parts of its dose; 1 where none is asked.
- The value compared is the one in force at the instant that counts, what is set at that very
  instant included. A setting never known by then takes the first value set within ``settle``
  afterwards; failing that it gets 0 and reads "not recorded", never "wrong".
- What is asked by a minute that has not been reached yet is left out of the mean.
"""

from __future__ import annotations

from typing import NamedTuple

from simengine.scenario.key import Expect, Respond
from simengine.scoring.parts import PartCredit, value_credit, wanted_at
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample


class SettingsCredit(NamedTuple):
    """``credit`` in [0, 1]; ``off``: something recorded was outside; ``missing``: not recorded."""

    credit: float
    off: bool
    missing: bool
    parts: tuple[PartCredit, ...]


NOTHING_ASKED = SettingsCredit(1.0, False, False, ())


def settings_credit(resample: Resample, plan: ItemPlan, instant: int, seq: int) -> SettingsCredit:
    """Return the settings credit at ``instant`` (ms) of what was done by event ``seq``."""
    doses = plan.doses.get(seq)
    if not plan.checks and not doses:
        return NOTHING_ASKED
    item = plan.item
    assert isinstance(item, Expect | Respond)
    parts: list[PartCredit] = []
    for check in plan.checks:
        wanted = wanted_at(check.wanted, instant, resample.clock)
        if wanted is None:
            continue
        step = resample.step_at(check.setting, instant)
        if step is None:
            step = resample.first_step_after(check.setting, instant, item.settle_ms)
        if step is None:
            parts.append(PartCredit(check.setting, None, wanted, 0.0))
        else:
            credit = value_credit(step.value, wanted, check.tolerance)
            parts.append(PartCredit(check.setting, step.value, wanted, credit))
    if doses:
        parts.extend(doses)
    if not parts:
        return NOTHING_ASKED
    total = 0.0
    off = missing = False
    for part in parts:
        total += part.credit
        if part.value is None:
            missing = True
        elif part.credit < 1.0:
            off = True
    return SettingsCredit(total / len(parts), off, missing, tuple(parts))
