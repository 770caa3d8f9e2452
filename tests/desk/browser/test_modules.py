"""The small modules of the pages, each against a sum worked out here."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.desk.browser.facilitator import Facilitator


@pytest.fixture(scope="module")
def page(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """A page of a console's own origin, from which modules can be loaded: one for all sums."""
    facilitator = Facilitator(chromium, tmp_path_factory.mktemp("modules") / "data")
    facilitator.page.goto(f"{facilitator.server.address}/join")
    yield facilitator.page
    facilitator.leave()
    assert facilitator.errors == []


def _call(page: Page, module: str, name: str, *given: Any) -> Any:
    return page.evaluate(
        """async ([module, name, given]) =>
            (await import(`/static/${module}.js`))[name](...given)""",
        [module, name, list(given)],
    )


@pytest.mark.parametrize("at_ms", [0, 1_000, 12_345, 60_000, 600_000])
def test_a_value_is_what_the_closed_form_says(page: Page, at_ms: int) -> None:
    curve = {
        "start_ms": 1_000, "value": 84.0, "target": 62.0, "tau_ms": 30_043.0,
        "decimals": 0, "unit": "/min",
    }  # fmt: skip
    gone = max(0, at_ms - 1_000)
    expected = 62.0 + 22.0 * math.exp(-gone / 30_043.0)
    assert _call(page, "words", "valueAt", curve, at_ms) == pytest.approx(expected, abs=1e-9)
    assert _call(page, "words", "valueText", curve, at_ms) == f"{expected:.0f} /min"


def test_the_clock_of_the_quickest_answer_counts(page: Page) -> None:
    # The server's clock is 1,000 ms ahead; the second answer came back slowly on its way.
    answers = [
        {"sent": 0, "came": 40, "server": 1_020},
        {"sent": 100, "came": 400, "server": 1_120},
        {"sent": 500, "came": 504, "server": 1_502},
    ]
    best = _call(page, "clock", "bestOffset", answers)
    assert best == {"offset": 1_000, "error": 2}


def test_a_device_sets_its_clock_to_within_half_a_round_trip(facilitator: Facilitator) -> None:
    page = facilitator.page
    page.goto(f"{facilitator.server.address}/join")
    offset = page.evaluate(
        """async () => {
            const { ServerClock } = await import("/static/clock.js");
            const clock = new ServerClock("/time");
            await clock.ask();
            const before = clock.now();
            const server = Number((await (await fetch("/time")).json()).now_ms);
            return [before, server, clock.now(), clock.error];
        }"""
    )
    before, server, after, error = offset
    assert error < math.inf
    # The server tells whole ms.
    assert before - error - 1 <= server <= after + error + 1


@pytest.mark.parametrize(
    ("ms", "words"),
    [(0, "0:00"), (999, "0:00"), (78_000, "1:18"), (725_000, "12:05"), (-30_000, "−0:30")],
)
def test_a_time_is_written_as_on_a_clock(page: Page, ms: int, words: str) -> None:
    assert _call(page, "times", "clockText", ms) == words


def test_time_left_is_never_said_to_be_over_too_early(page: Page) -> None:
    assert _call(page, "times", "leftText", 1) == "1 s"
    assert _call(page, "times", "leftText", 59_001) == "1:00 min"
    assert _call(page, "times", "leftText", 0) == "0 s"


def test_corrections_of_one_entry_join_to_the_leaf(page: Page) -> None:
    early = {"settings": {"oxygen": {"value": 21, "unit": "%"}}, "at_ms": 5}
    late = {"settings": {"gas_flow": {"value": 8, "unit": "L/min"}}, "at_ms": 9}
    assert _call(page, "figures", "merge", early, late) == {
        "settings": {
            "oxygen": {"value": 21, "unit": "%"},
            "gas_flow": {"value": 8, "unit": "L/min"},
        },
        "at_ms": 9,
    }
    # A value in another unit replaces the whole figure, never the number alone.
    word = {"settings": {"oxygen": {"value": 0.3}}}
    assert _call(page, "figures", "merge", early, word)["settings"]["oxygen"] == {"value": 0.3}


def test_an_id_is_a_uuid_of_version_4(page: Page) -> None:
    import uuid

    ids = {_call(page, "post", "newId") for _ in range(20)}
    assert len(ids) == 20
    assert {uuid.UUID(id_).version for id_ in ids} == {4}


def test_entries_stay_in_order_and_are_sent_again_until_they_are_acknowledged(page: Page) -> None:
    sent = page.evaluate(
        """async () => {
            const { Outbox } = await import("/static/outbox.js");
            const sent = [];
            const box = new Outbox("order", null, async (entries) => {
                sent.push(entries.map(({ id }) => id));
                if (sent.length < 3) throw new TypeError("no network");
                return { taken: entries.map(({ id }) => id), refused: [], version: 1 };
            }, () => {}, () => {});
            for (const id of ["a", "b", "c"]) {
                box.add({ id, kind: "note", data: {}, at_ms: 0, device_now: 1 });
            }
            while (box.waiting.length > 0) await new Promise((go) => setTimeout(go, 20));
            return sent;
        }"""
    )
    assert sent[0] == ["a"]
    assert sent[1:] == [["a", "b", "c"], ["a", "b", "c"]]


def test_a_browser_that_keeps_nothing_still_records(facilitator: Facilitator) -> None:
    page = facilitator.page
    page.add_init_script(
        "Object.defineProperty(globalThis, 'localStorage', "
        "{ get() { throw new DOMException('switched off', 'SecurityError'); } });"
    )
    facilitator.start()
    page.keyboard.press("d")
    facilitator.all_kept()
    assert facilitator.logged("action")[0]["action"] == "dry"
    assert "This browser keeps nothing" in page.inner_text("#link")
