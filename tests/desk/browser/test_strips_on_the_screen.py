"""The lanes on the screen, over every scenario played to its end: nothing hides, nothing moves.

Rules:
- The page is given views of the plays one after the other, as its stream would bring them, on a
  clock that the test moves; so no time passes. All that is shown at a size is shown and measured in
  one call into the page.
- One console serves the pages of all scenarios; each has a session and a page of its own.
- What stands in a strip at every instant of every play is held without a browser, by
  tests/desk/test_strips.py: all that is waited for and asked, in no more places than there are, and
  the tiles below never others. Here it is drawn, at each size of screen: the fullest strips, the
  first instant of each state, and every tile that stands in a strip at any instant, so that none
  could hide, be cut off or push another away. Together they hold it at every instant.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import orjson
import pytest
from playwright.sync_api import Browser

from simengine.desk.console_view import console_of
from simengine.desk.expected import expected_of
from simengine.desk.scene import Scene
from simengine.desk.strips import EQUIPMENT, strips_of
from simengine.desk.view import Tile
from simengine.session import Event
from simengine.session.fold import Fold
from tests.desk.browser.facilitator import LAPTOP, PHONE, TABLET, Facilitator
from tests.desk.test_strips import events_of
from tests.shipped import SCENARIOS, scenario

SIZES = (TABLET, (1024, 768), LAPTOP, PHONE)

# Takes the place of the page's stream: what the test brings is shown.
STREAM = """() => {
    const streams = [];
    window.EventSource = class extends EventTarget {
        constructor() { super(); streams.push(this); }
        close() {}
    };
    window.bring = (view) => streams.at(-1).dispatchEvent(
        new MessageEvent("view", { data: JSON.stringify(view) }));
}"""

# Takes the place of the page's clock: whenever the test moves it on, what is due by then runs once.
_STEPS = """() => {
    const intervals = [];
    const now = performance.now.bind(performance);
    let ahead = 0;
    performance.now = () => now() + ahead;
    window.setInterval = (run, every) => intervals.push({ run, every, due: ahead + every });
    window.moveOn = (ms) => {
        ahead += ms;
        for (const interval of intervals) {
            if (interval.due > ahead) continue;
            interval.due = ahead + interval.every;
            interval.run();
        }
    };
}"""

# Brings each view, lets the places that had to wait for a second be filled, and returns what is
# wrong with the lanes as they are drawn then; "at" says where every tile below a strip stands.
_LANES = """(firstVersion) => {
    // the part of a lane's tiles that is in sight: they scroll in it, and the lanes in theirs
    const seenOf = (tiles, room) => {
        const { left, right, top, bottom } = tiles.getBoundingClientRect();
        if (!room) return { left, right, top, bottom };
        return { left, right, top: Math.max(top, room.top), bottom: Math.min(bottom, room.bottom) };
    };
    // whether a tile's name is cut off beside its note as that stands
    const isCut = (tile) => {
        const label = tile.querySelector(".act-label");
        const note = tile.querySelector(".act-note");
        const box = tile.getBoundingClientRect();
        const name = label.getBoundingClientRect();
        const beside = note.getBoundingClientRect();
        const letter = tile.querySelector("kbd")?.getBoundingClientRect();
        return name.bottom > box.bottom || label.scrollWidth > label.clientWidth + 1
            || letter?.bottom > box.bottom + 1
            || getComputedStyle(note).float === "none" && name.bottom > beside.top + 1;
    };
    // all that a name's room depends on while the window is as large as it is
    const setting = (tile) => {
        const { width, height } = tile.getBoundingClientRect();
        const above = ["tiles", "strip", "lane", "column"]
            .map((name) => tile.closest(`.${name}`)?.className);
        const note = tile.querySelector(".act-note");
        const words = tile.dataset.acts ? "" : note.textContent;
        const label = tile.querySelector(".act-label").innerHTML;
        const bar = tile.querySelector(".bar")?.hidden;
        const itself = tile.cloneNode(false).outerHTML;
        return JSON.stringify([itself, above, width, height, words, label, bar]);
    };
    const known = new Map();
    // the tiles whose name is cut off, whatever the longest note beside it: each is asked once for
    // each setting in which it stands, and all that are asked have their note before any is
    // measured, for the page would be laid out anew for each
    const namesCut = (tiles) => {
        const settings = tiles.map(setting);
        const asked = tiles.filter((_, place) => !known.has(settings[place]));
        const notes = asked.map((tile) => tile.querySelector(".act-note"));
        const words = notes.map((note) => note.textContent);
        const cut = new Set();
        for (const longest of ["since 10:00", "10:00 min ago"]) {
            notes.forEach((note, place) => {
                note.textContent = asked[place].dataset.acts ? longest : words[place];
            });
            for (const tile of asked) if (isCut(tile)) cut.add(tile);
        }
        notes.forEach((note, place) => { note.textContent = words[place]; });
        tiles.forEach((tile, place) => {
            const key = settings[place];
            if (!known.has(key)) known.set(key, cut.has(tile));
        });
        return new Set(tiles.filter((_, place) => known.get(settings[place])));
    };
    const phone = innerWidth < 700;
    const measured = (view) => {
        const wrong = [];
        const at = {};
        const named = [...document.querySelectorAll(".lane .tiles > *")]
            .filter((tile) => tile.querySelector(".act-label"));
        const cutOff = namesCut(named);
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
                if (cutOff.has(tile)) wrong.push(`${lane.label}: the name of ${name} is cut off`);
                at[`${lane.label} ${name}`] = [Math.round(box.left), Math.round(box.top)];
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
    };
    return views.map((view, place) => {
        bring({ ...view, version: firstVersion + place });
        for (let step = 0; step < 3; step += 1) moveOn(1_100);
        return measured(view);
    });
}"""

# The page puts its lanes in order when it is told of another size; an observer that comes after the
# page's own is told after it, in the same frame.
_ARRANGED = """() => new Promise((done) => {
    new ResizeObserver((_, observer) => { observer.disconnect(); done(); })
        .observe(document.querySelector("#lanes"));
})"""


@dataclass(frozen=True)
class Instant:
    """What stands in the strips after an event of a play, by lane."""

    state: str
    tiles: frozenset[tuple[str, Tile]]
    play: int
    event: int


def instants_of(name: str) -> Iterator[Instant]:
    """Each state with each content of the strips that any play of a scenario has."""
    seen: set[tuple[str, ...]] = set()
    for play, events in enumerate(events_of(name)):
        fold = Fold(scenario(name))
        for place, event in enumerate(events):
            fold.feed(event)
            if event.kind == "closed":
                break
            following = events[place + 1].noted_ms if place + 1 < len(events) else None
            if following == event.noted_ms:
                continue
            scene = scene_of(fold, event)
            strips = strips_of(scene, expected_of(scene))
            lanes = (*scene.scenario.roles, EQUIPMENT)
            tiles = [(role, tile) for role in lanes for tile in strips.get(role, ())]
            key = (fold.state, *map(str, tiles))
            if key not in seen:
                seen.add(key)
                yield Instant(fold.state, frozenset(tiles), play, place)


def scene_of(fold: Fold, event: Event) -> Scene:
    """The session as an event has just been written down, which is now."""
    return Scene(fold, event.noted_ms, round(time.time() * 1000) - event.noted_ms)


def views_of(name: str, instants: Sequence[Instant]) -> list[bytes]:
    """The views that show these instants, which stand in the order of the plays."""
    views: list[bytes] = []
    for play, events in enumerate(events_of(name)):
        drawn = {instant.event for instant in instants if instant.play == play}
        fold = Fold(scenario(name))
        for place, event in enumerate(events[: max(drawn, default=-1) + 1]):
            fold.feed(event)
            if place in drawn:
                views.append(orjson.dumps(console_of(scene_of(fold, event), screens=0)))
    assert len(views) == len(instants)
    return views


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


@pytest.fixture(scope="module")
def console(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Facilitator]:
    """A console for all scenarios."""
    made = Facilitator(chromium, tmp_path_factory.mktemp("strips") / "data")
    yield made
    made.leave()
    assert made.errors == []


@pytest.mark.parametrize("name", SCENARIOS)
def test_nothing_hides_and_nothing_moves_while_a_scenario_is_played_to_its_end(
    console: Facilitator, name: str
) -> None:
    page = console.another_page()
    page.add_init_script(f"({STREAM})(); ({_STEPS})()")
    console.start(name)
    instants = to_be_drawn(list(instants_of(name)))
    assert len({instant.state for instant in instants}) > 2
    views = b",".join(views_of(name, instants)).decode()
    page.evaluate("json => { window.views = JSON.parse(json); }", f"[{views}]")
    wrong = []
    for turn, size in enumerate(SIZES, start=1):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.evaluate(_ARRANGED)
        if size == LAPTOP:
            page.keyboard.press("F9")  # a key that does nothing, after which tiles show theirs
        stood: dict[str, list[int]] = {}
        drawn = page.evaluate(_LANES, 1_000 * turn)
        for instant, seen in zip(instants, drawn, strict=True):
            wrong += [f"{size}, {instant.state}: {words}" for words in seen["wrong"]]
            moved = [tile for tile, at in seen["at"].items() if stood.get(tile, at) != at]
            wrong += [f"{size}, {instant.state}: {tile} moved" for tile in moved]
            stood |= seen["at"]
    assert console.errors == []
    assert not wrong, "\n".join(sorted(set(wrong)))
