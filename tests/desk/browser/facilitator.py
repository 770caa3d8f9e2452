"""What a facilitator does in the browser, in words that tests can read."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from tests.console.consoles import OTHER_COT, token_in
from tests.console.forked import ForkedServer

TABLET = (1180, 820)
LAPTOP = (1366, 768)
PHONE = (390, 844)
Fields = dict[str, str | float | bool]
IN_TIME_MS = 20_000.0
CODES = ("N-104", "M-021", "N-117", "D-009")

# What the browser itself says of a server that was killed on purpose, or of a refused page.
_EXPECTED = ("Failed to load resource", "net::ERR_")


class Facilitator:
    """A facilitator at one device. ``page`` is what they look at, ``errors`` what it reported."""

    def __init__(self, browser: Browser, data: Path, scenarios: Path | None = None) -> None:
        expect.set_options(timeout=IN_TIME_MS)
        self.browser = browser
        self.data = data
        self.server = ForkedServer(data, scenarios=scenarios)
        self.errors: list[str] = []
        self.contexts: list[BrowserContext] = []
        self.page = self.device()
        self.page.request.get(self.server.link, max_redirects=0)

    def device(self, size: tuple[int, int] = TABLET, **options: Any) -> Page:
        """Another device, with no cookie."""
        context = self.browser.new_context(
            viewport={"width": size[0], "height": size[1]}, has_touch=True, **options
        )
        context.set_default_timeout(IN_TIME_MS)
        self.contexts.append(context)
        return self._page_in(context)

    def another_page(self) -> Page:
        """A new page of the facilitator's own device, which takes the place of ``page``."""
        context = self.page.context
        self.page.close()
        self.page = self._page_in(context)
        return self.page

    def _page_in(self, context: BrowserContext) -> Page:
        page = context.new_page()
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on(
            "console",
            lambda message: (
                self.errors.append(message.text)
                if message.type in ("error", "warning")
                and not any(words in message.text for words in _EXPECTED)
                else None
            ),
        )
        return page

    def leave(self) -> None:
        """Close every device and end the server."""
        for context in self.contexts:
            context.close()
        self.server.end()

    # --- on the way to the console --------------------------------------------------------------

    def choose(self, scenario: str = "term-not-breathing") -> None:
        """Choose a scenario, fill its roles with codes, go on to the prebrief."""
        page = self.page
        page.goto(self.server.address)
        page.locator(f'input[name="scenario"][value="{scenario}"]').check()
        roles = page.locator('fieldset:not([disabled]) input[name^="role."]')
        for place in range(roles.count()):
            roles.nth(place).fill(CODES[place % len(CODES)])
        page.get_by_role("button", name="On to the prebrief").tap()
        page.wait_for_url("**/prebrief")

    def start(self, scenario: str = "term-not-breathing") -> Page:
        """Open a session that has begun; what the pages before it send is sent, and none drawn."""
        request, address = self.page.request, self.server.address
        first, fields = "", None
        until = time.monotonic() + IN_TIME_MS / 1000
        while fields is None:  # a file that is new is still being checked
            assert time.monotonic() < until, first
            first = request.get(address).text()
            fields = re.search(rf'data-scenario="{scenario}".*?</fieldset>', first, re.DOTALL)
        roles = re.findall(r'name="(role\.[^"]+)"', fields[0])
        team = {role: CODES[place % len(CODES)] for place, role in enumerate(roles)}
        token = {"csrf_token": token_in(first)}
        plan: Fields = {"scenario": scenario, "purpose": "formative", **team, **token}
        planned = request.post(f"{address}/sessions", form=plan, max_redirects=0)
        assert planned.status == 303, planned.text()
        session = planned.headers["location"].split("/")[2]
        agreed: Fields = {"acknowledged": "yes", "other_cot": OTHER_COT, **token}
        started = request.post(f"{address}/s/{session}/start", form=agreed, max_redirects=0)
        assert started.status == 303, started.text()
        self.page.goto(f"{address}/s/{session}")
        self.page.locator(".act").first.wait_for()
        return self.page

    def begin(self) -> Page:
        """Go on from the prebrief to the session, by touch."""
        self.page.get_by_label("Where the other cot is").fill(OTHER_COT)
        self.page.get_by_role("checkbox").check()
        self.page.get_by_role("button", name="Start the session").tap()
        self.page.locator(".act").first.wait_for()
        return self.page

    @property
    def session(self) -> str:
        """The session of the page."""
        return self.page.url.split("/s/")[1].split("/")[0]

    def display(self) -> Page:
        """A bedside display of the session, on a device of its own."""
        address = self.page.locator("body").get_attribute("data-display")
        assert address is not None
        page = self.device((1280, 720))
        page.goto(address)
        return page

    # --- at the console -------------------------------------------------------------------------

    def action(self, name: str, page: Page | None = None) -> Locator:
        """The tile of an action in its lane."""
        return (page or self.page).locator(f'.tiles .act[data-acts="{name}"]')

    def setting(self, name: str) -> Locator:
        """The tile of a setting."""
        return self.page.locator(f'.tiles .act[data-sets="{name}"]')

    def move_on(self, seconds: float) -> None:
        """Move the scenario on, as after a task that was shortened."""
        page = self.page
        page.keyboard.press("Shift+K")
        page.get_by_label("It really takes", exact=True).fill(str(seconds / 60))
        page.get_by_role("button", name="Move the scenario on").tap()
        self.all_kept()

    def all_kept(self, page: Page | None = None) -> None:
        """Wait until nothing waits on the device."""
        expect((page or self.page).locator("#kept")).not_to_contain_text("waiting")

    def clock_since_birth(self, shows: re.Pattern[str]) -> None:
        """Wait until the clock shows this; before the birth it runs from the start."""
        expect(self.page.locator("#clock-note")).to_contain_text("since birth")
        expect(self.page.locator("#clock")).to_have_text(shows)

    def log(self) -> list[dict[str, Any]]:
        """The session's log, as the server has it."""
        answer = self.page.request.get(f"{self.server.address}/s/{self.session}/log")
        assert answer.ok, answer.status
        return [json.loads(line) for line in answer.text().splitlines()]

    def logged(self, kind: str) -> list[dict[str, Any]]:
        """The data of all entries of a kind."""
        return [event["data"] for event in self.log() if event["kind"] == kind]

    def amends(self) -> list[dict[str, Any]]:
        """The corrections in the log."""
        return self.logged("amend")
