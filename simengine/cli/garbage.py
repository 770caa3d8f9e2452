"""Cyclic garbage is looked for seldom where a process is soon over: looking takes its time."""

from __future__ import annotations

import gc

_SELDOM = (500_000, 20, 20)
"""How many new objects there are before garbage is looked for, and then how deeply."""


def look_for_garbage_seldom() -> None:
    """Let this process look for cyclic garbage seldom from now on."""
    gc.set_threshold(*_SELDOM)
