"""Measure the console: from a touch to durable, and to shown on every display.

Plays 100 actions, several rounds, with 1, 10 and 50 open displays, beside a bare ASGI echo with
the same commit in the same run; then memory, screens let go, one stalled screen, and SIGTERM.
Loopback only, on processes of its own. Run as ``python -m benchmarks.console``.
"""

from __future__ import annotations

import asyncio
import json
import re
import signal
import ssl
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

DISPLAYS = (1, 10, 50)
ACTIONS = 100
ROUNDS = 3
IN_TIME_S = 30.0
AIM = 3.0
MOST_MB = 150
MOST_STOP_S = 3.0
PASSWORD = "correct horse battery staple"
CONSOLE = "import sys; from simengine.cli.main import main; sys.exit(main())"


@dataclass
class Times:
    """Seconds from the touch: to the answer (durable), and to the last display."""

    durable: list[float] = field(default_factory=list)
    shown: list[float] = field(default_factory=list)


class Connection:
    """One kept-alive HTTP connection, as a device has it. ``tls``: what it trusts, over TLS."""

    def __init__(self, port: int, tls: ssl.SSLContext | None = None) -> None:
        self.port, self.tls = port, tls
        self.cookie = ""

    async def open(self) -> None:
        """Connect."""
        self._reader, self._writer = await asyncio.open_connection(
            "127.0.0.1", self.port, ssl=self.tls
        )

    async def ask(
        self, method: str, path: str, body: bytes = b"", headers: str = ""
    ) -> tuple[str, bytes]:
        """Send a request; return the head of the answer and its body."""
        self._writer.write(
            f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n"
            f"Cookie: {self.cookie}\r\nContent-Length: {len(body)}\r\n{headers}\r\n".encode()
            + body
        )
        head = (await self._reader.readuntil(b"\r\n\r\n")).decode()
        cookie = re.search(r"set-cookie: ([^;]+)", head)
        if cookie is not None:
            self.cookie = cookie.group(1)
        length = re.search(r"content-length: (\d+)", head)
        if length is not None:
            return head, await self._reader.readexactly(int(length.group(1)))
        whole = b""
        while size := int(await self._reader.readline(), 16):
            whole += await self._reader.readexactly(size)
            await self._reader.readline()
        await self._reader.readline()
        return head, whole

    def close(self) -> None:
        """Hang up."""
        self._writer.close()


class Display:
    """An open display: ``version`` of the newest view that it has received."""

    def __init__(
        self, port: int, path: str, cookie: str = "", tls: ssl.SSLContext | None = None
    ) -> None:
        self.port, self.path, self.cookie, self.tls = port, path, cookie, tls
        self.version = -1
        self.view: bytes = b""
        self.news = asyncio.Event()

    async def open(self) -> None:
        """Connect, and read from then on."""
        limit = 2**24
        self._reader, self._writer = await asyncio.open_connection(
            "127.0.0.1", self.port, limit=limit, ssl=self.tls
        )
        self._writer.write(
            f"GET {self.path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n"
            f"Cookie: {self.cookie}\r\n\r\n".encode()
        )
        head = await self._reader.readuntil(b"\r\n\r\n")
        assert b" 200 " in head.splitlines()[0], head
        self._task = asyncio.create_task(self._read())

    async def _read(self) -> None:
        while line := await self._reader.readline():
            if line.startswith(b"data: ") and (match := re.search(rb'"version":(\d+)', line)):
                self.version, self.view = int(match.group(1)), line
                self.news.set()

    async def has(self, version: int) -> None:
        """Wait until a view of this version or a later one is here."""
        while self.version < version:
            self.news.clear()
            await self.news.wait()

    async def close(self) -> None:
        """Hang up."""
        self._task.cancel()
        self._writer.close()
        await asyncio.gather(self._task, return_exceptions=True)


@dataclass
class Target:
    """Something to measure: where a device posts and a display listens."""

    process: subprocess.Popen[str]
    device: Connection
    post: str
    listen: str
    headers: str
    console: str = ""
    token: str = ""


async def post(target: Target) -> int:
    """Record one action; return the version that is then to be shown."""
    action = {"action": "dry", "phase": "done", "role": "airway"}
    entry = {"id": str(uuid.uuid4()), "kind": "action", "at_ms": 0, "data": action}
    body = json.dumps({"events": [entry]}).encode()
    _, answer = await target.device.ask("POST", target.post, body, target.headers)
    reply = json.loads(answer)
    assert "refused" not in reply or not reply["refused"], reply
    return int(reply["version"])


async def play(target: Target, displays: list[Display], times: Times) -> None:
    """Record ``ACTIONS`` actions, each once the one before has been shown everywhere."""
    for _ in range(ACTIONS):
        began = time.perf_counter()
        version = await post(target)
        times.durable.append(time.perf_counter() - began)
        await asyncio.gather(*(display.has(version) for display in displays))
        times.shown.append(time.perf_counter() - began)


