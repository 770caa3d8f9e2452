"""Empty stores that cost little, for tests of what is in them."""

from tests.store.migrated_once import migrated_once

__all__ = ["migrated_once"]
