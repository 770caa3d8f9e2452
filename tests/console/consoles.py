"""A console for tests: in this process with a clock that is set, or a server of its own.

A console checks all scenario files in a process of its own as it first starts. That is done once
for all consoles of a test process: each finds in its folder what the first would have found. So is
the making of an empty store for those in this process and in forks, and the loading of what the
processes load that these begin.
"""

from __future__ import annotations

import asyncio
import json
import re
import socket
import sqlite3
import ssl
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, suppress
from functools import cache
from pathlib import Path
from queue import Queue
from tempfile import TemporaryDirectory
from typing import Any

import httpx2
from argon2 import PasswordHasher
from starlette.testclient import TestClient

from simengine.console.app import make_app
from simengine.desk.hub import Hub
from simengine.private_files import private_folder, write_private
from simengine.store import Store
from simengine.store.accounts import Rights
from simengine.store.place import FILE
from simengine.web import own_process
from simengine.web.account_pages import new_invitation
from simengine.web.clock import Clock
from simengine.web.lan import Lan
from simengine.web.passwords import Passwords
from simengine.web.security import OneTimeLink
from simengine.web.shelf import Shelf
from tests.console.forked_programs import forking_python

HOST = "127.0.0.1:8420"
LAN = Lan(f"https://{HOST}", "AB:CD", b"an authority", "EF:01")
PASSWORD = "correct horse battery staple"
QUICK = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
"""Argon2id for tests: what it costs is no part of what they ask."""
ADDRESS = f"http://{HOST}"
IN_TIME_S = 20.0
OTHER_COT = "birth room 2, by the window"


@cache
def checked_files(folders: tuple[Path, ...]) -> bytes:
    """The index of a shelf of which every file has been checked."""
    with TemporaryDirectory() as made, ThreadPoolExecutor(1) as beside_a_loop:
        index = Path(made) / "scenarios.index"
        beside_a_loop.submit(lambda: asyncio.run(Shelf(folders, index).checked())).result()
        return index.read_bytes()


def lay_index(data: Path, folders: tuple[Path, ...]) -> None:
    """Have a console that is to start in ``data`` find its scenario files checked."""
    if not (data / "scenarios.index").exists():
        private_folder(data)
        write_private(data / "scenarios.index", checked_files(folders))


@cache
def empty_store() -> bytes:
    """A store that holds nothing yet, as opening one in an empty folder makes it."""
    with TemporaryDirectory() as made:
        Store.open(Path(made)).close()
        with closing(sqlite3.connect(Path(made) / FILE)) as store:
            return store.serialize()


def lay_store(data: Path) -> None:
    """Have a console that is to start in ``data`` find a store that holds nothing yet."""
    if not (data / FILE).exists():
        private_folder(data)
        write_private(data / FILE, empty_store())


class SetClock(Clock):
    """A clock that stands until it is set. ``step_ms``: how far the wall clock has been set on."""

    def __init__(self, at_ms: int = 1_800_000_000_000) -> None:
        self.at_ms = at_ms
        self.step_ms = 0
        super().__init__(
            lambda: (self.at_ms + self.step_ms) * 1_000_000, lambda: self.at_ms * 1_000_000
        )


ODD_IDS = ("\0", "no-such-item", "--output", "../x", "é" * 50, "a" * 3000, " ")
"""What an address may ask for that is the id of nothing."""


def token_in(html: str) -> str:
    """The form token of a page."""
    match = re.search(r'name="csrf" content="([^"]+)"', html)
    assert match is not None, html[:500]
    return match.group(1)


def entry(kind: str, at_ms: int, data: Mapping[str, Any], id_: str | None = None) -> dict[str, Any]:
    """An entry as a screen sends it."""
    return {"id": id_ or str(uuid.uuid4()), "kind": kind, "at_ms": at_ms, "data": dict(data)}


