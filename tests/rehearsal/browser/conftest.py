"""Somebody at a phone, who plays alone in the system's own Chromium.

Rules:
- The browser is that of all tests (``chromium``).
- A page that reports an error of its own fails its test.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.desk.browser.facilitator import Facilitator


@pytest.fixture
def facilitator(chromium: Browser, tmp_path: Path) -> Iterator[Facilitator]:
    """A browser at a console of this machine alone."""
    made = Facilitator(chromium, tmp_path / "data")
    yield made
    made.leave()
    assert made.errors == []
