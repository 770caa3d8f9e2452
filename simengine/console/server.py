"""Serve the console on this machine.

Rules of this file:

- It listens on loopback alone.
- On SIGTERM or Ctrl-C all streams end at once, so that no open page keeps the server from
  stopping; what then still holds a connection has two seconds.
- Whoever started it, and nobody else, can have new links printed by pressing Enter there.
- What goes wrong inside is written into a file in the data folder, and no traceback to a person.
"""

from __future__ import annotations

import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from io import TextIOWrapper
from pathlib import Path

import uvicorn

from simengine.console.app import make_app
from simengine.console.connections import Connection
from simengine.console.fault_log import NamelessFormatter
from simengine.desk.hub import Hub
from simengine.private_files import make_private, opened_private, private_folder
from simengine.store import Store
from simengine.web.clock import Clock
from simengine.web.security import OneTimeLink
from simengine.web.shelf import Shelf

HOST = "127.0.0.1"
_GRACE_S = 2
_KEEP_S = 75  # a device records every few seconds, and should not connect anew each time


def serve(
    port: int,
    where: Path | str,
    data: Path,
    folders: Sequence[Path],
    ready: Callable[[str, str, str], None],
    renewed: Callable[[str, str], None],
) -> None:
    """Serve until told to stop.

    ``port``: 0 takes a free one. ``where``: the store's folder or address; ``data``: the folder of
    debriefs and of what else is kept as files. ``folders``: where scenarios are looked for before
    the shipped ones. ``ready``: called with the address and the one-time links of the console and
    of the coordinator's pages once the port is taken. ``renewed``: called with two new links for
    each line typed where the console was started. Raises ``OSError`` if the port can't be had
    and ``StoreError`` if the store can't.
    """
    private_folder(data)
    make_private(data)
    _log_into(data / "console.log")
    store = Store.open(where, alone=True)
    try:
        with _taken(port) as listening:
            _serve(listening, store, data, folders, ready, renewed)
    finally:
        store.close()


def _serve(
    listening: socket.socket,
    store: Store,
    data: Path,
    folders: Sequence[Path],
    ready: Callable[[str, str, str], None],
    renewed: Callable[[str, str], None],
) -> None:
    port = listening.getsockname()[1]
    address = f"http://{HOST}:{port}"
    hub = Hub(store, Shelf(folders, data / "scenarios.index"), Clock())
    link, coordinating = OneTimeLink(), OneTimeLink()
    hosts = [f"{name}:{port}" for name in (HOST, "localhost")]
    app = make_app(hub, data, hosts=hosts, address=address, link=link, coordinating=coordinating)
    config = uvicorn.Config(
        app,
        log_config=None,
        access_log=False,
        server_header=False,
        timeout_keep_alive=_KEEP_S,
        timeout_graceful_shutdown=_GRACE_S,
        http=Connection,
    )
    server = _Server(config, hub)

    def links() -> tuple[str, str]:
        return f"{address}/enter/{link.token}", f"{address}/coordinate/{coordinating.token}"

    def renew() -> None:
        link.renew()
        coordinating.renew()
        renewed(*links())

    ready(address, *links())
    _at_each_line(renew)
    server.run([listening])


class _Server(uvicorn.Server):
    def __init__(self, config: uvicorn.Config, hub: Hub) -> None:
        super().__init__(config)
        self._hub = hub

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Stop: end the streams first, so that their connections close by themselves."""
        self._hub.stop()
        await super().shutdown(sockets)


def _at_each_line(run: Callable[[], None]) -> None:
    """Call ``run`` for each line that is typed where the console was started."""
    typed = sys.stdin
    if typed is None:
        return
    if hasattr(signal, "SIGTTIN"):
        # Sent to the background it would else be stopped for wanting to read what is typed.
        signal.signal(signal.SIGTTIN, signal.SIG_IGN)

    def read() -> None:
        with suppress(OSError, ValueError):
            for _ in typed:
                run()

    threading.Thread(target=read, name="lines typed", daemon=True).start()


def _taken(port: int) -> socket.socket:
    """Return a socket that has taken the port.

    The protocol is said outright, since asyncio switches off Nagle's algorithm only then; with it
    every answer waits 40 ms for the browser's acknowledgement.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if os.name == "posix":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((HOST, port))
        listening.listen()
    except OSError:
        listening.close()
        raise
    return listening


class _PrivateFileHandler(logging.FileHandler):
    def _open(self) -> TextIOWrapper:
        # the handler closes it
        return open(self.baseFilename, "a", encoding="utf-8", opener=opened_private)


def _log_into(file: Path) -> None:
    handler = _PrivateFileHandler(file, delay=True, encoding="utf-8")
    make_private(file)
    handler.setFormatter(NamelessFormatter())
    handler.setLevel(logging.WARNING)
    logging.getLogger().addHandler(handler)
