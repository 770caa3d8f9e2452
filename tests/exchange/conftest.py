"""Shipped scenarios, loaded once for all tests of what is exchanged."""

from __future__ import annotations

import pytest

from tests.shipped import loaded


@pytest.fixture(autouse=True)
def shipped_scenarios_are_loaded_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a log's scenario loaded once where its files are the shipped ones, which stand still."""
    monkeypatch.setattr("simengine.session.from_file.load_scenario", loaded)
