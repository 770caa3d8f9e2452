"""Consoles for tests."""

from tests.console.fixtures import desk, server

__all__ = ["desk", "server"]
