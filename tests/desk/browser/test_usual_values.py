"""Any setting is set to any of its usual values with two touches, in every shipped scenario.

The page is given the views of the scenarios one after the other, as its stream would bring them;
what it sends is answered as a server would. What is the same in two scenarios is touched in one.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import orjson

from simengine.desk.console_view import console_of
from simengine.desk.scene import Scene
from simengine.desk.view import ConsoleView, Tile
from simengine.plays import perform
from simengine.scenario.usual import usual_values
from simengine.session.fold import Fold
from tests.desk.browser.facilitator import Facilitator
from tests.plays.test_shipped import PLAYS, play_in
from tests.shipped import SCENARIOS, scenario

# Takes the places of the page's stream and of the server that keeps its entries.
_SERVER = """() => {
    window.EventSource = class extends EventTarget {
        constructor() { super(); window.stream = this; }
        close() {}
    };
    window.version = 1_000;
    window.bring = (view) => {
        window.version += 1;
        const data = JSON.stringify({ ...view, version: window.version });
        window.stream.dispatchEvent(new MessageEvent("view", { data }));
    };
    window.kept = [];
    const others = window.fetch;
    window.fetch = async (address, options) => {
        if (options?.method !== "POST") return others(address, options);
        const { events } = JSON.parse(options.body);
        window.kept.push(...events);
        const taken = events.map(({ id }) => id);
        return Response.json({ taken, refused: [], version: window.version + 1 });
    };
}"""

# Brings settings to values by two touches each: on the setting's tile, and on the value. What lies
# under the finger there is what is touched. After each setting comes a view that has what was kept.
_TWO_TOUCHES_EACH = """async ([view, wanted]) => {
    const wrong = [];
    const touch = (element, what) => {
        if (!element) { wrong.push(`${what} is not there`); return; }
        element.scrollIntoView({ block: "nearest" });
        const { left, top, width, height } = element.getBoundingClientRect();
        const under = document.elementFromPoint(left + width / 2, top + height / 2);
        if (!element.contains(under)) wrong.push(`${what} is covered`);
        under?.closest("button")?.click();
    };
    let touched = kept.length = 0;
    for (const [name, values] of wanted) {
        bring(view);
        for (const value of values) {
            const dock = document.querySelector("#dock");
            const tile = document.querySelector(`.tiles .act[data-sets="${name}"]`);
            touch(tile, `the tile of ${name}`);
            const isIt = ({ textContent: words }) =>
                typeof value === "number" ? parseFloat(words) === value : words === value;
            touch([...dock.querySelectorAll(".words button")].find(isIt), `${value} of ${name}`);
            dock.querySelector("[data-close]").click();
        }
        touched += values.length;
        for (let frames = 0; kept.length < touched && frames < 1_000; frames += 1)
            await new Promise(requestAnimationFrame);
    }
    return { wrong, kept: kept.map(({ kind, data }) => [kind, data.setting, data.value]) };
}"""


def from_far_apart(values: Sequence[float | str]) -> list[float | str]:
    """Each value, come to from the one that stands farthest from it."""
    order = values if isinstance(values[0], str) else sorted(values)
    half = len(order) / 2
    way = [
        step
        for place, value in enumerate(order)
        for step in (order[-1] if place < half else order[0], value)
    ]
    return [value for value, before in zip(way, [None, *way], strict=False) if value != before]


def at_its_start(name: str) -> ConsoleView:
    """What the console shows of a scenario as it begins."""
    first = next(file for file in PLAYS if file.parent.name == name)
    fold = Fold(scenario(name))
    for event in perform(play_in(first)).session.events:
        if event.noted_ms > 0:
            break
        fold.feed(event)
    return console_of(Scene(fold, 0, round(time.time() * 1000)), screens=0)


def test_any_setting_goes_to_any_of_its_usual_values_from_far_apart_with_two_touches(
    facilitator: Facilitator,
) -> None:
    facilitator.page.add_init_script(f"({_SERVER})()")
    page = facilitator.start(SCENARIOS[0])
    tried: set[bytes] = set()
    for name in SCENARIOS:
        view = at_its_start(name)
        tiles = {tile for lane in view.lanes for tile in lane.tiles}
        wanted: dict[str, list[float | str]] = {}
        for setting in scenario(name).vocabulary.settings.values():
            usual = setting.words or usual_values(scenario(name), setting)
            shown = view.settings[setting.name]
            assert len(usual) > 1
            assert (shown.words or shown.usual) == usual
            assert Tile("setting", setting.name) in tiles
            if (same := orjson.dumps([setting.name, shown])) not in tried:
                wanted[setting.name] = from_far_apart(usual)
                tried.add(same)
        sent = [orjson.loads(orjson.dumps(view)), list(wanted.items())]
        touched = page.evaluate(_TWO_TOUCHES_EACH, sent)
        assert touched["wrong"] == [], name
        values = [["set", setting, value] for setting, way in wanted.items() for value in way]
        assert touched["kept"] == values, name
    assert len(tried) > len(scenario(SCENARIOS[0]).vocabulary.settings)
