"""What stands in each lane through the whole session: its tiles in their order, and its places.

Rules of this file:

- An action stands in the lane of the role whose work it is. On the main screen are what the
  marking guide, the states, the faults and the cues name, and all of a phase in which drugs are
  given, since a team may give what nobody asked for; the rest of the vocabulary is behind "more…".
- What lasts stands first, since a touch has to stop it; then what has a key.
- The lane of the cot begins with its faults, and then has every setting, those first that the
  scenario sets or asks for.
- A strip has as many places as its lane can need: what any state waits for, and ``ASKED`` more.
"""

from __future__ import annotations

from dataclasses import dataclass

from simengine.desk.strips import ASKED, EQUIPMENT, lane_of_tile, waited_in
from simengine.desk.view import Tile
from simengine.scenario.conditions import names_read
from simengine.scenario.kept import kept_by_scenario
from simengine.scenario.key import AskedAction, AskedKnowledge, AskedSetting, Item, Windowed
from simengine.scenario.model import Scenario
from simengine.scenario.vocabulary import Action
from simengine.scenario.whose import whose

MOST_PLACES = 8


@dataclass(frozen=True, slots=True)
class FixedLane:
    """A lane as it stands through the whole session; see the lane of a view."""

    tiles: tuple[Tile, ...]
    more: tuple[str, ...]
    places: int


@kept_by_scenario
def fixed_lanes(scenario: Scenario) -> dict[str, FixedLane]:
    """Return each lane by its role, the cot's last (``EQUIPMENT``)."""
    used = actions_used(scenario)
    places = _places(scenario)
    lanes: dict[str, list[Action]] = {role: [] for role in (*scenario.roles, EQUIPMENT)}
    for action in scenario.vocabulary.actions.values():
        lanes[whose(scenario, action) or EQUIPMENT].append(action)
    drugs = {
        action.phase for action in scenario.vocabulary.actions.values() if action.dose is not None
    }
    fixed = {}
    for role, actions in lanes.items():
        here = sorted(
            (action for action in actions if action.name in used or action.phase in drugs),
            key=lambda action: (action.name not in used, not action.lasting, action.key is None),
        )
        tiles = tuple(Tile("action", action.name) for action in here)
        if role == EQUIPMENT:
            tiles = (*_faults(scenario), *_settings(scenario), *tiles)
        shown = {action.name for action in here}
        rest = tuple(action.name for action in actions if action.name not in shown)
        fixed[role] = FixedLane(tiles, rest, places.get(role, 0))
    return fixed


@kept_by_scenario
def settings_checked(scenario: Scenario) -> dict[str, tuple[str, ...]]:
    """Return for each action the settings that the marking guide checks with it."""
    out: dict[str, dict[str, None]] = {}
    for item in scenario.key:
        if isinstance(item, Windowed) and isinstance(item.asked, AskedAction):
            out.setdefault(item.asked.action, {}).update(dict.fromkeys(item.settings))
    return {action: tuple(settings) for action, settings in out.items()}


def actions_used(scenario: Scenario) -> frozenset[str]:
    """Return the actions that the scenario's marking guide, states, faults and cues name."""
    used: set[str] = set(scenario.start.doing)
    for item in scenario.key:
        used.update(item.actions, item.not_advised)
        if isinstance(item.asked, AskedKnowledge):
            used.update(_telling(scenario, item.asked.observation))
    for state in scenario.states.values():
        for transition in state.next:
            if transition.when is not None:
                for kind, name in names_read(transition.when):
                    if kind == "action":
                        used.add(name)
                    elif kind == "seen":
                        used.update(_telling(scenario, name))
    for fault in scenario.start.faults.values():
        if isinstance(fault.mended_by, str):
            used.add(fault.mended_by)
    used.update(cue.prompts for cue in scenario.cues if cue.prompts is not None)
    return frozenset(used)


def _telling(scenario: Scenario, observation: str) -> set[str]:
    """The actions by which a team comes to know an observation, or says it."""
    vocabulary = scenario.vocabulary
    reading = {action.name for action in vocabulary.actions.values() if action.reads == observation}
    return reading | set(vocabulary.revealing(observation))


def _faults(scenario: Scenario) -> tuple[Tile, ...]:
    return tuple(Tile("fault", name) for name in scenario.start.faults)


def _settings(scenario: Scenario) -> tuple[Tile, ...]:
    checked = {name for names in settings_checked(scenario).values() for name in names}
    for item in scenario.key:
        if isinstance(item.asked, AskedSetting):
            checked.add(item.asked.setting)
    first = checked | set(scenario.start.settings)
    names = sorted(scenario.vocabulary.settings, key=lambda name: name not in first)
    return tuple(Tile("setting", name) for name in names)


def _places(scenario: Scenario) -> dict[str, int]:
    """Return how many tiles each lane's strip may have to hold at once."""
    most: dict[str, int] = dict.fromkeys((*scenario.roles, EQUIPMENT), 0)
    for state in scenario.states.values():
        here: dict[str, set[Tile]] = {}
        for tile in waited_in(scenario, state):
            here.setdefault(lane_of_tile(scenario, tile), set()).add(tile)
        for role, tiles in here.items():
            most[role] = max(most[role], len(tiles))
    number = dict.fromkeys(most, 0)
    for item in scenario.key:
        for role in _lanes_asked(scenario, item):
            number[role] += 1
    return {role: min(MOST_PLACES, most[role] + min(ASKED, number[role])) for role in most}


def _lanes_asked(scenario: Scenario, item: Item) -> set[str]:
    """The lanes in which what an item asks may stand."""
    subject, actions = item.asked, scenario.vocabulary.actions
    if subject is None:
        return set()
    if isinstance(subject, AskedAction):
        names = {subject.action}
    elif isinstance(subject, AskedKnowledge):
        names = _telling(scenario, subject.observation)
    else:
        return {EQUIPMENT}
    if item.role in scenario.roles:
        return {str(item.role)}
    return {whose(scenario, actions[name]) or EQUIPMENT for name in names}
