"""Processes that share the work of a command.

Rules of this file:

- They are started anew and not forked, since the process of a command may have threads.
- They end with the command, also where it was killed and could not tell them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor


def processes(number: int | None = None) -> ProcessPoolExecutor:
    """Return ``number`` processes, one for each processor without it."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    spawn = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(number, mp_context=spawn, initializer=leave_with_parent)


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
