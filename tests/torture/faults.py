"""What a console has to survive. Each fault is done ``times`` times, seeded, in an empty folder.

Rules of this file:

- To survive is: nothing that was acknowledged is missing, nothing is there twice, every chain is
  whole, nobody is answered 500; or, where the store itself was damaged, that is told in words and
  nothing is shown that was never recorded.
- Nothing is asked about how fast it was, but that it comes within ``IN_TIME_S``.
- A full disk is made by a limit on the size of the server's files (``RLIMIT_FSIZE``): the write
  fails as it does there, with another number.
"""

from __future__ import annotations

import os
import re
import resource
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from random import Random

from simengine.session import read_log
from simengine.session.events import Event
from simengine.store import Store, StoreError
from simengine.store.checking import check
from tests.console.consoles import IN_TIME_S, Desk, Server, SetClock, ask_for_stream
from tests.shipped import SESSIONS, log_file
from tests.torture.device import Device, at_work

FILE = "sessions.sqlite"


@dataclass(frozen=True, slots=True)
class Survived:
    """``times``: how often; ``acknowledged``: entries that had been, of which ``lost`` are gone."""

    times: int
    acknowledged: int
    lost: int
    words: str


class NotTriedError(Exception):
    """This machine can't make the fault; the message says why."""


Fault = Callable[[Path, Random, int], Survived]


@contextmanager
def running(data: Path) -> Iterator[Server]:
    """A console of its own, ended whatever comes."""
    server = Server(data)
    try:
        yield server
    finally:
        if server.process.poll() is None:
            server.process.send_signal(signal.SIGCONT)
        server.end()


@contextmanager
def desk_in(data: Path, clock: SetClock) -> Iterator[Desk]:
    """A console in this process."""
    desk = Desk(data, clock=clock)
    with desk.client:
        yield desk


def chains_are_whole(data: Path) -> None:
    """Hold every chain of a store against its hashes."""
    with Store.open(data) as store, store.reading() as connection:
        assert check(connection).problems == ()


def kills(folder: Path, random: Random, times: int) -> Survived:
    """SIGKILL at a random instant while a device records."""
    acknowledged = lost = 0
    device: Device | None = None
    for number in range(times):
        with running(folder) as server:
            if device is None or number % 20 == 0:
                browser = server.browser()
                browser.open(server.link)
                device = at_work(browser)
            else:
                device = again(device, server)
                device.send_until_taken()
            after_s = random.uniform(0, 0.5)
            timer = threading.Timer(after_s, server.process.kill)
            timer.start()
            while device.touch():
                pass
            timer.join()
            server.process.wait(IN_TIME_S)
        with running(folder) as server:
            device = again(device, server)
            device.send_until_taken()
            lost += len(device.lost())
            acknowledged += len(device.acknowledged)
            device.acknowledged.clear()
    chains_are_whole(folder)
    return Survived(times, acknowledged, lost, "started again, it went on; what waited was sent")


def again(device: Device, server: Server) -> Device:
    """The same device, with the same cookie and what it has waiting, at a server started anew."""
    other = Device(server.browser(like=device.browser), device.session)
    other.waiting, other.acknowledged = device.waiting, device.acknowledged
    return other


