"""Consoles for tests."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.console.consoles import Desk, Server


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A console in this process, signed in, with a clock that the test sets."""
    made = Desk(tmp_path / "data")
    with made.client:
        yield made.sign_in()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """A console as a process of its own."""
    made = Server(tmp_path / "data")
    yield made
    made.end()
