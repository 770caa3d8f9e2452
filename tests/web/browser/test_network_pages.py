"""The pages of a console on a network, in the system's own Chromium: tablet, laptop and phone."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, Dialog, Page, expect

from simengine.people.read_roster import read_roster
from simengine.store import Store
from simengine.store.people import save_roster
from tests.console.consoles import PASSWORD, NetworkServer
from tests.coordinator.ward import NEEDS, PEOPLE
from tests.desk.browser.facilitator import LAPTOP, PHONE, TABLET
from tests.desk.browser.page_faults import SIZES, everything, faults, picture


def device(browser: Browser, size: tuple[int, int]) -> Page:
    """A device that has been told to go on past the warning, as one does for a first look."""
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, has_touch=True, ignore_https_errors=True
    )
    return context.new_page()


def looked_at(page: Page, name: str, found: dict[str, list[str]]) -> None:
    size = page.viewport_size
    assert size is not None
    for width, height in (TABLET, LAPTOP, PHONE):
        page.set_viewport_size({"width": width, "height": height})
        found[f"{name} at {width}"] = page.evaluate(SIZES)
    page.set_viewport_size(size)
    found[name] = faults(page)
    picture(page, f"network-{name}")


def typed(page: Page, name: str) -> None:
    """Choose a name and a password at an invitation, and go on."""
    for field, text in (("name", name), ("password", PASSWORD), ("again", PASSWORD)):
        page.locator(f'input[name="{field}"]').fill(text)
    page.get_by_role("button", name="Make the account").tap()


def test_a_tablet_invites_a_phone_that_comes_in(chromium: Browser, tmp_path: Path) -> None:
    data = tmp_path / "data"
    files = [tmp_path / "people.csv", tmp_path / "needs.csv"]
    for file, text in zip(files, (PEOPLE, NEEDS), strict=True):
        file.write_text(text, encoding="utf-8")
    with Store.open(data) as store:
        save_roster(store, read_roster(files).roster)
    server = NetworkServer(data)
    wrong: dict[str, list[str]] = {}
    tablet, phone = device(chromium, TABLET), device(chromium, PHONE)
    try:
        tablet.goto(server.first)
        looked_at(tablet, "invitation", wrong)
        typed(tablet, "Greta")
        expect(tablet.get_by_text("Signed in as Greta")).to_be_visible()
        expect(tablet.locator(".fingerprint")).to_have_text(server.fingerprint)
        looked_at(tablet, "first-page", wrong)
        tablet.get_by_role("link", name="Accounts").click()
        tablet.locator('input[name="trainee"]').fill("N-104")
        tablet.get_by_role("button", name="Make an invitation").tap()
        code = tablet.locator("p.code").inner_text()
        looked_at(tablet, "accounts", wrong)

        phone.goto(server.address)
        looked_at(phone, "sign-in", wrong)
        phone.get_by_role("link", name="Type its code").tap()
        phone.locator('input[name="code"]').fill(code.lower())
        phone.get_by_role("button", name="Go on").tap()
        expect(phone.get_by_text("It opens the pages of N-104")).to_be_visible()
        typed(phone, "Ada")
        expect(phone.get_by_role("heading", name="Your own page")).to_be_visible()
        phone.get_by_role("link", name="Password").tap()
        looked_at(phone, "password", wrong)
        phone.goto(f"{server.address}/trust")
        looked_at(phone, "trust", wrong)
        phone.evaluate("localStorage.setItem('simengine.outbox.any.1.1.a', '{}')")
        requests: list[str] = []

        def answer(dialog: Dialog) -> None:
            requests.append(dialog.message)
            if len(requests) == 1:
                dialog.dismiss()
            else:
                dialog.accept()

        phone.on("dialog", answer)
        phone.get_by_role("button", name="Sign out").tap()
        assert "1 entry on this device did not reach the server" in requests[0]
        assert phone.evaluate("localStorage.length") == 1, "who cancels loses nothing"
        phone.get_by_role("button", name="Sign out").tap()
        expect(phone.get_by_role("heading", name="Sign in")).to_be_visible()
        assert phone.evaluate("localStorage.length") == 0
    finally:
        tablet.context.close()
        phone.context.close()
        server.end()
    assert everything(wrong) == []
