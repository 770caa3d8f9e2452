"""The lanes: who does what now, and what each role can do.

Rules of this file:

- Lanes are the scenario's roles, in its order, and one more for the cot: its settings, its faults,
  and what is nobody's.
- The tiles of a lane stand still through the whole session; what changes has its places in the
  strip.
"""

from __future__ import annotations

from simengine.desk.fixed_lanes import fixed_lanes
from simengine.desk.scene import Scene
from simengine.desk.strips import EQUIPMENT, strips_of
from simengine.desk.view import ActionView, Doing, Expected, Lane, Person, Tile
from simengine.session.record import NEVER

_COT = "The cot"


def lanes_of(
    scene: Scene, actions: dict[str, ActionView], expected: tuple[Expected, ...]
) -> tuple[Lane, ...]:
    """Return the lanes in order, the equipment's last."""
    people = people_by_role(scene)
    strips = strips_of(scene, expected)
    fixed = fixed_lanes(scene.scenario)
    out = []
    for role, label in (*scene.scenario.roles.items(), (EQUIPMENT, _COT)):
        lane = fixed[role]
        own = [actions[tile.name] for tile in lane.tiles if tile.kind == "action"]
        rest = [actions[name] for name in lane.more]
        every = [*own, *rest]
        out.append(
            Lane(
                role=role,
                label=label,
                people=people.get(role, ()),
                doing=tuple(
                    Doing(action.name, action.label, action.running_ms)
                    for action in every
                    if action.running_ms is not None
                ),
                strip=strips.get(role, ())[: lane.places],
                places=lane.places,
                tiles=(*lane.tiles, *_as_done(scene, rest)),
                more=lane.more,
                last_ms=max(
                    (action.last_ms for action in every if action.last_ms is not None), default=None
                ),
            )
        )
    return tuple(out)


def _as_done(scene: Scene, rest: list[ActionView]) -> tuple[Tile, ...]:
    """What was done of the rest, in the order of its first writing down: none moves later."""
    first: dict[str, int] = {}
    for event in scene.fold.events:
        first.setdefault(str(event.data.get("action", "")), event.seq)
    done = [action.name for action in rest if action.last_ms is not None]
    return tuple(Tile("action", name) for name in sorted(done, key=lambda name: first.get(name, 0)))


def people_of(scene: Scene) -> tuple[Person, ...]:
    """Return who is in the room, each with the roles held now."""
    roles: dict[str, list[str]] = {}
    for tenure in scene.session.record.tenures:
        held = roles.setdefault(tenure.person, [])
        if tenure.end_ms == NEVER and tenure.role not in held:
            held.append(tenure.role)
    return tuple(Person(person, tuple(held)) for person, held in roles.items())


def people_by_role(scene: Scene) -> dict[str, tuple[str, ...]]:
    """Return who holds each role now."""
    out: dict[str, dict[str, None]] = {}
    for tenure in scene.session.record.tenures:
        if tenure.end_ms == NEVER:
            out.setdefault(tenure.role, {})[tenure.person] = None
    return {role: tuple(people) for role, people in out.items()}
