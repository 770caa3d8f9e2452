"""Measure the first page after a start, beside a bare Starlette page that hashes the same files.

With the shipped scenarios alone and with 200, which are copies of the shipped ones under ids of
their own. A start with no index has every file checked by a process of its own: the page comes at
once, and the scenarios when they are checked. A start on an index that stands has all on its first
page. Each in turns with the bare page; from the start of the process, whose time of the processor
counts the checking too. Run as ``python -m benchmarks.bench_first_page``.
"""

from __future__ import annotations

import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from http.client import HTTPConnection
from pathlib import Path

from benchmarks.console import CONSOLE
from simengine.resources import scenarios_dir

MANY = 200
STARTS = 5
LOOK_AGAIN_S = 0.5
CHECKED_IN_S = 600.0


@dataclass(frozen=True, slots=True)
class Start:
    """Seconds from the start of a process: to its page, until all is on it, and of processor."""

    page: float
    whole: float
    processor: float


def copies(folder: Path, number: int) -> Path:
    """Fill a folder with so many scenarios, with those that are shipped."""
    shipped = sorted(scenarios_dir().glob("*.yaml"))
    for place in range(number - len(shipped)):
        file = shipped[place % len(shipped)]
        text = file.read_text(encoding="utf-8")
        copy, put = re.subn(rf"(?m)^id: {file.stem}$", f"id: {file.stem}-{place:03d}", text)
        assert put == 1, file
        (folder / f"{file.stem}-{place:03d}.yaml").write_text(copy, encoding="utf-8")
    return folder


def ended(process: subprocess.Popen[str]) -> float:
    """End a process; return the processor's time that it and those whom it started have taken."""
    process.terminate()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.stdout is not None
    process.stdout.close()
    return used.ru_utime + used.ru_stime


def started(command: Sequence[str], lines: int) -> tuple[subprocess.Popen[str], str]:
    """Start a process that prints so many lines once it listens; return the last one, too."""
    process = subprocess.Popen(
        [sys.executable, *command],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert process.stdout is not None
    *_, last = [process.stdout.readline().strip() for _ in range(lines)]
    return process, last


def of_the_bare_page(folder: Path) -> Start:
    """Start the bare page and look at it."""
    began = time.perf_counter()
    process, port = started(["-m", "benchmarks.bare_page", str(folder), str(scenarios_dir())], 1)
    client = HTTPConnection("127.0.0.1", int(port))
    client.request("GET", "/")
    assert client.getresponse().read().count(b"<li>") > len(list(folder.glob("*.yaml")))
    took = time.perf_counter() - began
    client.close()
    return Start(took, took, ended(process))


def of_the_console(data: Path, folder: Path, number: int) -> Start:
    """Start a console and look at its first page until every scenario is there to choose."""
    began = time.perf_counter()
    where = ["--data", str(data), "--scenarios", str(folder)]
    command = ["-c", CONSOLE, "console", "--port", "0", "--no-browser", *where]
    process, link = started(command, 2)
    port, _, path = link.removeprefix("http://127.0.0.1:").partition("/")
    client = HTTPConnection("127.0.0.1", int(port))
    client.request("GET", f"/{path}")
    answer = client.getresponse()
    answer.read()
    cookie = {"Cookie": (answer.getheader("set-cookie") or "").partition(";")[0]}
    page_s = None
    while True:
        client.request("GET", "/", headers=cookie)
        answer = client.getresponse()
        page = answer.read()
        assert answer.status == 200, page
        took = time.perf_counter() - began
        page_s = page_s if page_s is not None else took
        if b"data-waiting" not in page:
            break
        assert took < CHECKED_IN_S, "the files are still being checked"
        time.sleep(LOOK_AGAIN_S)
    assert len(set(re.findall(rb'data-scenario="([^"]+)"', page))) == number, number
    client.close()
    return Start(page_s, took, ended(process))


def told(name: str, starts: Sequence[Start]) -> Start:
    """Print a row: median times by the clock, and the least processor time."""
    row = Start(
        statistics.median(start.page for start in starts),
        statistics.median(start.whole for start in starts),
        min(start.processor for start in starts),
    )
    figures = "".join(f"{1000 * seconds:12.0f}" for seconds in (row.page, row.whole, row.processor))
    print(f"  {name:36}{figures}")
    return row


def in_turns(*measured: Callable[[], Start]) -> list[list[Start]]:
    """Measure each in turns, ``STARTS`` times."""
    rounds = [[measure() for measure in measured] for _ in range(STARTS)]
    return [list(column) for column in zip(*rounds, strict=True)]


def main() -> None:
    """Print everything."""
    shipped = len(list(scenarios_dir().glob("*.yaml")))
    print(f"{'ms from the start of the process':38}{'first page':>12}{'all on it':>12}{'CPU':>12}")
    for number in (shipped, MANY):
        with tempfile.TemporaryDirectory() as made:
            folder, data = Path(made) / "scenarios", Path(made) / "data"
            folder.mkdir()
            copies(folder, number)
            print(f"{number} scenarios")
            first = of_the_console(data, folder, number)
            bare, again = in_turns(
                partial(of_the_bare_page, folder), partial(of_the_console, data, folder, number)
            )
            plain = told("a bare page that hashes the files", bare)
            told("a first start, without an index", [first])
            own = told("a later start, on its index", again)
            print(
                f"  a later start: first page {own.page / plain.page:.1f} times, processor time "
                f"{own.processor / plain.processor:.1f} times the bare page"
            )


if __name__ == "__main__":
    main()
