"""The settings credit of what was done in every redraw: the array form of ``settings_credit``."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from simengine.quantities import Range
from simengine.scenario.key import Windowed
from simengine.scenario.wanted import AsShown, OneOf, Steps
from simengine.scoring.at_once.resamples import Resamples
from simengine.scoring.at_once.runs import Runs
from simengine.scoring.at_once.stretches import Flags, Floats, Ints, Numbers
from simengine.scoring.doses import AMOUNT
from simengine.scoring.item_guide import SettingCheck
from simengine.scoring.parts import PartCredit, part_credit
from simengine.scoring.plan import ItemPlan
from simengine.session.gauges import range_shown


class Settings(NamedTuple):
    """``off`` and ``unrecorded`` decide a verdict; ``wholly_off``: what must not be so is.

    ``unrecorded``: nothing of what is asked was recorded, or the amount of the dose was not.
    ``told_wrong``: a reading of a gauge is far from what that showed.
    """

    credit: Floats
    off: Flags
    unrecorded: Flags
    wholly_off: Flags
    told_wrong: Flags


def settings_credits(redraws: Resamples, plan: ItemPlan, instant: Ints, runs: Runs) -> Settings:
    """Return the settings credit at instants (ms) of what runs did."""
    item = plan.item
    assert isinstance(item, Windowed)
    shape = instant.shape
    got, others = np.zeros(shape), np.zeros(shape)
    parts, known = np.zeros(shape), np.zeros(shape)
    off, wholly_off = np.zeros(shape, np.bool_), np.zeros(shape, np.bool_)
    told_wrong = np.zeros(shape, np.bool_)
    for check in plan.checks:
        applies, credit, outside = _checked(redraws, check, instant, item.settle_ms)
        recorded = applies & ~np.isnan(credit)
        got += np.where(recorded, credit, 0.0)
        others += recorded
        known += recorded
        parts += applies
        off |= recorded & outside
        if isinstance(check.wanted, AsShown):
            told_wrong |= recorded & outside
        if check.setting in item.must:
            wholly_off |= recorded & (credit == 0.0)
    amount, no_amount = np.ones(shape), np.zeros(shape, np.bool_)
    if plan.doses:
        doses = [plan.doses.get(source.seq, ()) for source in runs.sources]
        rest = [[p for p in dose if p.name != AMOUNT and p.value is not None] for dose in doses]
        got += _table(runs, [sum(p.credit for p in some) for some in rest])
        others += _table(runs, [len(some) for some in rest])
        known += _table(runs, [sum(p.value is not None for p in dose) for dose in doses])
        parts += _table(runs, [len(dose) for dose in doses])
        off |= _table(runs, [any(p.off and p.value is not None for p in dose) for dose in doses])
        amounts = [_amount(dose) for dose in doses]
        amount_known = [part is not None and part.value is not None for part in amounts]
        amount *= _table(runs, [1.0 if p is None or p.value is None else p.credit for p in amounts])
        no_amount |= _table(runs, [p is not None and p.value is None for p in amounts])
        nothing = [
            known_amount and part is not None and part.credit == 0.0 and item.dose is not None
            for known_amount, part in zip(amount_known, amounts, strict=True)
        ]
        wholly_off |= _table(runs, nothing)
        for name in item.must:
            wholly_off |= _table(
                runs,
                [
                    any(p.name == name and p.value is not None and p.credit == 0.0 for p in dose)
                    for dose in doses
                ],
            )
    credit = np.where(others > 0, got / np.maximum(others, 1.0), 1.0) * amount
    credit = np.where(told_wrong, 0.0, credit)
    missing = known < parts
    unrecorded = missing & ((known == 0) | no_amount)
    return Settings(credit, off, unrecorded, wholly_off, told_wrong)


def _amount(dose: tuple[PartCredit, ...]) -> PartCredit | None:
    return next((part for part in dose if part.name == AMOUNT), None)


def _table(runs: Runs, by_source: list[Any]) -> Numbers:
    return runs.of(np.array(by_source))


def _checked(
    redraws: Resamples, check: SettingCheck, instant: Ints, settle_ms: int
) -> tuple[Flags, Floats, Flags]:
    """Whether a setting is asked, what it earns (not a number: not recorded), whether it is off."""
    steps = redraws.steps(check.setting)
    wanted = check.wanted
    if isinstance(wanted, AsShown):
        return _told(redraws, check, wanted, instant, settle_ms)
    applies = np.ones(instant.shape, np.bool_)
    if isinstance(wanted, Steps):
        rows: list[Range | OneOf] = [each for _, each in wanted.rows]
        row = np.full(instant.shape, -1)
        if redraws.clock is not None:
            for since, _ in wanted.rows:
                row += redraws.clock + since <= instant
        applies = row >= 0
        row = np.maximum(row, 0)
    else:
        rows, row = [wanted], np.zeros(instant.shape, np.int64)
    if not len(steps):
        return applies, np.full(instant.shape, np.nan), np.zeros(instant.shape, np.bool_)
    recorded, _, source = _in_force(steps, instant, settle_ms)
    judged = [
        [
            part_credit(check.setting, change.value, each, check.tolerance)
            for change in steps.sources
        ]
        for each in rows
    ]
    credit = np.array([[part.credit for part in some] for some in judged])
    off = np.array([[part.off for part in some] for some in judged])
    return applies, np.where(recorded, credit[row, source], np.nan), recorded & off[row, source]


def _in_force(steps: Runs, instant: Ints, settle_ms: int) -> tuple[Flags, Ints, Ints]:
    """Whether a setting was known at instants, and which change counts: its place, its source."""
    place = np.full(instant.shape, -1)
    for start in steps.start:
        place += start <= instant
    settles = (place < 0) & (steps.start[0] <= instant + settle_ms)
    recorded = (place >= 0) | settles
    place = np.maximum(place, 0)
    columns = np.broadcast_to(np.arange(instant.shape[1]), instant.shape)
    return recorded, place, place if steps.which is None else steps.which[place, columns]


def _told(
    redraws: Resamples, check: SettingCheck, wanted: AsShown, instant: Ints, settle_ms: int
) -> tuple[Flags, Floats, Flags]:
    """The same of a reading of a gauge, beside what that showed as it was read."""
    steps = redraws.steps(check.setting)
    supplies = redraws.plan.session.supplies
    none = np.zeros(instant.shape, np.bool_)
    if wanted.supply not in supplies:
        return none, np.full(instant.shape, np.nan), none
    if not len(steps):
        return ~none, np.full(instant.shape, np.nan), none
    recorded, place, source = _in_force(steps, instant, settle_ms)
    columns = np.broadcast_to(np.arange(instant.shape[1]), instant.shape)
    read_at = steps.start[place, columns]
    credit, off = np.full(instant.shape, np.nan), none.copy()
    for at in zip(*np.nonzero(recorded), strict=True):
        shown = range_shown(wanted, supplies, int(read_at[at]))
        value = steps.sources[source[at]].value
        if shown is not None:
            part = part_credit(check.setting, value, shown, check.tolerance)
            credit[at], off[at] = part.credit, part.off
    return ~none, credit, off
