"""Serve the console on this machine, or over its network.

Rules of this file:

- It listens on loopback alone; where it was asked for, to the network, and then over TLS alone.
- A connection that has not shaken hands in ``SHAKEN_WITHIN_S`` is dropped.
- On SIGTERM or Ctrl-C all streams end at once, so that no open page keeps the server from
  stopping; what then still holds a connection has two seconds.
- Whoever started it, and nobody else, can have new links printed by pressing Enter there.
- What goes wrong inside is written into a file in the data folder, and no traceback to a person.
"""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from io import TextIOWrapper
from pathlib import Path
from typing import Any

import uvicorn

from simengine.console.addresses import LOOPBACK, headers_of, hosts_of, link_of
from simengine.console.app import make_app
from simengine.console.certificate import Certificate, given_certificate, made_certificate
from simengine.console.connections import Connection
from simengine.console.fault_log import NamelessFormatter
from simengine.console.sleeping import SleepingServer
from simengine.desk.hub import Hub
from simengine.private_files import make_private, opened_private, private_folder
from simengine.store import Store
from simengine.store.accounts import Rights, any_teaches
from simengine.web.account_pages import new_invitation
from simengine.web.clock import Clock
from simengine.web.lan import Lan
from simengine.web.security import OneTimeLink
from simengine.web.shelf import Shelf

if sys.platform == "win32":
    from asyncio import ProactorEventLoop as _SystemsLoop
else:
    from asyncio import SelectorEventLoop as _SystemsLoop

HOST = LOOPBACK[0]
SHAKEN_WITHIN_S = 10.0
_EVERYWHERE = "0.0.0.0"
_FIRST_ACCOUNT_MS = 60 * 60 * 1000
_GRACE_S = 2
_KEEP_S = 75  # a device records every few seconds, and should not connect anew each time


@dataclass(frozen=True, slots=True)
class OverNetwork:
    """What is asked of a console on a network. ``hosts``: what others call this machine, where
    somebody says so. ``certificate``, ``key``: the hospital's; without them they are made.
    """

    hosts: Sequence[str] = ()
    certificate: Path | None = None
    key: Path | None = None


@dataclass(frozen=True, slots=True)
class Started:
    """A console that listens. ``link`` and ``coordinating``: one-time links of this machine's own
    console. ``lan``: over a network, where ``first`` is the link that makes the first account, and
    empty where there is one.
    """

    address: str
    link: str = ""
    coordinating: str = ""
    lan: Lan | None = None
    first: str = ""


def serve(
    port: int,
    where: Path | str,
    data: Path,
    folders: Sequence[Path],
    ready: Callable[[Started], None],
    renewed: Callable[[Started], None],
    network: OverNetwork | None = None,
) -> None:
    """Serve until told to stop.

    ``port``: 0 takes a free one. ``where``: the store's folder or address; ``data``: the folder of
    debriefs and of what else is kept as files. ``folders``: where scenarios are looked for before
    the shipped ones. ``ready``: called once the port is taken. ``renewed``: called with new links
    for each line typed where the console was started. Raises ``OSError`` if the port can't be had,
    ``StoreError`` if the store can't, and for a network ``CertificateError`` and
    ``NoAddressError``.
    """
    private_folder(data)
    make_private(data)
    _log_into(data / "console.log")
    hosts = LOOPBACK if network is None else hosts_of(network.hosts)
    certificate = None if network is None else _certificate(network, data, hosts)
    store = Store.open(where, alone=True)
    try:
        with _taken(port, HOST if network is None else _EVERYWHERE) as listening:
            _serve(listening, store, data, folders, ready, renewed, hosts, network, certificate)
    finally:
        store.close()


def _certificate(network: OverNetwork, data: Path, hosts: Sequence[str]) -> Certificate:
    if network.certificate is not None and network.key is not None:
        return given_certificate(network.certificate, network.key)
    return made_certificate(data, hosts)


def _serve(
    listening: socket.socket,
    store: Store,
    data: Path,
    folders: Sequence[Path],
    ready: Callable[[Started], None],
    renewed: Callable[[Started], None],
    hosts: Sequence[str],
    network: OverNetwork | None,
    certificate: Certificate | None,
) -> None:
    port = listening.getsockname()[1]
    given = network.hosts if network is not None else ()
    address = f"http://{HOST}:{port}"
    if certificate is not None:
        address = link_of(given[0] if given else hosts[0], port)
    lan = None if certificate is None else _lan(address, certificate)
    hub = Hub(store, Shelf(folders, data / "scenarios.index"), Clock())
    link, coordinating = OneTimeLink(), OneTimeLink()
    app = make_app(
        hub,
        data,
        hosts=headers_of(given, hosts, port),
        address=address,
        link=link,
        coordinating=coordinating,
        lan=lan,
    )
    config = _Config(
        app,
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=_KEEP_S,
        timeout_graceful_shutdown=_GRACE_S,
        http=Connection,
        ssl_certfile=certificate.certificate if certificate is not None else None,
        ssl_keyfile=certificate.key if certificate is not None else None,
    )
    server = _Server(config, hub)

    def started(*, renew: bool) -> Started:
        if lan is None:
            enter, coordinate = link.token, coordinating.token
            return Started(
                address, f"{address}/enter/{enter}", f"{address}/coordinate/{coordinate}"
            )
        if any_teaches(store) and not renew:
            return Started(address, lan=lan)
        rights = Rights(educator=True, coordinator=True)
        code = new_invitation(store, rights, hub.clock.now_ms(), lasts_ms=_FIRST_ACCOUNT_MS)
        return Started(address, lan=lan, first=f"{address}/invitation/{code}")

    def renew() -> None:
        link.renew()
        coordinating.renew()
        renewed(started(renew=True))

    ready(started(renew=False))
    _at_each_line(renew)
    _allow_many_files()
    server.run([listening])


def _lan(address: str, certificate: Certificate) -> Lan:
    return Lan(
        address,
        certificate.fingerprint,
        certificate.authority,
        certificate.authority_fingerprint,
        certificate.vouched_for,
    )


def _allow_many_files() -> None:
    """Take as many open files as the system allows: each connection is one."""
    if sys.platform != "win32":
        import resource

        _, most = resource.getrlimit(resource.RLIMIT_NOFILE)
        with suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (most, most))


class _Loop(_SystemsLoop):
    """The system's event loop, in which a TLS handshake ends within ``SHAKEN_WITHIN_S``."""

    async def create_server(self, *given: Any, **named: Any) -> asyncio.Server:
        if named.get("ssl") is not None:
            named["ssl_handshake_timeout"] = SHAKEN_WITHIN_S
        server: asyncio.Server = await super().create_server(*given, **named)
        return server


class _Config(uvicorn.Config):
    def get_loop_factory(self) -> Callable[[], asyncio.AbstractEventLoop]:
        """Return what makes the event loop."""
        return _Loop


class _Server(SleepingServer):
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


def _taken(port: int, host: str) -> socket.socket:
    """Return a socket that has taken the port.

    The protocol is said outright, since asyncio switches off Nagle's algorithm only then; with it
    every answer waits 40 ms for the browser's acknowledgement.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        if os.name == "posix":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
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
