"""A ward for tests of the cohort's pages."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.console.cohort.ward import Ward


@pytest.fixture
def ward(tmp_path: Path) -> Iterator[Ward]:
    """A console in this process, its facilitator and its coordinator signed in."""
    made = Ward(tmp_path)
    with made.client:
        yield made.begin()
