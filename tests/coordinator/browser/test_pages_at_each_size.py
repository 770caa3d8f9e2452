"""The coordinator's and the trainees' pages in the browser: whole at each size, usable by all."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from simengine.cohort.records import SessionResult, Threat
from simengine.people.read_roster import read_roster
from simengine.session.chain import chained
from simengine.store import Store, people
from simengine.store.threats import add_threat
from tests.cohort.made import fault, item, result
from tests.coordinator.ward import NEEDS, PEOPLE
from tests.desk.browser.facilitator import LAPTOP, PHONE, TABLET, Facilitator
from tests.desk.browser.page_faults import SIZES, everything, faults, picture
from tests.people.life import Log

TODAY = datetime.now(tz=UTC).astimezone().date()
OBJECTIVES = {
    "breathing": "Ventilate within a minute of birth, and get the chest to rise",
    "warmth": "Keep the baby warm",
    "team": "Speak as a team: plan, call for help, say back",
    "oxygen": "Titrate oxygen to SpO2, minute by minute",
}
SCENARIOS = (("term", "Term"), ("preterm", "Preterm"), ("cot", "Preparing the cot"))
NAMES = ("Ada", "Ben", "Cleo", "Dora", "Eli", "Fay", "Gus", "Hana")


def roster() -> str:
    rows = [
        f"{name[0]}-{number:03d},{name} Example {number},{profession},{unit},2024-03-01"
        for number in range(64)
        for name in (NAMES[number % 8],)
        for profession in (("nurse", "midwife", "doctor")[number % 3],)
        for unit in (("birth unit", "neonatal unit")[number % 2],)
    ]
    return "\n".join(["code,name,profession,unit,since", *rows]) + "\n"


def assessment(number: int, code: str) -> tuple[Log, SessionResult]:
    """A session in which one person did something for each objective, with a signed outcome."""
    day = TODAY - timedelta(days=30 * (number % 13) + 1)
    scenario, title = SCENARIOS[number % 3]
    items = [
        item(f"{name}-step", 1.0 if (number + place) % 4 else 0.0, objective=name, person=code)
        for place, name in enumerate(OBJECTIVES)
    ]
    log = Log(
        session=f"00000000-0000-4000-8000-{number:012d}",
        scenario=scenario,
        day=day.isoformat(),
        team={"airway": [code]},
    )
    if number % 5:
        log.signed()
    made = result(
        number,
        *items,
        session=f"00000000-0000-4000-8000-{number:012d}",
        day=day,
        unit="birth unit" if number % 2 else "neonatal unit",
        scenario=scenario,
        scenario_title=title,
        team={"airway": (code,)},
        objectives=OBJECTIVES,
        outcome="achieved",
        faults=(fault("probe", planted=False, title="oximeter probe does not stick"),)
        if number == 3
        else (),
    )
    return log, made


def fill(folder: Path) -> None:
    """A store with 64 people and 60 assessments."""
    for name, text in (("people.csv", roster()), ("needs.csv", NEEDS)):
        (folder / name).write_text(text, encoding="utf-8")
    with Store.open(folder / "data") as store:
        read = read_roster([folder / "people.csv", folder / "needs.csv"])
        people.save_roster(store, read.roster)
        codes = [trainee.code for trainee in read.roster.trainees]
        for number in range(60):
            log, made = assessment(number, codes[number % 7])
            store.add_log(chained(log.events), unit=made.unit)
            store.put_result(made, {"total": made.total})
        for number, words in enumerate(("No spare mask in the drawer", "The clock stands still")):
            opened = date(2026, 1, 5) + timedelta(days=number)
            add_threat(
                store,
                Threat(f"t{number}", "birth unit", "equipment", words, opened, owner="charge nurse",
                       due=opened),
            )  # fmt: skip


@pytest.fixture
def full(chromium: Browser, tmp_path: Path) -> Iterator[Facilitator]:
    """A console with people and sessions in it, its facilitator signed in."""
    fill(tmp_path)
    made = Facilitator(chromium, tmp_path / "data")
    yield made
    made.leave()
    assert made.errors == []


def coordinator(facilitator: Facilitator) -> Page:
    """The coordinator at a device of their own."""
    page = facilitator.device()
    page.goto(facilitator.server.coordinating)
    return page


def test_every_page_of_the_cohort_at_each_size(full: Facilitator) -> None:
    page = coordinator(full)
    base = full.server.address
    person = f"{base}/cohort/people/A-000"
    pages = {
        "who is current": f"{base}/cohort",
        "matrix": f"{base}/cohort/matrix",
        "requirements": f"{base}/cohort/matrix?by=requirements",
        "roster": f"{base}/cohort/roster",
        "figures": f"{base}/cohort/figures",
        "outcomes": f"{base}/cohort/outcomes",
        "outcome": f"{base}/cohort/outcomes/00000000-0000-4000-8000-{0:012d}",
        "agreement": f"{base}/cohort/agreement",
        "threats": f"{base}/cohort/threats",
        "code": f"{base}/cohort/code",
        "access": f"{base}/cohort/access",
        "settings": f"{base}/cohort/settings",
        "person": person,
        "audit": f"{person}/audit",
        "erase": f"{person}/erase",
    }
    faults_of: dict[str, list[str]] = {}
    for name, address in pages.items():
        page.goto(address)
        page.wait_for_function("() => document.fonts.status === 'loaded'")
        faults_of[f"{name}, axe"] = faults(page)
        for size, (width, height) in (("tablet", TABLET), ("laptop", LAPTOP), ("phone", PHONE)):
            page.set_viewport_size({"width": width, "height": height})
            faults_of[f"{name}, {size}"] = page.evaluate(SIZES)
        page.set_viewport_size({"width": TABLET[0], "height": TABLET[1]})
        if name in ("who is current", "matrix"):
            picture(page, f"cohort-{name.replace(' ', '-')}")
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    page.goto(pages["matrix"])
    picture(page, "cohort-matrix-phone")
    assert everything(faults_of) == []


def test_the_heads_of_the_matrix_stay_in_sight_and_it_is_reached_by_keys(
    full: Facilitator,
) -> None:
    page = coordinator(full)
    for size in (TABLET, (700, 900)):  # on a phone the table stands line below line
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.goto(f"{full.server.address}/cohort/matrix")
        table = page.locator(".table")
        table.focus()
        for key in ("End", "ArrowRight", "ArrowRight"):
            page.keyboard.press(key)
        page.wait_for_function("() => document.querySelector('.table').scrollTop > 200")
        table.evaluate("table => { table.scrollLeft = 300; }")
        seen = page.evaluate(
            """() => {
                const box = (one) => one.getBoundingClientRect();
                const table = box(document.querySelector(".table"));
                const head = box(document.querySelector("thead th:nth-child(3)"));
                const corner = box(document.querySelector("thead th"));
                const rows = [...document.querySelectorAll("tbody th")].map(box);
                const last = rows.at(-1);
                return {
                    head: Math.abs(head.top - table.top) < 3,
                    corner: Math.abs(corner.left - table.left) < 3
                        && Math.abs(corner.top - table.top) < 3,
                    row: Math.abs(last.left - table.left) < 3,
                };
            }"""
        )
        assert seen == {"head": True, "corner": True, "row": True}, size
        link = page.locator("tbody th a").first
        link.focus()
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_contain_text("Example")


def test_a_coordinator_gets_from_nothing_to_who_is_due(
    facilitator: Facilitator, tmp_path: Path
) -> None:
    page = coordinator(facilitator)
    expect(page.get_by_role("heading", name="What to do next")).to_be_visible()
    page.get_by_role("link", name="Import the people").tap()
    files = []
    right = PEOPLE.replace("2026-12-01", "2024-03-01")
    wrong = right.replace("2024-03-01", "soon", 1)
    for name, text in (("people.csv", wrong), ("needs.csv", NEEDS), ("right.csv", right)):
        files.append(tmp_path / name)
        files[-1].write_text(text, encoding="utf-8")
    page.get_by_label("CSV files").set_input_files(files[:2])
    page.get_by_role("button", name=re.compile("Look at it")).tap()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("people.csv, row 2")
    expect(alert).to_contain_text("found 'soon'")
    assert faults(page) + page.evaluate(SIZES) == []
    page.get_by_label("CSV files").set_input_files([files[2], files[1]])
    page.get_by_role("button", name=re.compile("Look at it")).tap()
    expect(page.get_by_role("status")).to_contain_text("4 people would be added.")
    assert faults(page) + page.evaluate(SIZES) == []
    page.get_by_role("button", name="Import right.csv, needs.csv").tap()
    expect(page.get_by_role("heading", name="The due list")).to_be_visible()
    page.get_by_role("link", name=re.compile("never met")).first.tap()
    expect(page.locator("tbody tr")).to_have_count(6)
    page.get_by_role("combobox", name="Unit").select_option("neonatal unit")
    page.get_by_role("button", name="Show these").tap()
    expect(page.locator("tbody tr")).to_have_count(3)
    page.get_by_role("link", name="Show all").tap()
    expect(page.locator("tbody tr")).to_have_count(6)


def test_a_trainee_opens_their_own_pages_and_reads_who_read_them(full: Facilitator) -> None:
    page = coordinator(full)
    page.goto(f"{full.server.address}/cohort/people/A-000")
    educator = full.page
    educator.goto(f"{full.server.address}/cohort/code")
    educator.get_by_label("Trainee's code").fill("A-000")
    educator.get_by_role("button", name="Make a code").tap()
    code = educator.locator(".code").inner_text()
    assert faults(educator) + educator.evaluate(SIZES) == []
    own = full.device(PHONE)
    own.goto(f"{full.server.address}/join")
    own.get_by_role("textbox", name="Code").fill(code.lower())
    own.get_by_text("for one trainee's own pages").tap()
    own.get_by_role("button", name="Join").tap()
    expect(own.get_by_role("heading", name="Your own page")).to_be_visible()
    reads = own.get_by_role("region", name="Who read your record")
    expect(reads).to_contain_text("the coordinator")
    picture_box = own.get_by_role("img", name=re.compile("Team and own share"))
    picture_box.scroll_into_view_if_needed()
    own.wait_for_function(
        "() => [...document.images].every((one) => one.complete && one.naturalWidth > 0)"
    )
    assert faults(own) + own.evaluate(SIZES) == []
    own.evaluate("scrollTo(0, 0)")
    picture(own, "cohort-own-page-phone")
    own.goto(f"{full.server.address}/cohort/people/B-001")
    expect(own.get_by_role("heading", name="Somebody's own pages")).to_be_visible()
    own.goto(f"{full.server.address}/")
    own.get_by_role("button", name="Close my pages").tap()
    expect(own).to_have_url(re.compile("/join$"))
    own.goto(f"{full.server.address}/cohort/people/A-000")
    expect(own.get_by_role("heading", name="Somebody's own pages")).to_be_visible()


def test_an_outcome_is_signed_and_a_threat_is_closed_by_touch(full: Facilitator) -> None:
    page = full.page
    page.goto(f"{full.server.address}/cohort/outcomes")
    page.locator("tbody tr").filter(has_text="not signed").first.get_by_role("link").tap()
    page.get_by_label("Your name").fill("Greta Educator")
    page.get_by_label("Your credentials").fill("registered nurse")
    page.get_by_label("achieved", exact=True).check()
    page.get_by_role("button", name="Sign the outcome").tap()
    expect(page.locator(".chain")).to_contain_text("by Greta Educator (registered nurse)")
    page.goto(f"{full.server.address}/cohort/threats")
    row = page.locator("#t-t1")
    row.locator("summary").tap()
    row.get_by_label("What was done").fill("A new battery.")
    row.get_by_role("button", name="Close it").tap()
    expect(page.locator("#t-t1")).to_contain_text("Closed on")
    expect(page.locator("#t-t1")).to_contain_text("A new battery.")
    assert faults(page) + page.evaluate(SIZES) == []
