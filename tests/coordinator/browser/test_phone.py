"""Every page of the coordinator and of a trainee fits a phone: nothing goes sideways or is cut."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from playwright.sync_api import Browser, Page, expect

from simengine.people.bookings import Booking
from simengine.people.roster import Attendance
from simengine.session.chain import chained
from simengine.store import Store
from simengine.store.attendances import add_attendances
from simengine.store.bookings import book
from simengine.store.shared_debriefs import share
from tests.coordinator.browser.test_pages_at_each_size import TODAY, assessment, fill
from tests.desk.browser.facilitator import PHONE, Facilitator
from tests.desk.browser.page_faults import SIZES, everything, faults
from tests.people.life import Log

SESSION = f"00000000-0000-4000-8000-{0:012d}"
SECOND = f"00000000-0000-4000-8000-{900:012d}"
LEARNED = f"00000000-0000-4000-8000-{901:012d}"
PAGES = {
    "who is current": "/cohort",
    "due by unit": "/cohort/due",
    "matrix": "/cohort/matrix",
    "requirements": "/cohort/matrix?by=requirements",
    "drills": "/cohort/drills",
    "plan": "/cohort/plan",
    "attendance": "/cohort/attendance",
    "roster": "/cohort/roster",
    "figures": "/cohort/figures",
    "outcomes": "/cohort/outcomes",
    "outcome": f"/cohort/outcomes/{SESSION}",
    "agreement": "/cohort/agreement",
    "threats": "/cohort/threats",
    "shared": "/cohort/shared",
    "code": "/cohort/code",
    "access": "/cohort/access",
    "privacy": "/cohort/privacy",
    "settings": "/cohort/settings",
    "person": "/cohort/people/A-000",
    "audit": "/cohort/people/A-000/audit",
    "erase": "/cohort/people/A-000/erase",
}

# What has to be moved sideways to be read, and cells whose text is wider than they are.
SIDEWAYS = """() => {
    const seen = (one) => one.checkVisibility() && one.getClientRects().length > 0;
    const name = (one) => `${one.tagName.toLowerCase()} "${
        (one.textContent ?? "").trim().replace(/\\s+/g, " ").slice(0, 40)}"`;
    const page = document.documentElement.scrollWidth > innerWidth
        ? [`the page is ${document.documentElement.scrollWidth} px wide`] : [];
    const boxes = [...document.querySelectorAll(".table, .scroll, .card, table, nav, form, pre")]
        .filter((one) => seen(one) && one.scrollWidth > one.clientWidth + 1)
        .map((one) => `${name(one)} goes on sideways: ${one.scrollWidth} px`);
    const cells = [...document.querySelectorAll("th, td, li, dd, dt, label, .standing")]
        .filter(seen)
        .filter((one) => {
            const box = one.getBoundingClientRect();
            return box.right > innerWidth + 1 || box.left < -1;
        })
        .map((one) => `${name(one)} is cut`);
    return [...page, ...boxes, ...cells];
}"""


OPEN_ALL = """() => {
    for (const details of document.querySelectorAll("details")) details.open = true;
}"""


@pytest.fixture(scope="module")
def phone(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Facilitator]:
    """A console in which every list has something in it."""
    folder = tmp_path_factory.mktemp("phone")
    fill(folder)
    with Store.open(folder / "data") as store:
        _, made = assessment(0, "A-000")
        again = Log(session=SECOND, scenario="term", day=str(made.day), team={"airway": ["A-000"]})
        twice = replace(made, session=SECOND, by=("p-other",))
        store.add_log(chained(again.events), unit=made.unit)
        store.put_result(twice, {"total": made.total})
        learned = replace(made, session=LEARNED, purpose="formative", scenario="cot-term")
        own = Log("formative", session=LEARNED, scenario="cot-term", team={"airway": ["A-000"]})
        store.add_log(chained(own.events), unit=made.unit)
        store.put_result(learned, {"total": made.total})
        share(store, "A-000", LEARNED, "2026-11-01T09:00:00Z")
        add_attendances(
            store,
            [
                Attendance("A-000", TODAY, "Study morning on preparing the cot, with the unit", 90,
                           "seminar room of the birth centre"),
            ],
        )  # fmt: skip
        book(
            store,
            [
                Booking("b1", TODAY + timedelta(days=2), "term-not-breathing", "09:30",
                        place="training room", unit="birth unit", purpose="summative",
                        team={"airway": ("A-000",), "": ("B-001", "C-002")}, note="bring the bag"),
                Booking("b2", TODAY - timedelta(days=2), "cot-term", team={"": ("B-001",)}),
            ],
        )  # fmt: skip
    facilitator = Facilitator(chromium, folder / "data")
    yield facilitator
    facilitator.leave()
    assert facilitator.errors == []


@pytest.fixture(scope="module")
def own(phone: Facilitator) -> Page:
    """The coordinator's own phone."""
    page = phone.device(PHONE)
    page.goto(phone.server.coordinating)
    return page


