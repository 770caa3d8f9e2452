"""What stands in the lanes at every instant of every play, played to its end."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import pytest

from simengine.desk.action_views import actions_of
from simengine.desk.expected import expected_of
from simengine.desk.lanes import lanes_of
from simengine.desk.scene import Scene
from simengine.desk.strips import asked_now, waited_now
from simengine.desk.view import Expected, Lane, Tile
from simengine.plays import perform
from simengine.session import Event
from simengine.session.fold import Fold
from tests.plays.test_shipped import PLAYS, play_in
from tests.shipped import SCENARIOS, scenario

DRUGS = ("umbilical_access", "intraosseous_access", "adrenaline", "volume")


@cache
def events_of(name: str) -> tuple[tuple[Event, ...], ...]:
    """The logs of all plays of a scenario."""
    files = [file for file in PLAYS if file.parent.name == name]
    return tuple(perform(play_in(file)).session.events for file in files)


def instants(name: str) -> Iterator[tuple[Scene, tuple[Expected, ...], tuple[Lane, ...]]]:
    """Every instant at which something was written down, and the one before the next."""
    for events in events_of(name):
        fold = Fold(scenario(name))
        for place, event in enumerate(events):
            fold.feed(event)
            following = events[place + 1].noted_ms if place + 1 < len(events) else None
            if following == event.noted_ms:
                continue
            for at_ms in {event.noted_ms, (following or event.noted_ms + 1) - 1}:
                scene = Scene(fold, at_ms, 0)
                expected = expected_of(scene)
                yield scene, expected, lanes_of(scene, actions_of(scene, expected), expected)


@pytest.mark.parametrize("name", SCENARIOS)
def test_what_is_waited_for_and_the_next_three_asked_are_in_the_strip_at_every_instant(
    name: str,
) -> None:
    seen = 0
    first: dict[str, tuple[Tile, ...]] = {}
    places: dict[str, int] = {}
    for scene, expected, lanes in instants(name):
        waited = set(waited_now(scene))
        tiles = asked_now(scene.scenario, expected)
        standing = {tile for lane in lanes for tile in lane.strip}
        assert waited <= standing
        for lane in lanes:
            assert set(tiles.get(lane.role, ())) <= set(lane.strip), lane.role
            assert len(lane.strip) <= lane.places
            assert len(set(lane.strip)) == len(lane.strip)
            # the tiles below stand still through the whole session, whatever is added after them
            before = first.setdefault(lane.role, lane.tiles)
            assert lane.tiles[: len(before)] == before
            assert places.setdefault(lane.role, lane.places) == lane.places
            # a touch on any of the strip's tiles is one in its lane
            actions = {tile.name for tile in lane.tiles if tile.kind == "action"} | set(lane.more)
            assert all(tile.kind != "action" or tile.name in actions for tile in lane.strip), name
        seen += 1
    assert seen > 100


@pytest.mark.parametrize("name", SCENARIOS)
def test_adrenaline_access_and_volume_are_tiles_of_who_gives_drugs(name: str) -> None:
    scene, _, lanes = next(instants(name))
    (lane,) = [lane for lane in lanes if Tile("action", "adrenaline") in lane.tiles]
    assert lane.role in scene.scenario.roles
    assert all(Tile("action", action) in lane.tiles for action in DRUGS)


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_setting_and_every_fault_is_a_tile_of_the_cot(name: str) -> None:
    scene, _, lanes = next(instants(name))
    cot = set(lanes[-1].tiles)
    made = scene.scenario
    assert {Tile("setting", setting) for setting in made.vocabulary.settings} <= cot
    assert {Tile("fault", fault) for fault in made.start.faults} <= cot


def test_every_action_is_in_one_lane_and_none_is_lost() -> None:
    for name in SCENARIOS:
        _, _, lanes = next(instants(name))
        here = [tile.name for lane in lanes for tile in lane.tiles if tile.kind == "action"]
        here += [action for lane in lanes for action in lane.more]
        assert sorted(here) == sorted(scenario(name).vocabulary.actions)
