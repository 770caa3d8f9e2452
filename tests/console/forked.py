"""Consoles forked from a process that has loaded the program, for tests of what a console shows.

Rules:
- What a console does as it is started is asked of ``Server``, which is started as a person does it.
- Each is a process of its own all the same, with the environment of its test, and can be killed.
- What it has begun beside itself, such as a debrief that nobody will read, ends with it.
- The process that they are forked from has shown a session once (tests/console/shown_once.py), so
  that none of them has to load scenarios and compile templates again.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections.abc import Mapping
from contextlib import suppress
from multiprocessing.connection import Connection
from pathlib import Path

from simengine.web import own_process
from tests.console.consoles import IN_TIME_S, Server, lay_index, lay_store
from tests.console.forked_programs import forking_python

_FORKS = multiprocessing.get_context("forkserver")
_LOADED = ["__main__", __name__, "tests.console.shown_once"]
"""Loaded once and not in each fork: pytest itself, what is here, and the program."""


class ForkedServer(Server):
    """``simengine console`` in a fork, on this machine alone; nothing can be typed at it."""

    def __init__(self, data: Path, port: int = 0, scenarios: Path | None = None) -> None:
        arguments = ["console", "--port", str(port), "--no-browser", "--data", str(data)]
        if scenarios is None:
            lay_index(data, (Path("scenarios"),))  # where the command looks, too
        else:
            arguments += ["--scenarios", str(scenarios)]
        lay_store(data)
        _FORKS.set_forkserver_preload(_LOADED)
        printed, prints = _FORKS.Pipe(duplex=False)
        self._fork = _FORKS.Process(
            target=_console,
            args=(arguments, prints, dict(os.environ), forking_python()),
            daemon=True,
        )
        self._fork.start()
        prints.close()
        with os.fdopen(os.dup(printed.fileno()), encoding="utf-8") as self._printed:
            printed.close()
            self.read_links()

    def lines(self, number: int) -> list[str]:
        """The next lines that it prints."""
        return [self._printed.readline().strip() for _ in range(number)]

    def end(self) -> None:
        """End the process, however it stands."""
        with suppress(ProcessLookupError):  # it has ended, and nothing is left of it
            os.killpg(self._pid, signal.SIGKILL)
        self._fork.join(IN_TIME_S)

    def send(self, number: signal.Signals) -> None:
        """Send the process a signal."""
        os.kill(self._pid, number)

    @property
    def _pid(self) -> int:
        assert self._fork.pid is not None
        return self._fork.pid


def _console(
    arguments: list[str], prints: Connection, environment: Mapping[str, str], python: str
) -> None:
    os.setsid()  # so that it and what it begins are killed as one
    os.environ.clear()
    os.environ.update(environment)
    os.dup2(prints.fileno(), 1)
    sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
    sys.stderr = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115 - open to the end
    own_process.PYTHON = python
    from simengine.cli.main import main

    sys.exit(main(arguments))
