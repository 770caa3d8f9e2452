"""Results made for tests: sessions of invented people with what each test asks."""

from __future__ import annotations

import contextlib
import warnings
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from simengine.cohort.records import FaultResult, ItemResult, SessionResult

FIRST_DAY = date(2026, 1, 5)


def item(id_: str = "ventilate", credit: float | None = 1.0, **said: Any) -> ItemResult:
    """One item; missed where its credit is 0."""
    time_s = 30.0 if credit else None
    given: dict[str, Any] = {
        "id": id_,
        "title": id_.capitalize(),
        "kind": "expect",
        "importance": "important",
        "weight": 2.0,
        "applied": credit is not None,
        "credit": credit,
        "verdict": "not reached" if credit is None else "on time" if credit == 1.0 else "missed",
        "objective": "breathing",
        "phase": "breathing",
        "role": "airway",
        "person": None,
        "with_cue": False,
        "time_s": time_s,
        "watched_s": 300.0 if credit is not None else None,
        "limit_s": 60.0,
    }
    return ItemResult(**{**given, **said})


def fault(id_: str = "no_bag", **said: Any) -> FaultResult:
    """One planted fault, found after 60 s and put right after 90 s unless said otherwise."""
    given: dict[str, Any] = {
        "id": id_,
        "title": id_.replace("_", " "),
        "planted": True,
        "found_s": 60.0,
        "put_right_s": 90.0,
        "watched_s": 300.0,
    }
    return FaultResult(**{**given, **said})


def result(number: int = 0, *items: ItemResult, **said: Any) -> SessionResult:
    """Session ``number``, held ``number`` days after the first; summative and confirmed."""
    day = said.pop("day", FIRST_DAY + timedelta(days=number))
    applied = [item_result for item_result in items if item_result.credit is not None]
    weight = sum(item_result.weight for item_result in applied)
    total = (
        sum(item_result.weight * (item_result.credit or 0.0) for item_result in applied) / weight
        if weight
        else None
    )
    given: dict[str, Any] = {
        "session": f"session-{number:06d}",
        "day": day,
        "wall": f"{day.isoformat()}T09:00:00Z",
        "unit": "Birth unit",
        "scenario": "term",
        "scenario_title": "Term",
        "scenario_digest": "d" * 64,
        "protocol": "local",
        "protocol_digest": "p" * 64,
        "program": "0",
        "purpose": "summative",
        "confirmed": True,
        "closed": "finished",
        "duration_s": 300.0,
        "total": total,
        "interval": None,
        "outcome": None,
        "standard": 0.75,
        "team": {"airway": (f"person-{number}",)},
        "by": ("recorder",),
        "items": items,
        "objectives": {"breathing": "Ventilate the lungs"},
    }
    return SessionResult(**{**given, **said})


@contextlib.contextmanager
def a_reference() -> Iterator[None]:
    """Call a reference library: its own warnings (of its plots, of pandas) are not ours."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield
