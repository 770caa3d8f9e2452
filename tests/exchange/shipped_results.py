"""The shipped sessions' results, made once for all tests of this folder."""

from __future__ import annotations

from functools import cache

from simengine.cohort.from_card import result_of
from simengine.cohort.records import SessionResult
from tests import shipped

NAMES = shipped.SESSIONS
FEW = ("cot-term-first-try", "term-not-breathing-first-try", "preterm-30-weeks-steady")


@cache
def result(name: str) -> SessionResult:
    return result_of(shipped.session(name), shipped.card(name, redraws=20), unit="North")


def results() -> list[SessionResult]:
    return [result(name) for name in NAMES]
