"""The debrief of a session: one typed page, shown as a web page and as a PDF.

What writes is looked up when first used: an artist is asked for before anything else is loaded.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.debrief.write import write_debrief, write_scored

__all__ = ["write_debrief", "write_scored"]


def __getattr__(name: str) -> object:
    """Look up a public name in the module that writes."""
    if name not in __all__:
        raise AttributeError(f"module 'simengine.debrief' has no attribute {name!r}")
    return getattr(import_module("simengine.debrief.write"), name)
