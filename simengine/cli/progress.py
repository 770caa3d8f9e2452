"""A bar on a terminal while something takes long, and nothing elsewhere."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Told = Callable[[int, int], None]
"""Is called with how many are done, and how many there are."""


@contextmanager
def progress(words: str) -> Iterator[Told]:
    """Show how far ``words`` has come, as long as the context lasts."""
    from rich.console import Console
    from rich.progress import Progress

    bar = Progress(console=Console(stderr=True), disable=not sys.stderr.isatty())
    task = bar.add_task(words)

    def told(done: int, everything: int) -> None:
        bar.update(task, completed=done, total=everything)

    with bar:
        yield told