@asynccontextmanager
async def opened(target: Target, number: int) -> AsyncIterator[list[Display]]:
    """Open displays, and close them again."""
    device = target.device
    displays = [Display(device.port, target.listen, tls=device.tls) for _ in range(number)]
    for display in displays:
        await display.open()
    try:
        yield displays
    finally:
        for display in displays:
            await display.close()


async def bare(folder: Path, certificate: Path | None = None) -> Target:
    """Start the bare echo; ``certificate``: the folder of a console's, to serve over TLS by it."""
    made = [] if certificate is None else ["certificate.pem", "certificate.key"]
    process = subprocess.Popen(
        [sys.executable, "-m", "benchmarks.bare_echo", str(folder)]
        + [f"{certificate}/{name}" for name in made],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    device = Connection(int(process.stdout.readline()), trusting(certificate))
    await device.open()
    return Target(process, device, "/", "/", "Content-Type: application/json\r\n")


def trusting(certificate: Path | None) -> ssl.SSLContext | None:
    """Trust the authority that a console made in this folder, and nothing else."""
    if certificate is None:
        return None
    return ssl.create_default_context(cafile=certificate / "authority.pem")


async def console(folder: Path, *, lan: bool = False) -> Target:
    """Start a console and sign in; ``anew`` then starts a session. ``lan``: over TLS."""
    command = [sys.executable, "-c", CONSOLE, "console", "--port", "0", "--no-browser"]
    process = subprocess.Popen(
        [*command, "--data", str(folder), *(["--lan", "--address", "127.0.0.1"] if lan else [])],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert process.stdout is not None
    *_, link = [process.stdout.readline().strip() for _ in range(5 if lan else 2)]
    port, _, path = link.rpartition("://127.0.0.1:")[2].partition("/")
    device = Connection(int(port), trusting(folder / "network" if lan else None))
    await device.open()
    _, page = await device.ask("GET", f"/{path}")
    if lan:
        await make_account(device, path.rpartition("/")[2], token_in(page))
    _, page = await device.ask("GET", "/")
    token = token_in(page)
    headers = f"Content-Type: application/json\r\nX-CSRF-Token: {token}\r\n"
    return Target(process, device, "", "", headers, token=token)


def token_in(page: bytes) -> str:
    """The form token of a page."""
    match = re.search(r'name="csrf" content="([^"]+)"', page.decode())
    assert match is not None, page[:500]
    return match.group(1)


async def make_account(device: Connection, code: str, token: str) -> None:
    """Take up the invitation of a console on a network; the device is signed in afterwards."""
    words = {"password": PASSWORD, "again": PASSWORD}
    await send_form(device, "/invitation", token, code=code, name="Greta", **words)


async def send_form(device: Connection, address: str, token: str, **fields: str) -> str:
    """Send a form; return where it leads."""
    body = urlencode({"csrf_token": token, **fields}).encode()
    form = "Content-Type: application/x-www-form-urlencoded\r\n"
    head, page = await device.ask("POST", address, body, form)
    match = re.search(r"location: (\S+)", head)
    assert match is not None, (head, page)
    return match.group(1)


async def anew(target: Target) -> None:
    """Have the console start a new session, so that every round has a log of the same length."""
    if not target.token:
        return
    device = target.device
    plan = {"scenario": "term-not-breathing", "purpose": "formative"}
    planned = await send_form(device, "/sessions", target.token, **plan)
    session = planned.split("/")[2]
    agreed = {"acknowledged": "yes", "other_cot": "room 2"}
    await send_form(device, f"/s/{session}/start", target.token, **agreed)
    _, page = await device.ask("GET", f"/s/{session}")
    code = unescape(page.decode()).split("/d/")[1][:8]
    target.post = f"/s/{session}/events"
    target.listen = f"/d/{code}/stream"
    target.console = f"/s/{session}/stream"
    born = {"id": str(uuid.uuid4()), "kind": "event", "at_ms": 0, "data": {"name": "birth"}}
    await device.ask("POST", target.post, json.dumps({"events": [born]}).encode(), target.headers)


def ms(values: list[float], share: float) -> float:
    """A percentile in ms: the value that ``share`` of the values do not exceed."""
    ordered = sorted(values)
    return 1000 * ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def memory_mb(process: subprocess.Popen[str]) -> float:
    """The resident memory of a process; only Linux tells it like this."""
    status = Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
    match = re.search(r"VmRSS:\s+(\d+) kB", status)
    assert match is not None
    return int(match.group(1)) / 1024


def row(name: str, times: Times) -> str:
    """One line of the table."""
    figures = [
        ms(values, share) for values in (times.durable, times.shown) for share in (0.5, 0.99)
    ]
    return f"{name:34}" + "".join(f"{figure:10.2f}" for figure in figures)


async def measure(folder: Path) -> bool:
    """Print everything; return whether every aim was met."""
    (folder / "bare").mkdir()
    reference = await bare(folder / "bare")
    ours = await console(folder / "console")
    met = True
    try:
        print(f"{'ms from the touch to':34}{'durable':>20}{'shown on all':>20}")
        print(f"{'':34}" + "".join(f"{what:>10}" for what in ("p50", "p99", "p50", "p99")))
        for number in DISPLAYS:
            plain, own = Times(), Times()
            for _ in range(ROUNDS):
                for target, times in ((reference, plain), (ours, own)):
                    await anew(target)
                    async with opened(target, number) as displays:
                        await play(target, displays, times)
            print(row(f"bare echo, {number} displays", plain))
            print(row(f"console, {number} displays", own))
            ratio = ms(own.shown, 0.99) / ms(plain.shown, 0.99)
            half = statistics.median(own.shown) / statistics.median(plain.shown)
            print(f"{'':4}shown on all: p50 {half:.1f} times, p99 {ratio:.1f} times the bare one")
            if number == 10:
                met &= told(f"p99 with 10 displays at most {AIM:g} times the bare", ratio <= AIM)
        await and_a_console(ours)
        met &= await memory(ours)
        met &= await stalled(ours)
        met &= await let_go(ours)
        met &= await stops(ours)
    finally:
        for target in (reference, ours):
            end(target)
    return met


def end(target: Target) -> None:
    """End a process and what holds on to it."""
    target.device.close()
    target.process.kill()
    target.process.wait()
    if target.process.stdout is not None:
        target.process.stdout.close()


def told(what: str, met: bool) -> bool:
    """Say whether an aim was met."""
    print(f"{'met' if met else 'NOT MET'}: {what}")
    return met


async def and_a_console(target: Target) -> None:
    """The same with a facilitator's console open beside the displays."""
    await anew(target)
    times = Times()
    watching = Display(target.device.port, target.console, target.device.cookie)
    await watching.open()
    async with opened(target, 10) as displays:
        await play(target, [*displays, watching], times)
    await watching.close()
    print(row("console, 10 displays, 1 console", times))


async def memory(target: Target) -> bool:
    """The server's memory with 50 displays."""
    async with opened(target, 50) as displays:
        version = await post(target)
        await asyncio.gather(*(display.has(version) for display in displays))
        used = memory_mb(target.process)
    return told(f"memory with 50 displays {used:.0f} MB, at most {MOST_MB} MB", used <= MOST_MB)


async def stalled(target: Target) -> bool:
    """One screen that reads nothing, beside ten that do."""
    alone, beside = Times(), Times()
    await anew(target)
    async with opened(target, 10) as displays:
        await play(target, displays, alone)
        reader, writer = await asyncio.open_connection("127.0.0.1", target.device.port, limit=1024)
        writer.write(
            f"GET {target.console} HTTP/1.1\r\nHost: 127.0.0.1:{target.device.port}\r\n"
            f"Cookie: {target.device.cookie}\r\n\r\n".encode()
        )
        await reader.readuntil(b"\r\n")
        await play(target, displays, beside)
        writer.close()
    print(row("10 displays, before the stalled one", alone))
    print(row("10 displays, beside the stalled one", beside))
    ratio = statistics.median(beside.durable) / statistics.median(alone.durable)
    words = f"a stalled screen keeps no other waiting: durable p50 {ratio:.1f} times"
    return told(words, ratio <= AIM)


async def let_go(target: Target) -> bool:
    """After all displays have gone no screen is left."""
    async with opened(target, 50):
        pass
    watching = Display(target.device.port, target.console, target.device.cookie)
    await watching.open()
    left = -1
    try:
        async with asyncio.timeout(IN_TIME_S):
            while left != 0:
                watching.news.clear()
                match = re.search(rb'"screens":(\d+)', watching.view)
                left = int(match.group(1)) if match is not None else -1
                if left != 0:
                    await watching.news.wait()
    except TimeoutError:
        pass
    await watching.close()
    return told(f"screens left after 50 have gone: {left}", left == 0)


async def stops(target: Target) -> bool:
    """SIGTERM with 50 displays attached."""
    async with opened(target, 50):
        began = time.perf_counter()
        target.process.send_signal(signal.SIGTERM)
        await asyncio.to_thread(target.process.wait, IN_TIME_S)
        took = time.perf_counter() - began
    words = f"SIGTERM with 50 displays ends in {took:.2f} s, at most {MOST_STOP_S:g} s"
    return told(words, took <= MOST_STOP_S)


def main() -> int:
    """Measure, and say by the exit status whether every aim was met."""
    with tempfile.TemporaryDirectory() as folder:
        return 0 if asyncio.run(measure(Path(folder))) else 1


if __name__ == "__main__":
    sys.exit(main())
