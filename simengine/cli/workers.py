"""Processes that share the work of a command."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor


def processes(number: int | None = None) -> ProcessPoolExecutor:
    """Return ``number`` processes, one for each processor without it.

    They are started anew and not forked, since the process of a command may have threads.
    """
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    return ProcessPoolExecutor(number, mp_context=multiprocessing.get_context("spawn"))
