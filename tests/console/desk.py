"""A console for tests: in this process with a clock that is set, or a server of its own."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import threading
import uuid
from collections.abc import Iterator, Mapping
from pathlib import Path
from queue import Empty, Queue
from typing import Any

import httpx2
from starlette.testclient import TestClient

from simengine.console.app import make_app
from simengine.console.clock import Clock
from simengine.console.hub import Hub
from simengine.console.security import OneTimeLink
from simengine.console.shelf import Shelf
from simengine.store import SqliteLogStore

HOST = "127.0.0.1:8420"
ADDRESS = f"http://{HOST}"
IN_TIME_S = 20.0


class SetClock(Clock):
    """A clock that stands until it is set."""

    def __init__(self, at_ms: int = 1_800_000_000_000) -> None:
        super().__init__()
        self.at_ms = at_ms

    def now_ms(self) -> int:
        return self.at_ms


def token_in(html: str) -> str:
    """The form token of a page."""
    found = re.search(r'name="csrf" content="([^"]+)"', html)
    assert found is not None, html[:500]
    return found.group(1)


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

    def plan(self, scenario: str = "term-not-breathing", **fields: str) -> str:
        answer = self.form("/sessions", scenario=scenario, purpose="formative", **fields)
        assert answer.status_code == 303, answer.text[-3000:]
        return answer.headers["location"].split("/")[2]

    def start(self, scenario: str = "term-not-breathing", **fields: str) -> str:
        session = self.plan(scenario, **fields)
        answer = self.form(f"/s/{session}/start", acknowledged="yes")
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

    found = re.search(r'data-view="([^"]*)"', html)
    assert found is not None, html[:800]
    return json.loads(unescape(found.group(1)))


class Desk(Browser):
    """A console in this process; its clock is ``clock``."""

    def __init__(self, data: Path, folders: tuple[Path, ...] = (), clock: Clock | None = None):
        self.clock = clock or SetClock()
        self.data = data
        self.link = OneTimeLink()
        self.hub = Hub(SqliteLogStore(data), Shelf(folders), self.clock)
        self.app = make_app(self.hub, data, hosts=[HOST], address=ADDRESS, link=self.link)
        super().__init__(TestClient(self.app, base_url=ADDRESS))

    def another(self) -> Browser:
        """Another browser at the same console, with no cookie yet."""
        return Browser(TestClient(self.app, base_url=ADDRESS))

    def sign_in(self) -> Desk:
        self.open(f"/enter/{self.link.token}")
        return self


class Server:
    """``simengine console`` as a process of its own, in the folder ``data``."""

    def __init__(self, data: Path, port: int = 0) -> None:
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
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self.process.stdout is not None
        self.process.stdout.readline()
        self.link = self.process.stdout.readline().strip()
        assert self.link.startswith("http://127.0.0.1:"), self.link
        self.address = self.link.partition("/enter/")[0]

    def browser(self, like: Browser | None = None) -> Browser:
        """A browser; ``like``: with the cookies of another one, which may be an older server's."""
        made = Browser(httpx2.Client(base_url=self.address, timeout=IN_TIME_S))
        if like is not None:
            made.client.cookies = like.client.cookies
            made.token = like.token
        return made

    def end(self) -> None:
        """End the process, however it stands."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait(IN_TIME_S)
        if self.process.stdout is not None:
            self.process.stdout.close()


class Listener:
    """Listens to a stream in a thread; ``view`` waits for the next view that is wanted."""

    def __init__(self, address: str, path: str, cookies: dict[str, str] | None = None) -> None:
        self._client = httpx2.Client(base_url=address, cookies=cookies, timeout=None)
        self._views: Queue[Any] = Queue()
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._listen, args=(path,), daemon=True)
        self._thread.start()
        assert self._ready.wait(IN_TIME_S)

    def _listen(self, path: str) -> None:
        try:
            with self._client.stream("GET", path) as answer:
                self.status = answer.status_code
                self._ready.set()
                for view in _views(answer.iter_lines()):
                    self._views.put(view)
        except (httpx2.HTTPError, OSError):
            pass
        finally:
            self._ready.set()
            self._views.put(None)

    def view(self, wanted: Any = lambda _: True) -> Any:
        """The next view for which ``wanted`` holds."""
        while True:
            view = self._views.get(timeout=IN_TIME_S)
            assert view is not None, "the stream has ended"
            if wanted(view):
                return view

    def ended(self) -> bool:
        """Whether the stream ends in time."""
        try:
            while self._views.get(timeout=IN_TIME_S) is not None:
                pass
        except Empty:
            return False
        return True

    def close(self) -> None:
        self._client.close()


def _views(lines: Iterator[str]) -> Iterator[Any]:
    event = ""
    for line in lines:
        if line.startswith("event: "):
            event = line.removeprefix("event: ")
        elif line.startswith("data: ") and event == "view":
            yield json.loads(line.removeprefix("data: "))
