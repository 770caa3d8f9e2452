"""The processes that a console begins, forked from one that has loaded what they load.

A debrief, a trend or a report is drawn by a process of its own, and more than half of what that
takes is to load the program. In tests it is loaded once.

Rules:
- What a console runs is a process all the same: with the arguments, the environment, the folder
  and the pipes that it was given; it ends as it ends, and when whoever waits for it gives it up.
- That a console begins them by Python itself is asked of ``Server``, which is started as a person
  does it, and of ``own_process``.
- This file is the server of forks as well, when it is run: it loads at the first request, forks for
  each, and ends when its input does.
"""

from __future__ import annotations

import marshal
import os
import select
import signal
import socket
import subprocess
import sys
from functools import cache
from importlib import import_module
from pathlib import Path
from shlex import quote
from tempfile import mkdtemp
from types import ModuleType

_LOADED = (
    "simengine.cli.main",
    "simengine.cli.debrief",
    "simengine.cli.opened",
    "simengine.debrief.render",
    "simengine.debrief.what_if_page",
    "simengine.coordinator.draw_trend",
    "simengine.certificate.draw_certificate",
    "simengine.practice_check.draw_sheet",
    "simengine.web.check_files",
    "matplotlib.backends.backend_svg",
)
_SIZE = 8
"""Bytes in which the size of a request stands before it."""
# Stands for the interpreter: hands its place to a fork, and ends as that ends. It loads next to
# nothing itself.
_STAND_IN = """
import marshal, os, signal, socket, sys
request = marshal.dumps((sys.argv[1:], os.getcwd(), dict(os.environ)))
with socket.socket(socket.AF_UNIX) as forks:
    forks.connect(PATH)
    socket.send_fds(forks, [len(request).to_bytes(8, "big")], [0, 1, 2])
    forks.sendall(request)
    status = int(forks.recv(8))
if status < 0:
    signal.signal(-status, signal.SIG_DFL) if -status != signal.SIGKILL else None
    os.kill(os.getpid(), -status)
sys.exit(status)
"""


@cache
def forking_python() -> str:
    """The path of what stands for Python's interpreter: ``-c PROGRAM ARGUMENT…`` is forked.

    The server of forks ends with this process.
    """
    folder = Path(mkdtemp(prefix="forks-"))
    path = folder / "socket"
    stand_in = folder / "stand_in.py"
    stand_in.write_text(_STAND_IN.replace("PATH", repr(str(path))), encoding="utf-8")
    python = folder / "python"
    begin = f'exec {quote(sys.executable)} -IS {quote(str(stand_in))} "$@"'
    python.write_text(f"#!/bin/sh\n{begin}\n", encoding="utf-8")
    python.chmod(0o700)
    server = subprocess.Popen(
        [sys.executable, __file__, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        start_new_session=True,  # so that Ctrl-C at the tests leaves it to their end
    )
    assert server.stdout is not None
    assert server.stdout.readline() == b"listens\n"
    _KEPT.append(server)
    return str(python)


_KEPT: list[subprocess.Popen[bytes]] = []
"""Its input stays open as long as this process."""


def _serve(path: Path) -> None:
    """Fork for each request until the input ends; return in the fork of a program, to run it."""
    import gc
    import shutil

    with socket.socket(socket.AF_UNIX) as listener:
        listener.bind(str(path))
        listener.listen()
        sys.stdout.write("listens\n")
        sys.stdout.flush()
        signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # nobody waits for who waits for a fork
        loaded = False
        while True:
            ready, _, _ = select.select([listener.fileno(), 0], [], [])
            if 0 in ready:
                shutil.rmtree(path.parent, ignore_errors=True)
                sys.exit(0)
            asks, _ = listener.accept()
            if not loaded:
                for name in _LOADED:
                    import_module(name)
                gc.freeze()
                loaded = True
            if os.fork() == 0:
                listener.close()
                signal.signal(signal.SIGCHLD, signal.SIG_DFL)
                if _answer(asks):
                    return
            asks.close()


def _answer(asks: socket.socket) -> bool:
    """Fork a program and say how it ended; ``True`` in the fork of the program itself."""
    size, pipes, _, _ = socket.recv_fds(asks, _SIZE, 3)
    whole = b""
    while len(whole) < int.from_bytes(size, "big"):
        whole += asks.recv(2**20)
    program = os.fork()
    if program == 0:
        asks.close()
        for number, pipe in enumerate(pipes):
            os.dup2(pipe, number)
            os.close(pipe)
        arguments, folder, environment = marshal.loads(whole)
        os.chdir(folder)
        os.environ.clear()
        os.environ.update(environment)
        sys.argv = arguments
        return True
    for pipe in (0, 1, *pipes):
        os.close(pipe)
    ended = os.pidfd_open(program)
    ready, _, _ = select.select([ended, asks.fileno()], [], [])
    if ended not in ready:  # whoever waited for it is gone
        os.kill(program, signal.SIGKILL)
    _, status = os.waitpid(program, 0)
    if ended in ready:
        asks.sendall(str(os.waitstatus_to_exitcode(status)).encode())
    os._exit(0)


def _run() -> None:
    """Run the program of the arguments as ``python -c`` runs it."""
    sys.path[0] = ""
    option, program, *_ = sys.argv
    assert option == "-c"
    del sys.argv[1]
    for stream, number, how in (("stdin", 0, "r"), ("stdout", 1, "w"), ("stderr", 2, "w")):
        setattr(sys, stream, os.fdopen(number, how, encoding="utf-8", closefd=False))
    main = sys.modules["__main__"] = ModuleType("__main__")
    exec(compile(program, "<string>", "exec"), main.__dict__)


if __name__ == "__main__":
    _serve(Path(sys.argv[1]))
    _run()
