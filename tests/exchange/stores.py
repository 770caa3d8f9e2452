"""Stores with a few shipped sessions in them."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from simengine.resources import scenarios_dir
from simengine.session import read_log
from simengine.session.chain import chained, linked
from simengine.session.events import Event, Kind
from simengine.store import Store
from tests.exchange.shipped_results import FEW, result

ASSESSED = FEW[1]


def with_sessions(
    where: Path | str, names: Sequence[str] = FEW, unit: str | None = "North"
) -> Store:
    store = Store.open(where)
    for name in names:
        store.add_log(log_of(name), unit=unit)
    return store


def log_of(name: str) -> tuple[Event, ...]:
    """Return a shipped log; that of ``ASSESSED`` as if it had been an assessment."""
    events = read_log(scenarios_dir() / "sessions" / f"{name}.session.jsonl")
    if name != ASSESSED:
        return events
    opened = replace(events[0], data={**events[0].data, "purpose": "summative"})
    return chained((opened, *events[1:]))


def id_of(name: str) -> str:
    return str(log_of(name)[0].data["session"])


def said(log: Sequence[Event], kind: Kind, **data: object) -> Event:
    """Return one more event of a log."""
    last = log[-1]
    event = Event(
        last.seq + 1,
        f"00000000-0000-4000-8000-{last.seq:012d}",
        last.noted_ms,
        last.noted_ms,
        last.wall,
        kind,
        "office",
        data,
    )
    return linked(event, last.hash)


def as_if_a_panel_had_set_it(store: Store, name: str) -> None:
    """Keep a session's result as one under a recorded standard, which shipped scenarios lack."""
    scored = store.result(id_of(name)) or result(name)
    store.put_result(replace(scored, standard=0.5), store.card(id_of(name)) or {})


def scenarios_of_ones_own(folder: Path) -> Path:
    """Return a copy of the shipped scenarios with their vocabulary and protocols."""
    shutil.copytree(
        scenarios_dir(), folder, ignore=shutil.ignore_patterns("sessions", "pilot", "new")
    )
    return folder
