"""A facilitator's browser for tests."""

from tests.desk.browser.conftest import facilitator

__all__ = ["facilitator"]
