"""What is waited for, or asked, of each lane now: the tiles of its strip.

Rules of this file:

- First comes what the present state waits for on its ways to anything but a worse one: what is
  still to be done, set, put right or looked for. Then the next ``ASKED`` of the marking guide,
  soonest first. A tile stands once.
- A tile stands in the lane of the role that is asked for it, else in that of whose work it is;
  settings and faults stand with the cot.
"""

from __future__ import annotations

from collections.abc import Iterator

from simengine.desk.scene import Scene
from simengine.desk.view import Expected, Tile
from simengine.scenario.conditions import All, Condition, names_read
from simengine.scenario.model import Scenario, State
from simengine.scenario.whose import whose
from simengine.session.record import NEVER
from simengine.session.truth import truth

ASKED = 3
EQUIPMENT = ""
"""The lane that is nobody's: the cot's."""


def strips_of(scene: Scene, expected: tuple[Expected, ...]) -> dict[str, tuple[Tile, ...]]:
    """Return the tiles of each lane's strip, by its role."""
    scenario = scene.scenario
    strips: dict[str, dict[Tile, None]] = {}
    for tile in waited_now(scene):
        strips.setdefault(lane_of_tile(scenario, tile), {})[tile] = None
    for role, tiles in asked_now(scenario, expected).items():
        strips.setdefault(role, {}).update(dict.fromkeys(tiles))
    return {role: tuple(tiles) for role, tiles in strips.items()}


def asked_now(scenario: Scenario, expected: tuple[Expected, ...]) -> dict[str, tuple[Tile, ...]]:
    """Return the next ``ASKED`` tiles that the marking guide asks of each lane, soonest first."""
    by_lane: dict[str, dict[Tile, None]] = {}
    for item in expected:
        tile = tile_of(item)
        if tile is not None and item.standing in ("open", "later"):
            tiles = by_lane.setdefault(lane_of_tile(scenario, tile, item.role), {})
            if len(tiles) < ASKED:
                tiles[tile] = None
    return {role: tuple(tiles) for role, tiles in by_lane.items()}


def waited_now(scene: Scene) -> Iterator[Tile]:
    """Yield what the present state still waits for."""
    stay = scene.fold.stay
    if scene.fold.closed is not None or stay is None:
        return
    state = scene.scenario.states[scene.fold.state]
    for part in _parts(scene.scenario, state):
        if not _holds(scene, part, stay.entry_ms):
            yield from _tiles(scene.scenario, part)


def waited_in(scenario: Scenario, state: State) -> Iterator[Tile]:
    """Yield all that a state ever waits for."""
    for part in _parts(scenario, state):
        yield from _tiles(scenario, part)


def tile_of(one: Expected) -> Tile | None:
    """Return what is touched for an item; ``None`` where nothing is."""
    if one.action is not None:
        return Tile("action", one.action)
    if one.setting is not None:
        return Tile("setting", one.setting)
    return Tile("fault", one.fault) if one.fault is not None else None


def lane_of_tile(scenario: Scenario, tile: Tile, role: str | None = None) -> str:
    """Return the lane of a tile; ``role``: of whom it is asked."""
    if tile.kind != "action":
        return EQUIPMENT
    if role in scenario.roles:
        return str(role)
    return whose(scenario, scenario.vocabulary.actions[tile.name]) or EQUIPMENT


def _parts(scenario: Scenario, state: State) -> Iterator[Condition]:
    """Yield the conditions that all have to hold for a way out that is not for the worse."""
    for transition in state.next:
        when = transition.when
        if when is not None and scenario.states[transition.to].trend != "deteriorating":
            yield from when.parts if isinstance(when, All) else (when,)


def _holds(scene: Scene, condition: Condition, since_ms: int) -> bool:
    stretches = truth(condition, scene.fold.timeline, since_ms, NEVER)
    return any(start <= scene.now < end for start, end in stretches)


def _tiles(scenario: Scenario, condition: Condition) -> Iterator[Tile]:
    vocabulary = scenario.vocabulary
    for kind, name in sorted(names_read(condition)):
        if kind == "action":
            yield Tile("action", name)
        elif kind == "setting":
            yield Tile("setting", name)
        elif kind == "fault":
            yield Tile("fault", name)
        elif kind == "seen":
            yield from (Tile("action", action) for action in vocabulary.revealing(name)[:1])
