"""Every part of every entry is set right on the live screen and in the review, by touch and typing.

What is corrected is listed from the views themselves, so that a setting, a drug or a value told
that a scenario gains is corrected here too.
"""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from playwright.sync_api import Locator, Route, expect

from tests.console.consoles import entry, first_view
from tests.desk.browser.facilitator import IN_TIME_MS, Facilitator

SCENARIO = "term-not-breathing"


def view_of(facilitator: Facilitator) -> Any:
    """The console's view as a fresh page has it."""
    answer = facilitator.page.request.get(f"{facilitator.server.address}/s/{facilitator.session}")
    return first_view(answer.text())


def corrected(facilitator: Facilitator, id_: str) -> dict[str, Any]:
    """What the corrections of an entry come to, by the log."""
    fields: dict[str, Any] = {}
    for amend in facilitator.amends():
        if amend["id"] == id_:
            merge(fields, amend["fields"])
    return fields


def merge(into: dict[str, Any], more: dict[str, Any]) -> None:
    for key, value in more.items():
        if isinstance(value, dict) and isinstance(into.get(key), dict):
            merge(into[key], value)
        else:
            into[key] = value


def record(facilitator: Facilitator, action: str) -> None:
    """Record an action with nothing said of it, as another device would."""
    page = facilitator.page
    token = page.locator('meta[name="csrf"]').get_attribute("content")
    assert token is not None
    at_ms = max(event["at_ms"] for event in facilitator.log())
    body = {"events": [entry("action", at_ms, {"action": action, "phase": "start"})]}
    address = f"{facilitator.server.address}/s/{facilitator.session}/events"
    answer = page.request.post(address, data=body, headers={"x-csrf-token": token})
    assert answer.ok, answer.text()
    assert answer.json()["refused"] == []


def last_action(facilitator: Facilitator, name: str) -> str:
    actions = [event for event in facilitator.log() if event["kind"] == "action"]
    return str([event["id"] for event in actions if event["data"]["action"] == name][-1])


class OnTheLiveScreen:
    """An entry's panel, opened from the list of all entries."""

    def __init__(self, facilitator: Facilitator) -> None:
        self.facilitator, self.page = facilitator, facilitator.page

    def open(self, id_: str) -> Locator:
        page = self.page
        page.keyboard.press("Escape")
        page.keyboard.press("Shift+L")
        page.locator(f'#dock .entries [data-entry="{id_}"]').tap()
        return page.locator("#dock")

    def kept(self, id_: str, *_: str) -> dict[str, Any]:
        self.page.keyboard.press("Escape")
        self.facilitator.all_kept()
        return corrected(self.facilitator, id_)


CORRECTED = """async ([address, before, id, path, inTimeMs]) => {
    const told = (fields) => path.reduce((at, key) => at?.[key], fields);
    const until = performance.now() + inTimeMs;
    const entries = document.querySelector("#entries");
    const drawnAnew = () => new Promise((done) => {
        const end = () => { observer.disconnect(); clearTimeout(timer); done(); };
        const observer = new MutationObserver(end);
        const timer = setTimeout(end, 500);
        observer.observe(entries, { subtree: true, childList: true, attributes: true });
    });
    while (performance.now() < until) {
        const lines = (await (await fetch(address)).text()).split("\\n");
        const amends = lines.filter((line) => line.includes('"kind":"amend"')).slice(before);
        const datas = amends.map((line) => JSON.parse(line).data);
        if (datas.some((data) => data.id === id && told(data.fields) !== undefined)) return true;
        await drawnAnew();
    }
    return false;
}"""
"""Wait until the log holds another correction of this part of the entry than before.

Asked in a loop of its own, each time that the entries are drawn anew: a page's
``wait_for_function`` takes a promise for a yes.
"""


class InTheReview:
    """The same entry in the review."""

    def __init__(self, facilitator: Facilitator) -> None:
        self.facilitator, self.page = facilitator, facilitator.page
        self.page.goto(f"{facilitator.server.address}/s/{facilitator.session}/review")

    def open(self, id_: str) -> Locator:
        row = self.page.locator(f'#entries [data-entry="{id_}"]')
        if row.locator("details").get_attribute("open") is None:
            row.locator("summary").tap()
        self.before = len(self.facilitator.amends())
        self.drawn = row.get_attribute("data-drawn") or ""
        return row

    def kept(self, id_: str, *path: str) -> dict[str, Any]:
        """What the corrections come to, once one of this part is in the log and on the page."""
        address = f"/s/{self.facilitator.session}/log"
        assert self.page.evaluate(CORRECTED, [address, self.before, id_, path, IN_TIME_MS]), path
        expect(self.page.locator("#link")).to_be_hidden()
        row = self.page.locator(f'#entries [data-entry="{id_}"]')
        expect(row).not_to_have_attribute("data-drawn", self.drawn)
        return corrected(self.facilitator, id_)


