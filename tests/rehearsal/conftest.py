"""Consoles for tests, and somebody who plays alone at one."""

from __future__ import annotations

import pytest

from tests.console.consoles import Desk
from tests.console.fixtures import desk
from tests.rehearsal.playing import Player

__all__ = ["desk"]


@pytest.fixture
def player(desk: Desk) -> Player:
    """Somebody at a console of this machine alone."""
    return Player(desk)
