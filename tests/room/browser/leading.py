"""What a facilitator does in the debriefing room, in words that tests can read."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.desk.browser.facilitator import Facilitator

PROJECTOR = (1280, 720)


class Leading:
    """A facilitator with a tablet (``page``) in the room of ``session``."""

    def __init__(self, facilitator: Facilitator, session: str) -> None:
        self.facilitator = facilitator
        self.session = session
        self.page = facilitator.page
        self.page.goto(f"{facilitator.server.address}/s/{session}/room")

    def wall(self) -> Page:
        """A projector that shows the wall, on a device of its own."""
        address = self.page.locator('a[href*="/wall/"]').get_attribute("href")
        assert address is not None
        page = self.facilitator.device(PROJECTOR)
        page.goto(address)
        return page

    def step(self, title: str) -> None:
        """Go to a step."""
        self.page.locator("nav.steps").get_by_role("button", name=title).tap()
