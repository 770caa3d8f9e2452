"""The steps by which a store of any released version becomes one of today (Alembic)."""
