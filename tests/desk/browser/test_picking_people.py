"""Who is here, by touch: recent people, a part of a name, a kept team; and the session begins."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, expect

from simengine.people.read_roster import read_roster
from simengine.store import Store
from simengine.store.people import save_roster
from simengine.store.settings import NAMES_TO_EDUCATORS, set_setting
from tests.coordinator.ward import NEEDS, PEOPLE
from tests.desk.browser.facilitator import Facilitator


@pytest.fixture
def facilitator(chromium: Browser, tmp_path: Path) -> Iterator[Facilitator]:
    """A facilitator where there is a roster, and the coordinator lets educators see names."""
    files = [tmp_path / "people.csv", tmp_path / "needs.csv"]
    for file, text in zip(files, (PEOPLE, NEEDS), strict=True):
        file.write_text(text, encoding="utf-8")
    data = tmp_path / "data"
    with Store.open(data) as store:
        save_roster(store, read_roster(files).roster)
        set_setting(store, NAMES_TO_EDUCATORS, True)
    made = Facilitator(chromium, data)
    yield made
    made.leave()
    assert made.errors == []


def seat(facilitator: Facilitator, role: str) -> Locator:
    """The button of a role, with who is in it."""
    return facilitator.page.locator("[data-seats]:visible button").filter(has_text=role)


def person(facilitator: Facilitator, code: str) -> Locator:
    return facilitator.page.locator(f'#people [data-person="{code}"]')


def test_a_team_is_picked_by_touch_from_the_recent_ones_and_by_a_part_of_a_name(
    facilitator: Facilitator,
) -> None:
    page = facilitator.page
    facilitator.start("cot-after-use")  # its team is the recent one
    page.goto(facilitator.server.address)
    page.locator('input[name="scenario"][value="term-not-breathing"]').tap()
    expect(seat(facilitator, "Leader")).to_contain_text("touch a name")

    person(facilitator, "D-009").tap()
    expect(seat(facilitator, "Leader")).to_contain_text("Cleo Example")
    expect(person(facilitator, "D-009")).to_have_attribute("aria-pressed", "true")
    seat(facilitator, "Circulation and drugs").tap()
    person(facilitator, "M-021").tap()
    expect(seat(facilitator, "Circulation and drugs")).to_contain_text("Ben Example")

    page.get_by_label("Somebody else, by part of the name or code").fill("dor")
    expect(page.locator("#people [data-person]")).to_have_count(1)
    person(facilitator, "N-117").tap()
    expect(seat(facilitator, "Airway and breathing")).to_contain_text("Dora Example")
    person(facilitator, "N-117").tap()  # a second touch takes her out again
    expect(seat(facilitator, "Airway and breathing")).to_contain_text("touch a name")
    person(facilitator, "N-117").tap()

    page.get_by_label("Keep this team as").fill("Red")
    page.get_by_role("button", name="On to the prebrief").tap()
    page.wait_for_url("**/prebrief")
    facilitator.begin()
    (opened,) = facilitator.logged("opened")
    team = {"leader": ["D-009"], "airway": ["N-117"], "circulation": ["M-021"]}
    assert opened["team"] == team
    assert "Example" not in str(facilitator.log()), "the log keeps codes alone"

    page.goto(facilitator.server.address)
    page.locator('input[name="scenario"][value="term-responds"]').tap()
    page.get_by_role("group", name="Kept teams").get_by_role("link", name="Red").tap()
    page.wait_for_url("**team=Red**")
    expect(page.locator('input[name="scenario"][value="term-responds"]')).to_be_checked()
    expect(seat(facilitator, "Leader")).to_contain_text("Cleo Example")
    page.get_by_role("button", name="On to the prebrief").tap()
    page.wait_for_url("**/prebrief")
    facilitator.begin()
    (opened,) = facilitator.logged("opened")
    assert opened["scenario"]["id"] == "term-responds"
    assert opened["team"] == team


def test_nobody_found_by_a_part_of_a_name_is_said_and_a_code_can_be_typed(
    facilitator: Facilitator,
) -> None:
    page = facilitator.page
    page.goto(facilitator.server.address)
    page.locator('input[name="scenario"][value="term-not-breathing"]').tap()
    page.get_by_label("Somebody else, by part of the name or code").fill("zz")
    expect(page.locator("#people-note")).to_have_text("Nobody found. You can still type a code.")
    typed = page.locator('fieldset:not([disabled]) input[name="role.airway"]')
    if not typed.is_visible():
        page.locator("fieldset:not([disabled]) summary").tap()
    typed.fill("N-104")
    page.get_by_role("button", name="On to the prebrief").tap()
    page.wait_for_url("**/prebrief")
    facilitator.begin()
    (opened,) = facilitator.logged("opened")
    assert opened["team"] == {"airway": ["N-104"]}
