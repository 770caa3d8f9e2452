"""The shipped sessions' results, made once for all tests of this folder."""

from __future__ import annotations

from functools import cache

from simengine.cohort.from_card import result_of
from simengine.cohort.records import SessionResult
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session.from_file import open_session

NAMES = tuple(
    sorted(path.name.split(".")[0] for path in (scenarios_dir() / "sessions").glob("*.jsonl"))
)
FEW = ("cot-term-first-try", "term-not-breathing-first-try", "preterm-30-weeks-steady")


@cache
def result(name: str) -> SessionResult:
    log = scenarios_dir() / "sessions" / f"{name}.session.jsonl"
    session = open_session(log, any_version=True).session
    return result_of(session, score(session, redraws=20), unit="North")


def results() -> list[SessionResult]:
    return [result(name) for name in NAMES]
