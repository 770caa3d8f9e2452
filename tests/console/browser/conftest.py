"""Pages in the system's own Chromium.

Rules:
- The browser is Debian's; where it is missing these tests are skipped with the reason, and in CI
  they fail.
- A page that reports an error of its own fails its test.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.console.browser.facilitator import Facilitator
from tests.need import need

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The browser itself, one for all tests."""
    path = need("chromium", "chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def facilitator(chromium: Browser, tmp_path: Path) -> Iterator[Facilitator]:
    """A facilitator at a tablet, signed in at a console of their own."""
    made = Facilitator(chromium, tmp_path / "data")
    yield made
    made.leave()
    assert made.errors == []
