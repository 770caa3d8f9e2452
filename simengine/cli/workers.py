"""Processes that share the work of a command.

Rules of this file:

- They are started anew and not forked, since the process of a command may have threads.
- They end with the command, also where it was killed and could not tell them, and look for garbage
  as seldom as it does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from simengine.cli.garbage import look_for_garbage_seldom

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor


def processes(number: int | None = None) -> ProcessPoolExecutor:
    """Return ``number`` processes, one for each processor without it."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    spawn = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(number, mp_context=spawn, initializer=_begin)


def _begin() -> None:
    look_for_garbage_seldom()
    leave_with_parent()


def leave_with_parent() -> None:
    """See to it that this process ends when the one that started it does."""
    import multiprocessing
    import os
    import threading

    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
