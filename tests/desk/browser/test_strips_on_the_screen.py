"""The lanes on the screen, over every scenario played to its end: nothing hides, nothing moves.

Rules:
- The page is given views of the plays one after the other, as its stream would bring them, on a
  clock that the test moves; so no time passes.
- What stands in a strip at every instant of every play is held without a browser, by
  tests/desk/test_strips.py: all that is waited for and asked, in no more places than there are, and
  the tiles below never others. Here it is drawn, at each size of screen: the fullest strips, the
  first instant of each state, and every tile that stands in a strip at any instant, so that none
  could hide, be cut off or push another away. Together they hold it at every instant.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import orjson
import pytest
from playwright.sync_api import Page

from simengine.desk.console_view import console_of
from simengine.desk.scene import Scene
from simengine.desk.view import Tile
from simengine.session.fold import Fold
from tests.desk.browser.facilitator import LAPTOP, PHONE, TABLET, Facilitator
from tests.desk.test_strips import events_of
from tests.shipped import SCENARIOS, scenario

SIZES = (TABLET, (1024, 768), LAPTOP, PHONE)

# Takes the place of the page's stream: what the test brings is shown.
STREAM = """() => {
    window.streams = [];
    window.EventSource = class extends EventTarget {
        constructor() { super(); window.streams.push(this); }
        close() {}
    };
    window.bring = (view) => window.streams.at(-1).dispatchEvent(
        new MessageEvent("view", { data: JSON.stringify(view) }));
}"""

# What is wrong with the lanes as they are drawn; "at" says where every tile below a strip stands.
_LANES = """(place) => {
    // the part of a lane's tiles that is in sight: they scroll in it, and the lanes in theirs
    const seenOf = (tiles, room) => {
        const { left, right, top, bottom } = tiles.getBoundingClientRect();
        if (!room) return { left, right, top, bottom };
        return { left, right, top: Math.max(top, room.top), bottom: Math.min(bottom, room.bottom) };
    };
    const view = views[place];
    // whether a tile's name is cut off, whatever the longest note beside it
    const nameCut = (tile) => {
        const label = tile.querySelector(".act-label");
        if (!label) return false;
        const note = tile.querySelector(".act-note");
        const words = note.textContent;
        const kept = tile.dataset.acts ? ["since 10:00", "10:00 min ago"] : [words];
        const cut = kept.some((longest) => {
            note.textContent = longest;
            const box = tile.getBoundingClientRect();
            const name = label.getBoundingClientRect();
            const beside = note.getBoundingClientRect();
            const letter = tile.querySelector("kbd")?.getBoundingClientRect();
            return name.bottom > box.bottom || label.scrollWidth > label.clientWidth + 1
                || letter?.bottom > box.bottom + 1
                || getComputedStyle(note).float === "none" && name.bottom > beside.top + 1;
        });
        note.textContent = words;
        return cut;
    };
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
        const seen = seenOf(tiles, phone ? null : room);
        for (const tile of tiles.children) {
            const box = tile.getBoundingClientRect();
            const name = tile.dataset.tile ?? "more";
            const high = Math.min(box.bottom, seen.bottom) - Math.max(box.top, seen.top);
            const wide = Math.min(box.right, seen.right) - Math.max(box.left, seen.left);
            const hidden = high < 3 || wide < 3;
            if (!hidden && (high < box.height - 1 || wide < box.width - 1))
                wrong.push(`${lane.label}: ${name} is cut in two`);
            if (box.height < 44 || box.width < 44)
                wrong.push(`${lane.label}: ${name} is smaller than a finger`);
            if (nameCut(tile)) wrong.push(`${lane.label}: the name of ${name} is cut off`);
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

# The page puts its lanes in order when it is told of another size; an observer that comes after the
# page's own is told after it, in the same frame.
_ARRANGED = """() => new Promise((done) => {
    new ResizeObserver((_, observer) => { observer.disconnect(); done(); })
        .observe(document.querySelector("#lanes"));
})"""


@dataclass(frozen=True)
class Instant:
    """What stands in the strips at an instant, by lane; and the view that shows it."""

    state: str
    tiles: frozenset[tuple[str, Tile]]
    view: bytes


def instants_of(name: str) -> list[Instant]:
    """Each state with each content of the strips that any play of a scenario has."""
    seen: dict[tuple[str, ...], Instant] = {}
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
            tiles = [(lane.role, tile) for lane in view.lanes for tile in lane.strip]
            key = (fold.state, *map(str, tiles))
            if key not in seen:
                seen[key] = Instant(fold.state, frozenset(tiles), orjson.dumps(view))
    return list(seen.values())


def to_be_drawn(instants: Sequence[Instant]) -> list[Instant]:
    """The four with the fullest strips, the first of each state, and some that show the rest."""
    chosen = set(sorted(instants, key=lambda instant: -len(instant.tiles))[:4])
    chosen.update({instant.state: instant for instant in reversed(instants)}.values())
    missing = frozenset[tuple[str, Tile]]().union(*(instant.tiles for instant in instants))
    for instant in chosen:
        missing -= instant.tiles
    while missing:
        most = max(instants, key=lambda instant: len(instant.tiles & missing))
        chosen.add(most)
        missing -= most.tiles
    return [instant for instant in instants if instant in chosen]


def shown(page: Page, place: int, version: int) -> dict[str, Any]:
    """Bring a view, and let the places that had to wait for a second be filled."""
    page.evaluate("([place, version]) => bring({ ...views[place], version })", [place, version])
    for _ in range(3):
        page.clock.fast_forward(1_100)
    measured: dict[str, Any] = page.evaluate(_LANES, place)
    return measured


@pytest.mark.parametrize("name", SCENARIOS)
def test_nothing_hides_and_nothing_moves_while_a_scenario_is_played_to_its_end(
    facilitator: Facilitator, name: str
) -> None:
    page = facilitator.page
    page.add_init_script(f"({STREAM})()")
    page.clock.install()
    facilitator.start(name)
    instants = to_be_drawn(instants_of(name))
    assert len({instant.state for instant in instants}) > 2
    views = b",".join(instant.view for instant in instants).decode()
    page.evaluate("json => { window.views = JSON.parse(json); }", f"[{views}]")
    wrong = []
    version = 1_000
    for size in SIZES:
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.evaluate(_ARRANGED)
        if size == LAPTOP:
            page.keyboard.press("F9")  # a key that does nothing, after which tiles show theirs
        stood: dict[str, list[int]] = {}
        for place, instant in enumerate(instants):
            version += 1
            drawn = shown(page, place, version)
            wrong += [f"{size}, {instant.state}: {words}" for words in drawn["wrong"]]
            moved = [tile for tile, at in drawn["at"].items() if stood.get(tile, at) != at]
            wrong += [f"{size}, {instant.state}: {tile} moved" for tile in moved]
            stood |= drawn["at"]
    assert not wrong, "\n".join(sorted(set(wrong)))
