"""Cyclic garbage is looked for seldom where a process is soon over: looking takes its time.

So it is while a console starts, which makes nothing but what it keeps. What it has then is not
looked through again.
"""

from __future__ import annotations

import gc

_SELDOM = (500_000, 20, 20)
"""How many new objects there are before garbage is looked for, and then how deeply."""

_PYTHONS_OWN = gc.get_threshold()


def look_for_garbage_seldom() -> None:
    """Let this process look for cyclic garbage seldom from now on."""
    gc.set_threshold(*_SELDOM)


def look_for_garbage_as_ever() -> None:
    """Go back to Python's own way, for what is made from now on."""
    gc.freeze()
    gc.set_threshold(*_PYTHONS_OWN)
