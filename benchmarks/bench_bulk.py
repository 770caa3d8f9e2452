"""Rescoring and import in bulk: beside one process, and beside bare INSERTs of the same rows.

Asked: 10,000 sessions scored anew in 10 min by two processes, at least 1.8 times as fast as by one;
a log imported with its results in 0.15 s of processor time. Measured with fewer sessions (the
argument; the figure for 10,000 is that many times as long, and told as such), copies of the shipped
ones under ids of their own. Both ways of rescoring are told by processor time, since the wall clock
of a busy machine says how busy it is: with workers the command and two workers share two cores, so
the time is half of what all three spend, or what the command alone does if that is more. The start
of the workers is in it.
"""

from __future__ import annotations

import os
import resource
import sqlite3
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from uuid import NAMESPACE_OID, uuid5

from sqlalchemy import delete

from simengine.cli.workers import processes
from simengine.exchange.incoming import Intake
from simengine.exchange.rescore import rescore
from simengine.exchange.scored import score_sessions
from simengine.resources import scenarios_dir
from simengine.session.chain import as_json, chained
from simengine.session.events import Event
from simengine.session.log_file import read_log, write_log
from simengine.store import Store, tables

_NOW = "2026-03-01T12:00:00.000Z"


def copies(number: int, folder: Path) -> list[Path]:
    """Write so many logs, the shipped ones in turn."""
    logs = sorted((scenarios_dir() / "sessions").glob("*.session.jsonl"))
    shipped = [read_log(log) for log in logs]
    out = []
    for copy in range(number):
        events = shipped[copy % len(shipped)]
        session = str(uuid5(NAMESPACE_OID, f"copy {copy}"))
        first = replace(events[0], data={**events[0].data, "session": session})
        out.append(folder / f"{copy:05d}.session.jsonl")
        write_log(out[-1], chained([first, *events[1:]]))
    return out


def bare(files: list[Path]) -> float:
    """Insert the same events into a bare table, a log a transaction; return processor seconds."""
    read: list[tuple[Event, ...]] = [read_log(file) for file in files]
    rows = [[tuple(map(str, as_json(event).values())) for event in log] for log in read]
    with tempfile.TemporaryDirectory() as folder:
        connection = sqlite3.connect(Path(folder) / "bare.sqlite3", isolation_level=None)
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("CREATE TABLE events (a, b, c, d, e, f, g, h, i, j)")
        began = time.process_time()
        for log in rows:
            connection.execute("BEGIN IMMEDIATE")
            connection.executemany("INSERT INTO events VALUES (?,?,?,?,?,?,?,?,?,?)", log)
            connection.execute("COMMIT")
        spent = time.process_time() - began
        connection.close()
    return spent


def forget(store: Store) -> None:
    """Take all results away, so that all is scored anew."""
    with store.begin() as connection:
        connection.execute(delete(tables.results))


def rescored(store: Store, workers: int) -> tuple[float, float]:
    """Score all anew; return processor seconds of the command and of its workers, as they work."""
    forget(store)
    began = time.process_time()
    if workers == 1:
        rescore(store, (), None, now=_NOW)
        return time.process_time() - began, 0.0
    with processes(workers) as executor:
        rescore(store, (), executor, now=_NOW)
        here = time.process_time() - began
        futures = [executor.submit(_spent) for _ in range(16 * workers)]
        spent = dict(future.result() for future in futures)
    return here, sum(spent.values())


def _spent() -> tuple[int, float]:
    """Return which process this is, and what it has spent since its start."""
    time.sleep(0.02)
    return os.getpid(), time.process_time()


def main() -> None:
    """Measure and print."""
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 112
    with tempfile.TemporaryDirectory() as made:
        files = copies(number, Path(made))
        reference = bare(files) / number
        with Store.open(Path(made) / "data") as store:
            began = time.process_time()
            intake = Intake(store, ())
            for file in files:
                intake.take(file, bundle=False)
            intake.finish()
            read = (time.process_time() - began) / number
            began = time.process_time()
            score_sessions(store, intake.incoming.unscored)
            scored = (time.process_time() - began) / number
            print(f"import of {number} logs, processor time each")
            print(f"  read, checked, kept   {read * 1000:7.1f} ms")
            print(f"  scored, results kept  {scored * 1000:7.1f} ms")
            print(f"  together              {(read + scored) * 1000:7.1f} ms   asked: 150 ms")
            print(f"  bare INSERTs          {reference * 1000:7.1f} ms")
            alone = min(rescored(store, 1)[0] for _ in range(2))
            here, there = min(rescored(store, 2) for _ in range(2))
            beside = max(here, (here + there) / 2)
            print(f"rescore of {number} sessions, processor time")
            print(f"  one process    {alone:6.1f} s")
            print(f"  two processes  {here:6.1f} s in the command, {there:.1f} s in both workers")
            print(f"  on two cores   {beside:6.1f} s   ratio {alone / beside:.2f}, asked: 1.8")
            print(f"  10,000 would take {beside * 10_000 / number / 60:.1f} min   asked: 10 min")
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(f"  memory of the command {peak:.0f} MiB")


if __name__ == "__main__":
    main()
