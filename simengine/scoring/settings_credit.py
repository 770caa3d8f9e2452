"""The settings credit of what was done: settings and dose against what the item asks.

Rules of this file:

- It is the mean over the item's settings; 1 where none is asked. With a dose the amount decides:
  the amount's credit times the mean of all other parts.
- The value compared is the one in force at the instant that counts, what is set at that very
  instant included. A setting never known by then takes the first value set within ``settle``
  afterwards; failing that it leaves the mean and is told as "not recorded", never "wrong".
- What is asked by a minute that has not been reached yet is left out of the mean.
- A reading of a gauge is held against what that showed as it was read, as every value told is held
  against the truth: near, or told wrong, and then nothing is earned. Where nothing is shown nothing
  is far, and it is left out.
"""

from __future__ import annotations

from typing import NamedTuple

from simengine.quantities import Range
from simengine.scenario.key import Windowed
from simengine.scenario.wanted import AsShown, OneOf
from simengine.scoring.doses import AMOUNT
from simengine.scoring.item_guide import SettingCheck
from simengine.scoring.parts import PartCredit, part_credit, wanted_at
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Step
from simengine.session.gauges import range_shown


class SettingsCredit(NamedTuple):
    """``credit`` in [0, 1]; ``off``: something recorded was outside; ``missing``: not recorded.

    ``all_missing``: nothing of what is asked was recorded. ``dose_missing``: the amount was not.
    ``wholly_off``: the names of parts that earned nothing. ``told_wrong``: a reading of a gauge is
    far from what that showed.
    """

    credit: float
    off: bool
    missing: bool
    parts: tuple[PartCredit, ...]
    all_missing: bool = False
    dose_missing: bool = False
    wholly_off: frozenset[str] = frozenset()
    told_wrong: bool = False


NOTHING_ASKED = SettingsCredit(1.0, False, False, ())


def settings_credit(resample: Resample, plan: ItemPlan, instant: int, seq: int) -> SettingsCredit:
    """Return the settings credit at ``instant`` (ms) of what was done by event ``seq``."""
    doses = plan.doses.get(seq, ())
    if not plan.checks and not doses:
        return NOTHING_ASKED
    item = plan.item
    assert isinstance(item, Windowed)
    parts: list[PartCredit] = []
    told_wrong = False
    for check in plan.checks:
        step = resample.step_at(check.setting, instant)
        if step is None:
            step = resample.first_step_after(check.setting, instant, item.settle_ms)
        wanted = _wanted(resample, check, instant, step)
        if wanted is None:
            continue
        value = None if step is None else step.value
        part = part_credit(check.setting, value, wanted, check.tolerance)
        told_wrong |= isinstance(check.wanted, AsShown) and part.off
        parts.append(part)
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
        0.0 if told_wrong else credit,
        any(part.off for part in known),
        len(known) < len(parts),
        tuple(parts),
        not known,
        amount is not None and amount.value is None,
        frozenset(part.name for part in known if part.credit == 0.0),
        told_wrong,
    )


def _wanted(
    resample: Resample, check: SettingCheck, instant: int, step: Step | None
) -> Range | OneOf | None:
    """Return what is asked of a setting; ``None`` where nothing is."""
    if not isinstance(check.wanted, AsShown):
        return wanted_at(check.wanted, instant, resample.clock)
    read_at = instant if step is None else step.at
    return range_shown(check.wanted, resample.plan.session.supplies, read_at)