def type_in(panel: Locator, label: str, figure: str, place: int = 0) -> None:
    field = panel.get_by_role("textbox", name=label, exact=True).nth(place)
    field.fill(figure)
    field.press("Tab")
    doubt = panel.locator(".doubt:visible")
    if doubt.count():
        doubt.get_by_role("button").first.tap()


def set_to(panel: Locator, setting: Any) -> Any:
    """Set a setting to another value, and return it."""
    if setting["words"]:
        chip = panel.get_by_role("group", name=setting["label"], exact=True).get_by_role("button")
        chip.last.tap()
        return chip.last.inner_text()
    usual = [step for step in setting["usual"] if step is not None]
    value = usual[-1] if usual else 7
    type_in(panel, setting["label"], str(value))
    return value


def where_it_is_set_right(facilitator: Facilitator, where: str) -> Any:
    return {"live": OnTheLiveScreen, "review": InTheReview}[where](facilitator)


def in_the_review_of_one_action(facilitator: Facilitator) -> tuple[InTheReview, str]:
    """The review of a running session, and the entry of an action in it."""
    page = facilitator.start(SCENARIO)
    page.locator("#event").tap()
    facilitator.action("dry").tap()
    facilitator.all_kept()
    return InTheReview(facilitator), last_action(facilitator, "dry")


@pytest.mark.parametrize("where", ["live", "review"])
def test_time_role_and_way_of_an_entry(facilitator: Facilitator, where: str) -> None:
    page = facilitator.start(SCENARIO)
    page.locator("#event").tap()
    facilitator.clock_since_birth(re.compile(r"^0:0[3-9]|^0:[1-5]"))
    facilitator.action("dry").tap()
    facilitator.all_kept()
    given = last_action(facilitator, "dry")
    place = where_it_is_set_right(facilitator, where)
    for part, key, value in (("Role", "role", "leader"), ("Way", "how", "attempted")):
        place.open(given).get_by_label(part, exact=True).select_option(value)
        assert place.kept(given, key)[key] == value
    before = next(event["at_ms"] for event in facilitator.log() if event["id"] == given)
    place.open(given).get_by_role("button", name="−1 s", exact=True).tap()
    assert place.kept(given, "at_ms")["at_ms"] == before - 1_000
    typed = place.open(given).get_by_label("At (minutes:seconds)")
    typed.fill("0:00")  # another second than the one that stands there
    typed.press("Tab")
    place.kept(given, "at_ms")
    view = view_of(facilitator)
    (row,) = [shown for shown in view["tape"] if shown["id"] == given]
    assert row["at_ms"] == view["clock"]["zero_ms"]
    assert (row["role"], row["how"]) == ("leader", "attempted")


@pytest.mark.parametrize("where", ["live", "review"])
def test_every_setting_that_was_set(facilitator: Facilitator, where: str) -> None:
    page = facilitator.start(SCENARIO)
    settings = view_of(facilitator)["settings"]
    for name in settings:
        facilitator.setting(name).tap()
        page.locator("#dock .words button").first.tap()
        page.get_by_role("button", name="Close").tap()
    facilitator.all_kept()
    sets = {
        event["data"]["setting"]: event["id"]
        for event in facilitator.log()
        if event["kind"] == "set"
    }
    assert set(sets) == set(settings)
    place = where_it_is_set_right(facilitator, where)
    for name, setting in settings.items():
        value = set_to(place.open(sets[name]), setting)
        assert place.kept(sets[name], "value")["value"] == value, name


@pytest.mark.parametrize("where", ["live", "review"])
def test_every_setting_and_value_told_and_dose_of_an_action(
    facilitator: Facilitator, where: str
) -> None:
    page = facilitator.start(SCENARIO)
    page.locator("#event").tap()
    facilitator.all_kept()
    acts = view_of(facilitator)["actions"]
    settings = view_of(facilitator)["settings"]
    asking = [name for name, act in acts.items() if act["settings"] or act["dose"] or act["spoken"]]
    assert {"mask_ventilation", "adrenaline", "listen_to_heart"} <= set(asking)
    for name in asking:
        record(facilitator, name)
    entries = {name: last_action(facilitator, name) for name in asking}
    place = where_it_is_set_right(facilitator, where)
    for name in asking:
        act, given = acts[name], entries[name]
        for setting in act["settings"]:
            value = set_to(place.open(given), settings[setting])
            kept = place.kept(given, "settings", setting)
            assert kept["settings"][setting]["value"] == value, (name, setting)
        if act["spoken"]:
            observation = act["spoken"]["observation"]
            label = f"{act['spoken']['label']}, as called out"
            chips = place.open(given).get_by_role("group", name=label).get_by_role("button")
            if chips.count():
                word = chips.first.inner_text()
                chips.first.tap()
                kept = place.kept(given, "spoken", observation)["spoken"]
                assert kept[observation]["value"] == word, name
            else:
                type_in(place.open(given), label, "30")
                kept = place.kept(given, "spoken", observation)["spoken"]
                assert kept[observation]["value"] == 30
        if act["dose"]:
            correct_the_dose(place, act["dose"], given)


