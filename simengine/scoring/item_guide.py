"""One item of a marking guide made ready, once for all sessions of its scenario."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from simengine.scenario.conditions import Condition
from simengine.scenario.key import KeyItem
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Dose
from simengine.scenario.wanted import Wanted
from simengine.scoring.clauses import Names, names_in

if TYPE_CHECKING:
    from simengine.scoring.kinds.kind import ItemKind, Subject


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
    kind: ItemKind[Any]
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


def mended_by(name: str, scenario: Scenario) -> Subject:
    """Return the action, or the setting, that puts a fault right."""
    fault = scenario.start.faults.get(name)
    by = fault.mended_by if fault is not None else None
    if by is None or isinstance(by, str):
        return by, None
    return None, by.setting


def condition_subject(condition: Condition, scenario: Scenario) -> Subject:
    """Return the action, or else the setting, that a condition is about.

    The first action that it names, else the first setting, else what reveals its first observation.
    """
    names = names_in(condition)
    if names.actions or names.settings:
        return next(iter(names.actions), None), next(iter(names.settings), None)
    for name in names.observed:
        revealed = scenario.vocabulary.observations[name].revealed_by
        return (revealed[0].action if revealed else None), None
    return None, None
