"""Consoles for tests, alone or with a roster and a coordinator."""

from tests.console.fixtures import desk, server
from tests.coordinator.conftest import shelf, ward

__all__ = ["desk", "server", "shelf", "ward"]
