"""Holding a file against its JSON Schema."""

from __future__ import annotations

from simengine.scenario.place import Place


def check_schema(kind: str, root: Place) -> None:
    pass