def disk_full(folder: Path, random: Random, times: int) -> Survived:
    """No write of the server succeeds for a while."""
    acknowledged = lost = 0
    for number in range(times):
        data = folder / str(number)
        with running(data) as server:
            browser = server.browser()
            browser.open(server.link)
            device = at_work(browser)
            for _ in range(random.randrange(10)):
                assert device.touch(), device.failure
            pid = server.process.pid
            before = resource.prlimit(pid, resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
            for _ in range(3):
                assert not device.touch(), "acknowledged what could not be kept"
            assert browser.client.get(f"/s/{device.session}").status_code == 200
            resource.prlimit(pid, resource.RLIMIT_FSIZE, before)
            device.send_until_taken()
            lost += len(device.lost())
            acknowledged += len(device.acknowledged)
        chains_are_whole(data)
    return Survived(times, acknowledged, lost, "answered 503 and took all once there was room")


def read_only(folder: Path, random: Random, times: int) -> Survived:
    """The store's file may not be written to when the console starts."""
    for number in range(times):
        data = folder / str(number)
        _with_sessions(data, random)
        with _unwritable(data / FILE):
            run = subprocess.run(
                [sys.executable, "-c", _COMMAND, "console", "--no-browser", "--port", "0",
                 "--data", str(data)],
                capture_output=True, text=True, check=False, timeout=IN_TIME_S,
                stdin=subprocess.DEVNULL,
            )  # fmt: skip
        assert run.returncode == 1, run.stderr
        assert "simengine console: " in run.stderr
        assert "Traceback" not in run.stderr
        chains_are_whole(data)
    return Survived(times, 0, 0, "said so and did not start; all is there afterwards")


_COMMAND = "import sys; from simengine.cli.main import main; sys.exit(main(sys.argv[1:]))"


@contextmanager
def _unwritable(file: Path) -> Iterator[None]:
    if os.geteuid() != 0:
        file.chmod(0o400)
        file.parent.chmod(0o500)
        try:
            yield
        finally:
            file.parent.chmod(0o700)
            file.chmod(0o600)
        return
    if shutil.which("chattr") is None:
        raise NotTriedError("root may write to every file, and chattr is not here")
    done = subprocess.run(["chattr", "+i", file], capture_output=True, check=False)
    if done.returncode:
        raise NotTriedError("root may write to every file, and this file system has no chattr +i")
    try:
        yield
    finally:
        subprocess.run(["chattr", "-i", file], check=True)


def _with_sessions(data: Path, random: Random) -> dict[str, tuple[Event, ...]]:
    """A store with some shipped sessions; their events by session."""
    logs = [read_log(log_file(name)) for name in random.sample(SESSIONS, 3)]
    with Store.open(data) as store:
        for log in logs:
            store.add_log(log)
    return {str(log[0].data["session"]): log for log in logs}


def cut_short(folder: Path, random: Random, times: int) -> Survived:
    """The store's file ends somewhere in its middle."""
    return _damaged(folder, random, times, lambda raw: raw[: random.randrange(len(raw))])


def letter_changed(folder: Path, random: Random, times: int) -> Survived:
    """One byte of the store's file is another."""

    def changed(raw: bytes) -> bytes:
        at = random.randrange(len(raw))
        return raw[:at] + bytes([raw[at] ^ 1 << random.randrange(8)]) + raw[at + 1 :]

    return _damaged(folder, random, times, changed)


def _damaged(
    folder: Path, random: Random, times: int, damage: Callable[[bytes], bytes]
) -> Survived:
    """What is read is what was written, or the damage is told; nothing else is ever shown."""
    whole = folder / "whole"
    written = _with_sessions(whole, random)
    _in_one_file(whole)
    raw = (whole / FILE).read_bytes()
    noticed = 0
    for number in range(times):
        data = folder / str(number)
        data.mkdir()
        (data / FILE).write_bytes(damage(raw))
        try:
            with Store.open(data) as store, store.reading() as connection:
                problems = check(connection).problems
                shown = {session: _read(store, session) for session in written}
        except StoreError:
            noticed += 1
        else:
            noticed += bool(problems)
            for session, events in shown.items():
                assert events is None or events == written[session], f"{session} reads otherwise"
            assert problems or None not in shown.values(), "a session is gone, and nobody is told"
        shutil.rmtree(data)
    kept = sum(len(log) for log in written.values())
    return Survived(times, kept, 0, f"told {noticed} times; else nothing that matters was hit")


def _in_one_file(data: Path) -> None:
    """Have SQLite put all into the file itself, where the damage is to be."""
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect(data / FILE)) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _read(store: Store, session: str) -> tuple[Event, ...] | None:
    try:
        return store.events(session) or None
    except StoreError:
        return None


def two_servers(folder: Path, random: Random, times: int) -> Survived:
    """A second console is started on the same folder while the first one records."""
    with running(folder) as server:
        browser = server.browser()
        browser.open(server.link)
        device = at_work(browser)
        for _ in range(times):
            with subprocess.Popen(
                [sys.executable, "-c", _COMMAND, "console", "--no-browser", "--port", "0",
                 "--data", str(folder)],
                stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True,
            ) as second:  # fmt: skip
                while second.poll() is None:
                    assert device.touch(), device.failure
                    with suppress(subprocess.TimeoutExpired):
                        second.wait(random.uniform(0, 0.05))
                assert second.stderr is not None
                assert "another console is using the folder" in second.stderr.read()
            assert second.returncode == 1
        lost = device.lost()
    chains_are_whole(folder)
    words = "the second was refused in words, the first went on"
    return Survived(times, len(device.acknowledged), len(lost), words)


