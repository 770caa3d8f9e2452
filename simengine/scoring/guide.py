"""The marking guide of a scenario, made ready once for all its sessions.

Rules of this file:

- Nothing here depends on a session: what an item asks for, the phase that it belongs to, what
  its conditions name and what of them must go on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from simengine.scenario.kept import kept_by_scenario
from simengine.scenario.key import Item
from simengine.scenario.model import Scenario
from simengine.scoring.clauses import Names, actions_needed, names_in, union_of
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds import KINDS


@dataclass(frozen=True, slots=True)
class Guide:
    """The items of a scenario's key in order, then what is unsafe in any baby.

    ``watched``: all that their conditions name. ``groups``: for each action that some item uses
    up, all actions that are matched together with it, since some item takes any of them.
    """

    scenario: Scenario
    items: tuple[ItemGuide, ...]
    watched: Names
    groups: Mapping[str, tuple[str, ...]]


@kept_by_scenario
def guide_of(scenario: Scenario) -> Guide:
    """Return the guide of ``scenario``, made when it is first scored."""
    items = tuple(_item_guide(item, scenario) for item in (*scenario.key, *scenario.never))
    watched = union_of([item.names for item in items])
    return Guide(scenario, items, watched, _groups([item.actions for item in items]))


def phase_of(item: Item, scenario: Scenario) -> str:
    """Return the phase that an item belongs to.

    That of the action asked; for a setting, of the first action of the vocabulary that carries
    it, those that this marking guide asks for (in any kind of item) coming first; for a fault, of
    what puts it right; for a condition, of the first action in it, else setting, else of what
    reveals the first observation that it looks at or asks to be known; for what is to be known, of
    the first action that reveals it; ``order``: of its first action. Else the vocabulary's first.
    """
    vocabulary = scenario.vocabulary
    action, setting = KINDS[type(item)].subject(item, scenario)
    if action is None and setting is not None:
        carrying = [a.name for a in vocabulary.actions.values() if setting in a.settings]
        wanted = {name for other in scenario.key for name in other.actions}
        action = next((a for a in carrying if a in wanted), next(iter(carrying), None))
    if action is not None and action in vocabulary.actions:
        return vocabulary.actions[action].phase
    return next(iter(vocabulary.phases))


def _item_guide(item: Item, scenario: Scenario) -> ItemGuide:
    kind = KINDS[type(item)]
    guide = ItemGuide(
        item=item,
        kind=kind,
        weight=scenario.scoring.weights[item.importance],
        phase=phase_of(item, scenario),
    )
    kind.prepare(guide, item, scenario)
    conditions = [part for part in (guide.condition, guide.only_while) if part is not None]
    if guide.condition is not None:
        guide.needs = actions_needed(guide.condition)
    guide.names = union_of([names_in(part) for part in conditions])
    return guide


def _groups(every: Iterable[tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """Join actions that some item takes any of into one group, in order of first mention."""
    groups: dict[str, list[str]] = {}
    for actions in every:
        merged: list[str] = []
        for action in actions:
            for other in groups.get(action, [action]):
                if other not in merged:
                    merged.append(other)
        for action in merged:
            groups[action] = merged
    return {action: tuple(group) for action, group in groups.items()}
