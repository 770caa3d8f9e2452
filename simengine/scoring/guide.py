"""The marking guide of a scenario, made ready once for all its sessions.

Rules of this file:

- Nothing here depends on a session: what an item asks for, the phase that it belongs to, what
  its conditions name and what of them must go on.
- A guide is kept for the scenarios that were scored last.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from simengine.scenario.conditions import Condition
from simengine.scenario.key import (
    AskedAction,
    AskedFault,
    AskedKnowledge,
    AskedSetting,
    Avoid,
    Expect,
    Keep,
    KeyItem,
    Kind,
    Order,
    Repeat,
    Respond,
)
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Dose
from simengine.scenario.wanted import Wanted
from simengine.scoring.clauses import Names, going_on, inward, names_in, union_of

KIND_OF: Mapping[type[KeyItem], Kind] = {
    Expect: "expect",
    Respond: "respond",
    Repeat: "repeat",
    Keep: "keep",
    Order: "order",
    Avoid: "avoid",
}


@dataclass(frozen=True, slots=True)
class SettingCheck:
    """A setting that an item checks, with the vocabulary's tolerance."""

    setting: str
    wanted: Wanted
    tolerance: float


@dataclass(slots=True, eq=False)
class ItemGuide:
    """A key item made ready.

    ``action``: the action whose performances it uses up, ``dose`` the dose that it carries, and
    ``prompts`` the action whose cues concern it. ``asked_actions`` and ``asked_settings``: what
    must have been there for it to be reached. ``condition``: with ``not`` drawn inwards;
    ``goes_on``: what of it must go on (``None``: nothing). ``step`` of a setting that is asked.
    """

    item: KeyItem
    kind: Kind
    weight: float
    phase: str
    action: str | None = None
    prompts: str | None = None
    asked_actions: tuple[str, ...] = ()
    asked_settings: tuple[str, ...] = ()
    checks: tuple[SettingCheck, ...] = ()
    dose: Dose | None = None
    step: float | None = None
    condition: Condition | None = None
    goes_on: Condition | None = None
    names: Names = field(default_factory=Names)


@dataclass(frozen=True, slots=True)
class Guide:
    """The items of a scenario's key in order, and all that their conditions name."""

    scenario: Scenario
    items: tuple[ItemGuide, ...]
    watched: Names


_KEPT = 16
_guides: dict[int, Guide] = {}


def guide_of(scenario: Scenario) -> Guide:
    """Return the guide of ``scenario``, made when it is first scored."""
    found = _guides.get(id(scenario))
    if found is None or found.scenario is not scenario:
        if len(_guides) >= _KEPT:
            _guides.pop(next(iter(_guides)))
        items = tuple(_item_guide(item, scenario) for item in scenario.key)
        found = Guide(scenario, items, union_of([item.names for item in items]))
        _guides[id(scenario)] = found
    return found


def phase_of(item: KeyItem, scenario: Scenario) -> str:
    """Return the phase that an item belongs to.

    That of the action asked; for a setting, of the first action of the vocabulary that carries
    it, those that this marking guide asks for coming first; for a fault, of what puts it right;
    for a condition, of the first action in it, else setting, else of what reveals its first
    observation; ``order``: of its first action. Else the vocabulary's first phase.
    """
    vocabulary = scenario.vocabulary
    action, setting = _named_by(item, scenario)
    if action is None and setting is not None:
        carrying = [a.name for a in vocabulary.actions.values() if setting in a.settings]
        wanted = {
            i.asked.action
            for i in scenario.key
            if isinstance(i, Expect | Respond) and isinstance(i.asked, AskedAction)
        }
        action = next((a for a in carrying if a in wanted), next(iter(carrying), None))
    if action is not None and action in vocabulary.actions:
        return vocabulary.actions[action].phase
    return next(iter(vocabulary.phases))


def _named_by(item: KeyItem, scenario: Scenario) -> tuple[str | None, str | None]:
    """The action, or else the setting, that an item is about."""
    if isinstance(item, Order):
        return item.actions[0], None
    if isinstance(item, Expect | Respond | Repeat):
        asked = item.asked
        if isinstance(asked, AskedAction):
            return asked.action, None
        if isinstance(asked, AskedKnowledge):
            revealing = scenario.vocabulary.revealing(asked.observation)
            return next(iter(revealing), None), None
        if isinstance(asked, AskedSetting):
            return None, asked.setting
        return _mending(asked.fault, scenario)
    if isinstance(item, Avoid) and isinstance(item.what, AskedAction):
        return item.what.action, None
    if item.condition is None:
        return None, None
    names = names_in(item.condition)
    if names.actions or names.settings:
        return next(iter(names.actions), None), next(iter(names.settings), None)
    for name in names.observed:
        revealed = scenario.vocabulary.observations[name].revealed_by
        return (revealed[0].action if revealed else None), None
    return None, None


def _mending(name: str, scenario: Scenario) -> tuple[str | None, str | None]:
    """The action, or the setting, that puts a fault right."""
    fault = scenario.start.faults.get(name)
    mended_by = fault.mended_by if fault is not None else None
    if mended_by is None or isinstance(mended_by, str):
        return mended_by, None
    return None, mended_by.setting


def _item_guide(item: KeyItem, scenario: Scenario) -> ItemGuide:
    vocabulary = scenario.vocabulary
    guide = ItemGuide(
        item=item,
        kind=KIND_OF[type(item)],
        weight=scenario.scoring.weights[item.importance],
        phase=phase_of(item, scenario),
    )
    if isinstance(item, Expect | Respond):
        asked = item.asked
        if isinstance(asked, AskedAction):
            guide.action = guide.prompts = asked.action
            guide.asked_actions = (asked.action,)
            if item.dose is not None:
                guide.dose = vocabulary.actions[asked.action].dose
        elif isinstance(asked, AskedSetting):
            guide.asked_settings = (asked.setting,)
            guide.step = vocabulary.settings[asked.setting].step
        elif isinstance(asked, AskedFault):
            _ask_fault(guide, asked, scenario)
        guide.checks = tuple(
            SettingCheck(name, wanted, vocabulary.settings[name].tolerance)
            for name, wanted in item.settings.items()
        )
        if isinstance(item, Respond):
            guide.condition = inward(item.whenever)
            guide.goes_on = going_on(guide.condition)
    elif isinstance(item, Repeat):
        if isinstance(item.asked, AskedAction):
            guide.asked_actions = (item.asked.action,)
    elif isinstance(item, Order):
        guide.asked_actions = item.actions
    else:
        guide.condition = item.condition
    if guide.condition is not None:
        guide.names = names_in(guide.condition)
        if isinstance(item, Keep):
            guide.asked_actions = guide.names.actions
            guide.asked_settings = guide.names.settings
    return guide


def _ask_fault(guide: ItemGuide, asked: AskedFault, scenario: Scenario) -> None:
    if asked.status != "mended":
        return
    action, setting = _mending(asked.fault, scenario)
    if action is not None:
        guide.prompts = action
        guide.asked_actions = (action,)
    elif setting is not None:
        guide.asked_settings = (setting,)