def clock_steps(folder: Path, random: Random, times: int) -> Survived:
    """The wall clock is set on or back by up to ten days between two touches."""
    clock = SetClock()
    with desk_in(folder, clock) as desk:
        desk.sign_in()
        device = at_work(desk)
        for _ in range(times):
            clock.at_ms += random.randrange(1000)
            clock.step_ms = random.randint(-864_000_000, 864_000_000)
            assert device.touch(), device.failure
        noted = [line["noted_ms"] for line in desk.log(device.session)]
        assert noted == sorted(noted)
        assert noted[-1] - noted[0] <= 1000 * times, "the session's clock has jumped"
        lost = device.lost()
    chains_are_whole(folder)
    words = "the session's own clock never jumped"
    return Survived(times, len(device.acknowledged), len(lost), words)


def suspended(folder: Path, random: Random, times: int, seconds: float = 60) -> Survived:
    """The server is stopped for a minute (SIGSTOP) while devices send, and goes on."""
    acknowledged = lost = 0
    with running(folder) as server:
        browser = server.browser()
        browser.open(server.link)
        for _ in range(times):
            device = at_work(browser)
            stopped = threading.Timer(
                random.uniform(0, 0.05), server.process.send_signal, (signal.SIGSTOP,)
            )
            goes_on = threading.Timer(seconds, server.process.send_signal, (signal.SIGCONT,))
            stopped.start()
            goes_on.start()
            until = time.monotonic() + seconds + IN_TIME_S
            while goes_on.is_alive() or not device.touch():
                assert time.monotonic() < until
                device.touch()
            stopped.join()
            lost += len(device.lost())
            acknowledged += len(device.acknowledged)
    chains_are_whole(folder)
    words = f"after {seconds:g} s it took what had waited, each entry once"
    return Survived(times, acknowledged, lost, words)


def half_open(folder: Path, random: Random, times: int, streams: int = 200) -> Survived:
    """Streams that were asked for and whose client has gone without a word; others record."""
    del random
    acknowledged = lost = 0
    with running(folder) as server:
        browser = server.browser()
        browser.open(server.link)
        for _ in range(times):
            device = at_work(browser)
            page = browser.client.get(f"/s/{device.session}").text
            (code,) = set(re.findall(r"/d/([A-Z0-9]{8})", page))
            raws = [ask_for_stream(server.address, f"/d/{code}/stream", {}) for _ in range(streams)]
            try:
                for _ in range(20):
                    assert device.touch(), device.failure
                assert browser.client.get(f"/s/{device.session}").status_code == 200
            finally:
                for raw in raws:
                    raw.close()
            lost += len(device.lost())
            acknowledged += len(device.acknowledged)
    chains_are_whole(folder)
    return Survived(times, acknowledged, lost, f"{streams} streams that nobody reads kept none out")


def slow_clients(folder: Path, random: Random, times: int) -> Survived:
    """Clients that send a request letter by letter, and that read an answer byte by byte."""
    acknowledged = lost = 0
    with running(folder) as server:
        host, port = server.address.removeprefix("http://").split(":")
        browser = server.browser()
        browser.open(server.link)
        for _ in range(times):
            device = at_work(browser)
            raws = []
            for number in range(50):
                raw = socket.socket()
                raw.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1024)
                raw.connect((host, int(port)))
                request = f"GET /static/fonts/widths.txt HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n"
                ends = len(request) if number % 2 else random.randrange(1, len(request) - 1)
                raw.sendall(request[:ends].encode())
                raws.append(raw)
            for _ in range(20):
                assert device.touch(), device.failure
                for raw in raws[1::2]:
                    raw.settimeout(0.001)
                    with suppress(TimeoutError):
                        raw.recv(1)
            for raw in raws:
                raw.close()
            lost += len(device.lost())
            acknowledged += len(device.acknowledged)
    chains_are_whole(folder)
    return Survived(times, acknowledged, lost, "50 slow clients kept no entry waiting for them")


FAULTS: dict[str, tuple[Fault, int]] = {
    "killed at a random instant": (kills, 300),
    "disk full": (disk_full, 20),
    "store read-only": (read_only, 5),
    "store cut short": (cut_short, 200),
    "one bit changed": (letter_changed, 1000),
    "a second server": (two_servers, 10),
    "clock set on or back": (clock_steps, 500),
    "suspended for a minute": (suspended, 3),
    "200 half-open streams": (half_open, 10),
    "50 slow clients": (slow_clients, 10),
}
"""Each with how often ``make torture`` does it."""
