"""A device that records as the page's own outbox does, and knows what it was told is kept.

Rules of this file:

- Each touch has its id from the device. It is sent again until it is acknowledged, in order.
- ``acknowledged`` is the promise: whatever is in it has to be in the log for ever.
"""

from __future__ import annotations

import time
from typing import Any

import httpx2

from tests.console.consoles import IN_TIME_S, Browser, entry


class Device:
    """One device in one session."""

    def __init__(self, browser: Browser, session: str) -> None:
        self.browser = browser
        self.session = session
        self.waiting: list[dict[str, Any]] = []
        self.acknowledged: list[str] = []
        self.failure = ""

    def touch(self) -> bool:
        """Record one action; return whether all that waited was acknowledged."""
        data = {"action": "dry", "phase": "done", "role": "airway"}
        self.waiting.append(entry("action", 0, data))
        return self.send()

    def send(self) -> bool:
        """Send what waits; return whether all of it was acknowledged."""
        if not self.waiting:
            return True
        try:
            answer = self.browser.send_raw(self.session, {"events": self.waiting})
        except httpx2.TransportError as error:
            self.failure = repr(error)
            return False
        assert answer.status_code in (200, 503), f"{answer.status_code}: {answer.text[:300]}"
        if answer.status_code == 503:
            self.failure = answer.text[:300]
            return False
        reply = answer.json()
        assert reply["refused"] == [], reply
        self.acknowledged += reply["taken"]
        self.waiting = [event for event in self.waiting if event["id"] not in reply["taken"]]
        return not self.waiting

    def send_until_taken(self) -> None:
        """Send again and again, as a page does, until all that waits is acknowledged."""
        until = time.monotonic() + IN_TIME_S
        while not self.send():
            assert time.monotonic() < until, self.failure

    def lost(self) -> list[str]:
        """Which acknowledged entries the log does not have; it has none twice."""
        ids = [line["id"] for line in self.browser.log(self.session)]
        assert len(ids) == len(set(ids)), "an entry is there twice"
        return [id_ for id_ in self.acknowledged if id_ not in set(ids)]


def at_work(browser: Browser) -> Device:
    """A device in a session that has begun."""
    session = browser.start("term-not-breathing")
    device = Device(browser, session)
    device.waiting.append(entry("event", 0, {"name": "birth"}))
    device.send_until_taken()
    return device