@pytest.mark.parametrize("name", PAGES)
def test_a_page_of_the_coordinator_fits_a_phone_and_its_heading_stands_first(
    phone: Facilitator, own: Page, name: str
) -> None:
    own.goto(f"{phone.server.address}{PAGES[name]}")
    own.wait_for_function("() => document.fonts.status === 'loaded'")
    heading = own.locator("h1").bounding_box()
    assert heading is not None
    assert heading["y"] + heading["height"] < 260
    own.evaluate(OPEN_ALL)
    wrong = {"sideways": own.evaluate(SIDEWAYS), "sizes": own.evaluate(SIZES), "axe": faults(own)}
    assert everything(wrong) == []


@pytest.fixture(scope="module")
def trainee(phone: Facilitator, own: Page) -> Page:
    """A trainee's phone, opened with a code."""
    own.goto(f"{phone.server.address}/cohort/code")
    own.get_by_label("Trainee's code").fill("A-000")
    own.get_by_role("button", name="Make a code").tap()
    code = own.locator(".code").inner_text()
    page = phone.device(PHONE)
    page.goto(f"{phone.server.address}/join")
    page.get_by_role("textbox", name="Code").fill(code)
    page.get_by_role("button", name="Join").tap()
    expect(page.get_by_role("heading", name="Your own page")).to_be_visible()
    return page


@pytest.mark.parametrize("name", ["person", "audit", "outcome"])
def test_a_page_of_a_trainee_fits_a_phone(phone: Facilitator, trainee: Page, name: str) -> None:
    trainee.goto(f"{phone.server.address}{PAGES[name]}")
    trainee.wait_for_function("() => document.fonts.status === 'loaded'")
    wrong = {"sideways": trainee.evaluate(SIDEWAYS), "sizes": trainee.evaluate(SIZES)}
    assert everything(wrong) == []


def test_the_next_step_of_a_person_is_seen_on_a_phone_before_anything_is_moved(
    phone: Facilitator, own: Page
) -> None:
    own.goto(f"{phone.server.address}/cohort/people/A-000")
    step = own.get_by_role("link", name="The planned session")
    box = step.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] < PHONE[1]


def test_from_matrix_to_person_to_session_to_debrief_and_back_without_a_dead_end(
    phone: Facilitator, own: Page
) -> None:
    own.goto(f"{phone.server.address}/cohort/matrix")
    own.locator("tbody th a").first.tap()
    expect(own.get_by_role("heading", level=1)).to_contain_text("Ada Example 0")
    sessions = own.get_by_role("region", name="Sessions and outcomes")
    sessions.get_by_role("link", name="signed").first.tap()
    expect(own.get_by_role("heading", level=1)).to_contain_text("Outcome:")
    own.get_by_role("link", name="A-000").first.tap()
    expect(own.get_by_role("heading", level=1)).to_contain_text("Ada Example 0")
    own.get_by_role("link", name=re.compile("People and objectives")).last.tap()
    expect(own.get_by_role("heading", level=1)).to_contain_text("People and objectives")