class Browser:
    """What a browser does, on any client of httpx2's kind (cookies kept)."""

    def __init__(self, client: httpx2.Client) -> None:
        self.client = client
        self.token = ""

    def open(self, link: str) -> None:
        answer = self.client.get(link, follow_redirects=True)
        assert answer.status_code == 200, answer.text[:500]
        self.token = token_in(answer.text)

    def form(self, address: str, **fields: str) -> httpx2.Response:
        data = {"csrf_token": self.token, **{k.replace("__", "."): v for k, v in fields.items()}}
        return self.client.post(address, data=data, follow_redirects=False)

    def accept(self, code: str, name: str, password: str = PASSWORD) -> None:
        """Take up an invitation; this browser is signed in afterwards."""
        self.open(f"/invitation/{code}")
        answer = self.form("/invitation", code=code, name=name, password=password, again=password)
        assert answer.status_code == 303, answer.text
        self.open(answer.headers["location"])

    def comes_in(self, name: str, password: str = PASSWORD) -> httpx2.Response:
        """What the sign-in answers."""
        self.open("/sign-in")
        answer = self.form("/sign-in", name=name, password=password)
        if answer.status_code == 303:
            self.open(answer.headers["location"])
        return answer

    def plan(self, scenario: str = "term-not-breathing", **fields: str) -> str:
        answer = self.form("/sessions", **{"scenario": scenario, "purpose": "formative", **fields})
        assert answer.status_code == 303, answer.text[-3000:]
        return answer.headers["location"].split("/")[2]

    def start(self, scenario: str = "term-not-breathing", **fields: str) -> str:
        session = self.plan(scenario, **fields)
        answer = self.form(f"/s/{session}/start", acknowledged="yes", other_cot=OTHER_COT)
        assert answer.status_code == 303, answer.text[:500]
        return session

    def send(self, session: str, *entries: Mapping[str, Any], token: str | None = None) -> Any:
        answer = self.send_raw(session, {"events": list(entries)}, token=token)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def send_raw(self, session: str, body: Any, token: str | None = None) -> httpx2.Response:
        return self.client.post(
            f"/s/{session}/events",
            content=body if isinstance(body, bytes) else json.dumps(body),
            headers={
                "content-type": "application/json",
                "x-csrf-token": self.token if token is None else token,
            },
        )

    def view(self, session: str) -> Any:
        return first_view(self.client.get(f"/s/{session}").text)

    def log(self, session: str) -> list[Any]:
        lines = self.client.get(f"/s/{session}/log").text.splitlines()
        return [json.loads(line) for line in lines]


def first_view(html: str) -> Any:
    """The view that came with a page."""
    from html import unescape

    match = re.search(r'data-view="([^"]*)"', html)
    assert match is not None, html[:800]
    return json.loads(unescape(match.group(1)))


class Desk(Browser):
    """A console in this process; its clock is ``clock``."""

    def __init__(
        self,
        data: Path,
        folders: tuple[Path, ...] = (),
        clock: Clock | None = None,
        shelf: Shelf | None = None,
        lan: Lan | None = None,
    ):
        self.lan = lan
        self.address = ADDRESS if lan is None else lan.address
        self.clock = clock or SetClock()
        self.data = data
        self.link, self.coordinating = OneTimeLink(), OneTimeLink()
        if shelf is None and not folders:
            lay_index(data, folders)
        lay_store(data)
        own_process.PYTHON = forking_python()
        self.hub = Hub(
            Store.open(data, alone=True),
            shelf or Shelf(folders, data / "scenarios.index"),
            self.clock,
        )
        self.app = make_app(
            self.hub,
            data,
            hosts=[HOST],
            address=self.address,
            link=self.link,
            coordinating=self.coordinating,
            lan=lan,
            passwords=Passwords(QUICK),
        )
        super().__init__(TestClient(self.app, base_url=self.address))

    def another(self, at: str = "10.0.0.7") -> Browser:
        """Another browser at the same console, with no cookie yet. ``at``: its address."""
        client = TestClient(self.app, base_url=self.address, client=(at, 50_000))
        client.portal = self.client.portal  # type: ignore[attr-defined]  # in the one event loop
        return Browser(client)

    def first_page(self) -> str:
        """The first page, once every scenario file has been checked."""
        until = time.monotonic() + IN_TIME_S
        while "data-waiting" in (page := self.client.get("/").text):
            assert time.monotonic() < until, "the files are still being checked"
        return page

    def sign_in(self) -> Desk:
        if self.lan is None:
            self.open(f"/enter/{self.link.token}")
        else:
            self.accept(self.invitation(Rights(educator=True)), "Greta")
        return self

    def invitation(self, rights: Rights) -> str:
        """The code of an invitation to this console on a network."""
        return new_invitation(self.hub.store, rights, self.clock.now_ms())


