"""The marking guide of a scenario, made ready once for all its sessions.

Rules of this file:

- Nothing here depends on a session: what an item asks for, the phase that it belongs to, what
  its conditions name and what of them must go on.
- A guide is kept for the scenarios that were scored last.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.scenario.key import AskedAction, Expect, KeyItem, Respond
from simengine.scenario.model import Scenario
from simengine.scoring.clauses import Names, names_in, union_of
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds import KINDS


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
    action, setting = KINDS[type(item)].subject(item, scenario)
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


def _item_guide(item: KeyItem, scenario: Scenario) -> ItemGuide:
    kind = KINDS[type(item)]
    guide = ItemGuide(
        item=item,
        kind=kind,
        weight=scenario.scoring.weights[item.importance],
        phase=phase_of(item, scenario),
    )
    kind.prepare(guide, item, scenario)
    if guide.condition is not None:
        guide.names = names_in(guide.condition)
    return guide
