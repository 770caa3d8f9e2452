"""The lanes on the screen, over every scenario played to its end: nothing hides, nothing moves.

The page is given the views of a play one after the other, as its stream would bring them, on a
clock that the test moves; so no time passes.
"""

from __future__ import annotations

import time
from typing import Any

import orjson
import pytest
from playwright.sync_api import Page

from simengine.desk.console_view import console_of
from simengine.desk.scene import Scene
from simengine.session.fold import Fold
from tests.desk.browser.facilitator import LAPTOP, PHONE, TABLET, Facilitator
from tests.desk.test_strips import events_of
from tests.shipped import SCENARIOS, scenario

SIZES = (TABLET, (1024, 768), LAPTOP, PHONE)

# Takes the place of the page's stream: what the test brings is shown.
_STREAM = """() => {
    window.streams = [];
    window.EventSource = class extends EventTarget {
        constructor() { super(); window.streams.push(this); }
        close() {}
    };
    window.bring = (view) => window.streams.at(-1).dispatchEvent(
        new MessageEvent("view", { data: JSON.stringify(view) }));
}"""

# What is wrong with the lanes as they are drawn; "at" says where every tile below a strip stands.
_LANES = """(view) => {
    const wrong = [];
    const at = {};
    const phone = innerWidth < 700;
    const room = document.querySelector("#lanes").getBoundingClientRect();
    for (const lane of view.lanes) {
        const element = [...document.querySelectorAll(".lane")]
            .find((one) => one.getAttribute("aria-label") === lane.label);
        const strip = element.querySelector(".strip");
        const tiles = element.querySelector(".tiles");
        for (const { kind, name } of lane.strip) {
            const tile = strip.querySelector(`[data-tile="${kind} ${name}"]`);
            if (!tile) { wrong.push(`${lane.label}: ${name} is not in the strip`); continue; }
            const box = tile.getBoundingClientRect();
            if (!phone && (box.bottom > room.bottom + 1 || box.top < room.top - 1))
                wrong.push(`${lane.label}: ${name} is out of sight`);
            const label = tile.querySelector(".act-label");
            if (label.getBoundingClientRect().bottom > box.bottom + 1)
                wrong.push(`${lane.label}: the name of ${name} is cut off`);
        }
        for (const tile of tiles.children) {
            const box = tile.getBoundingClientRect();
            at[`${lane.label} ${tile.dataset.tile ?? "more"}`] =
                [Math.round(box.left), Math.round(box.top)];
        }
    }
    for (const column of document.querySelectorAll(".column")) {
        const lanes = [...column.querySelectorAll(".lane:not(.slim)")];
        const hides = lanes.some((lane) => {
            const tiles = lane.querySelector(".tiles");
            return tiles.scrollHeight > tiles.clientHeight + 2;
        });
        for (const lane of lanes) {
            const tiles = lane.querySelector(".tiles");
            const last = tiles.lastElementChild.getBoundingClientRect();
            const empty = tiles.getBoundingClientRect().bottom - last.bottom;
            if (hides && empty > 12)
                wrong.push(`${lane.getAttribute("aria-label")} shows empty room`);
        }
    }
    return { wrong, at };
}"""


def views_of(name: str) -> list[tuple[str, dict[str, Any]]]:
    """The view at the entry of each state of every play, with the state; and the last ones."""
    found: dict[tuple[str, ...], tuple[str, dict[str, Any]]] = {}
    version = 1000
    for events in events_of(name):
        fold = Fold(scenario(name))
        for place, event in enumerate(events):
            fold.feed(event)
            if event.kind == "closed":
                break
            following = events[place + 1].noted_ms if place + 1 < len(events) else None
            if following == event.noted_ms:
                continue
            opened = round(time.time() * 1000) - event.noted_ms
            view = console_of(Scene(fold, event.noted_ms, opened), screens=0)
            strips = [
                f"{fold.state} {lane.role} {tile}" for lane in view.lanes for tile in lane.strip
            ]
            key = tuple(strips)
            if key not in found:
                version += 1
                told = orjson.loads(orjson.dumps(view)) | {"version": version}
                found[key] = (fold.state, told)
    return list(found.values())


def shown(page: Page, view: dict[str, Any]) -> dict[str, Any]:
    """Bring a view, and let the places that had to wait for a second be filled."""
    page.evaluate("view => bring(view)", view)
    for _ in range(3):
        page.clock.run_for(1_100)
    told: dict[str, Any] = page.evaluate(_LANES, view)
    return told


@pytest.mark.parametrize("name", SCENARIOS)
def test_nothing_hides_and_nothing_moves_while_a_scenario_is_played_to_its_end(
    facilitator: Facilitator, name: str
) -> None:
    page = facilitator.page
    page.add_init_script(f"({_STREAM})()")
    page.clock.install()
    facilitator.start(name)
    views = views_of(name)
    assert len({state for state, _ in views}) > 2
    # the ones with the fullest strips, and the first of each state
    fullest = sorted(views, key=lambda one: -sum(len(lane["strip"]) for lane in one[1]["lanes"]))[
        :4
    ]
    first = {state: (state, view) for state, view in reversed(views)}
    chosen = sorted([*fullest, *first.values()], key=lambda one: one[1]["version"])
    wrong = []
    version = views[-1][1]["version"]
    for size in SIZES:
        page.set_viewport_size({"width": size[0], "height": size[1]})
        stood: dict[str, list[int]] = {}
        for state, view in chosen:
            version += 1
            told = shown(page, view | {"version": version})
            wrong += [f"{size}, {state}: {words}" for words in told["wrong"]]
            moved = [tile for tile, place in told["at"].items() if stood.get(tile, place) != place]
            wrong += [f"{size}, {state}: {tile} moved" for tile in moved]
            stood |= told["at"]
    assert sorted(set(wrong)) == []
