"""A ward for tests of the cohort's pages."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.web.shelf import Shelf
from tests.coordinator.ward import Ward, shelf_with_standard


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    """Scenarios that are read once for all tests."""
    return shelf_with_standard(tmp_path_factory.mktemp("shelf"))


@pytest.fixture
def ward(tmp_path: Path, shelf: Shelf) -> Iterator[Ward]:
    """A console in this process, its facilitator and its coordinator signed in."""
    made = Ward(tmp_path, shelf)
    with made.client:
        yield made.begin()
