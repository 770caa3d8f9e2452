"""One item of a marking guide made ready, once for all sessions of its scenario."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from simengine.scenario.conditions import Condition
from simengine.scenario.key import Item
from simengine.scenario.model import Scenario
from simengine.scenario.wanted import Told
from simengine.scoring.clauses import Names, names_in

if TYPE_CHECKING:
    from simengine.scoring.kinds.kind import ItemKind, Subject


@dataclass(frozen=True, slots=True)
class SettingCheck:
    """A setting that an item checks, with the vocabulary's tolerance.

    A reading of a gauge has none: it is near what that showed, or told wrong.
    """

    setting: str
    wanted: Told
    tolerance: float


@dataclass(slots=True, eq=False)
class ItemGuide:
    """A key item made ready.

    ``actions``: those whose performances it uses up, any of them; ``prompts``: the actions whose
    cues concern it. ``asked_actions``: all that it asks. ``kit`` and ``asked_settings``: what must
    have been there for it to be reached, of each group of ``kit`` one. ``condition``: with ``not``
    drawn inwards; ``goes_on``: what of it must go on (``None``: nothing); ``only_while``: what
    must hold besides. ``least_change`` of a setting that is asked. ``only_settings``: the condition
    names nothing else. ``needs``: actions without each of which the condition
    never holds. ``about``: the settings, else actions, else observations that it names.

    For ``avoid``: ``watch``, the actions that it is about; ``lasting_ms``; ``rests_on_absence``, it
    may occur because something is not in the record; ``at_instant`` and ``for_a_while``, the parts
    of ``while`` that are judged at an instant, and those that must have held until then.
    """

    item: Item
    kind: ItemKind[Any]
    weight: float
    phase: str
    actions: tuple[str, ...] = ()
    prompts: tuple[str, ...] = ()
    asked_actions: tuple[str, ...] = ()
    kit: tuple[tuple[str, ...], ...] = ()
    asked_settings: tuple[str, ...] = ()
    checks: tuple[SettingCheck, ...] = ()
    least_change: float = 0.0
    condition: Condition | None = None
    goes_on: Condition | None = None
    only_while: Condition | None = None
    names: Names = field(default_factory=Names)
    only_settings: bool = False
    needs: frozenset[str] = frozenset()
    about: frozenset[str] = frozenset()
    watch: tuple[str, ...] = ()
    lasting_ms: int = 0
    rests_on_absence: bool = False
    at_instant: tuple[Condition, ...] = ()
    for_a_while: tuple[Condition, ...] = ()


def mended_by(name: str, scenario: Scenario) -> Subject:
    """Return the action, or the setting, that puts a fault right."""
    fault = scenario.start.faults.get(name)
    by = fault.mended_by if fault is not None else None
    if by is None or isinstance(by, str):
        return by, None
    return None, by.setting


def condition_subject(condition: Condition, scenario: Scenario) -> Subject:
    """Return the action, or else the setting, that a condition is about.

    The first action that it names, else the first setting, else what reveals the first observation
    that it looks at, asks to have been read, or to be known.
    """
    names = names_in(condition)
    if names.actions or names.settings:
        return next(iter(names.actions), None), next(iter(names.settings), None)
    for name in (*names.observed, *names.read, *names.seen):
        revealed = scenario.vocabulary.observations[name].revealed_by
        return (revealed[0].action if revealed else None), None
    return None, None