class Server:
    """``simengine console`` as a process; ``data``: the folder or the database's address."""

    def __init__(
        self, data: Path | str, port: int = 0, scenarios: Path | None = None, *more: str
    ) -> None:
        self._browsers: list[Browser] = []
        if isinstance(data, Path) and scenarios is None:
            lay_index(data, (Path("scenarios"),))  # where the command looks, too
        self.process = subprocess.Popen(
            [
                sys.executable,
                "-c",
                "import sys; from simengine.cli.main import main; sys.exit(main())",
                "console",
                "--port",
                str(port),
                "--no-browser",
                "--data",
                str(data),
                *(["--scenarios", str(scenarios)] if scenarios is not None else []),
                *more,
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.read_links()

    def read_links(self) -> None:
        """Read what the console prints once it listens."""
        _, self.link, _, self.coordinating = self.lines(4)
        assert self.link.startswith("http://127.0.0.1:"), self.link
        self.address = self.link.partition("/enter/")[0]

    def lines(self, number: int) -> list[str]:
        """The next lines that it prints."""
        assert self.process.stdout is not None
        return [self.process.stdout.readline().strip() for _ in range(number)]

    def press_enter(self) -> None:
        """Ask for new links where the console was started."""
        assert self.process.stdin is not None
        self.process.stdin.write("\n")
        self.process.stdin.flush()
        self.read_new_links()

    def read_new_links(self) -> None:
        """Read what it prints when it was asked for new links."""
        lines = self.lines(5)
        self.link, self.coordinating = lines[2], lines[4]

    def browser(self, like: Browser | None = None) -> Browser:
        """A browser; ``like``: with the cookies of another one, which may be an older server's."""
        made = Browser(httpx2.Client(base_url=self.address, timeout=IN_TIME_S, verify=self.trust()))
        self._browsers.append(made)
        if like is not None:
            made.client.cookies = like.client.cookies
            made.token = like.token
        return made

    def trust(self) -> ssl.SSLContext | bool:
        """What browsers check a certificate by."""
        return True

    def end(self) -> None:
        """End the process, however it stands, and close its browsers."""
        for browser in self._browsers:
            browser.client.close()
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait(IN_TIME_S)
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                pipe.close()


class NetworkServer(Server):
    """``simengine console --lan`` as a process. ``address``: by which others are to reach it.

    ``first``: the link to the first account, or to the next one after Enter; empty if there is one.
    """

    def __init__(self, data: Path, port: int = 0, address: str = "127.0.0.2") -> None:
        self.authority = data / "network" / "authority.pem"
        super().__init__(data, port, None, "--lan", "--address", address)

    def read_links(self) -> None:
        """Read address, fingerprint and the link to the first account."""
        at, _, self.fingerprint, _, link = self.lines(5)
        self.address = at.rpartition(" ")[2]
        self.first = link if "/invitation/" in link else ""

    def read_new_links(self) -> None:
        """Read the invitation that it prints."""
        _, self.first = self.lines(2)

    def trust(self) -> ssl.SSLContext:
        """Trust what a device is told to trust, and nothing else."""
        return ssl.create_default_context(cafile=self.authority)


class Listener:
    """Listens to a stream in a thread; ``view`` waits for the next view that is wanted."""

    def __init__(self, address: str, path: str, cookies: Mapping[str, str] | None = None) -> None:
        self._views: Queue[Any] = Queue()
        self._socket = ask_for_stream(address, path, cookies or {})
        self._thread = threading.Thread(target=self._listen)
        self._thread.start()

    def _listen(self) -> None:
        with self._socket.makefile("rb") as lines:
            try:
                event = b""
                for line in lines:
                    if line.startswith(b"event: "):
                        event = line.strip()
                    elif line.startswith(b"data: ") and event == b"event: view":
                        self._views.put(json.loads(line.removeprefix(b"data: ")))
            except (OSError, ValueError):
                pass  # closed from this side
            finally:
                self._views.put(None)

    def view(self, wanted: Any = lambda _: True) -> Any:
        """The next view for which ``wanted`` holds."""
        while True:
            view = self._views.get(timeout=IN_TIME_S)
            assert view is not None, "the stream has ended"
            if wanted(view):
                return view

    def has_ended(self) -> bool:
        """Whether the other side ends the stream in time."""
        self._thread.join(IN_TIME_S)
        return not self._thread.is_alive()

    def close(self) -> None:
        """Leave the stream."""
        with suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)
        self._thread.join(IN_TIME_S)
        self._socket.close()


def ask_for_stream(
    address: str, path: str, cookies: Mapping[str, str], *, buffer: int | None = None
) -> socket.socket:
    """A client that has asked for a stream, and has read only that it is given one.

    ``buffer``: how many bytes its side takes before it has read them.
    """
    host, port = address.removeprefix("http://").split(":")
    raw = socket.socket()
    if buffer is not None:
        raw.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, buffer)
    raw.settimeout(IN_TIME_S)
    raw.connect((host, int(port)))
    cookie = "; ".join(f"{name}={value}" for name, value in cookies.items())
    raw.sendall(f"GET {path} HTTP/1.1\r\nHost: {host}:{port}\r\nCookie: {cookie}\r\n\r\n".encode())
    assert raw.recv(12).endswith(b"200")
    return raw
