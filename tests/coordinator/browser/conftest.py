"""The coordinator's pages in the system's own Chromium."""

from tests.desk.browser.conftest import facilitator

__all__ = ["facilitator"]