def correct_the_dose(place: Any, dose: Any, id_: str) -> None:
    figures = {
        "volume": ("Volume", dose["volume_units"]),
        "strength": ("Strength", dose["strength_units"]),
        "amount": ("Or dose", dose["amount_units"]),
        "flush": ("Flush", dose["flush_units"]),
    }
    for part, (label, units) in figures.items():
        if units:
            type_in(place.open(id_), label, "1")
            assert place.kept(id_, "dose", part)["dose"][part]["value"] == 1, part
    if dose["routes"]:
        route, words = dose["routes"][-1]
        place.open(id_).get_by_role("group", name="Route").get_by_role(
            "button", name=words, exact=True
        ).tap()
        assert place.kept(id_, "dose", "route")["dose"]["route"] == route


def test_what_the_screen_expects_follows_a_correction_at_once(facilitator: Facilitator) -> None:
    page = facilitator.start(SCENARIO)
    page.locator("#event").tap()
    facilitator.action("dry").tap()
    page.locator("#expected-fold").tap()
    row = page.locator('#expected-list [data-keep="expect:dry"]')
    expect(row).to_contain_text("done")
    facilitator.all_kept()
    place = OnTheLiveScreen(facilitator)
    place.open(last_action(facilitator, "dry")).get_by_label("Way", exact=True).select_option(
        "attempted"
    )
    expect(page.locator('#expected-list [data-keep="expect:dry"]')).to_have_count(0)
    page.keyboard.press("Escape")
    page.locator("#expected-fold").tap()
    expect(page.locator('#expected-list [data-keep="expect:dry"]')).to_have_count(1)


def test_the_score_in_the_review_follows_a_correction_and_its_removal_at_once(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start(SCENARIO)
    page.locator("#event").tap()
    facilitator.action("dry").tap()
    facilitator.all_kept()
    page.keyboard.press("Shift+E")
    page.get_by_role("button", name="Yes: stopped early").tap()
    page.get_by_role("link", name="Review and correct the record").tap()
    given = last_action(facilitator, "dry")
    item = page.locator("#items li").filter(has_text="Dr").first
    done = item.inner_text()
    place = InTheReview(facilitator)
    place.open(given).get_by_label("Way", exact=True).select_option("attempted")
    expect(item).not_to_have_text(done)
    place.open(given).get_by_label("Way", exact=True).select_option("done")
    expect(item).to_contain_text(done.split("\n")[1] if "\n" in done else done)
    place.open(given).get_by_role("button", name="Remove", exact=True).tap()
    expect(item).not_to_contain_text(done.split("\n")[1] if "\n" in done else done)


def test_who_sets_right_by_keyboard_stays_at_the_button(facilitator: Facilitator) -> None:
    place, given = in_the_review_of_one_action(facilitator)
    later = place.open(given).get_by_role("button", name="+1 s", exact=True)
    later.focus()
    for _ in range(2):
        place.open(given)
        facilitator.page.keyboard.press("Enter")
        place.kept(given, "at_ms")
        expect(later).to_be_focused()


def test_an_answer_that_comes_late_does_not_bring_the_old_record_back(
    facilitator: Facilitator,
) -> None:
    page = facilitator.page
    questions: list[Route] = []

    def answer(route: Route) -> None:
        questions.append(route)
        if len(questions) != 2:  # the first is the page's as it opens, the second the correction's
            route.continue_()

    page.route("**/review.json", answer)  # before there is a page that could ask past it
    place, given = in_the_review_of_one_action(facilitator)
    row = place.open(given)
    with page.expect_request("**/review.json"):
        row.get_by_label("Role", exact=True).select_option("leader")
    old = page.request.get(f"{facilitator.server.address}/s/{facilitator.session}/review.json")
    row.get_by_label("Way", exact=True).select_option("attempted")
    place.kept(given, "how")
    drawn = row.get_attribute("data-drawn")
    (entry_then,) = [shown for shown in old.json()["entries"] if shown["id"] == given]
    assert drawn is not None
    assert json.loads(drawn) != entry_then
    with page.expect_response("**/review.json"):
        questions[1].fulfill(body=old.body(), content_type="application/json")
    page.evaluate("() => new Promise((done) => setTimeout(done))")
    assert row.get_attribute("data-drawn") == drawn
