"""Consoles for tests."""

from tests.console.fixtures import desk

__all__ = ["desk"]
