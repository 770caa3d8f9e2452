"""Before a record is confirmed: what the guide needs and nobody wrote down is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from simengine.resources import scenarios_dir
from tests.console.consoles import Desk, SetClock, entry

AS_FOUND = "settings: {oxygen: 30 %, gas_flow: 0 L/min, peak_pressure: 30 cmH2O,"


def where_no_pressure_is_known(folder: Path) -> Path:
    """A folder with a shipped scenario whose cot shows no peak pressure until somebody reads it."""
    text = (scenarios_dir() / "term-not-breathing.yaml").read_text(encoding="utf-8")
    assert AS_FOUND in text
    text = text.replace(AS_FOUND, "settings: {oxygen: 30 %, gas_flow: 0 L/min,", 1)
    folder.mkdir(parents=True)
    text = text.replace("id: term-not-breathing", "id: pressure-not-known", 1)
    (folder / "pressure-not-known.yaml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def ended(tmp_path: Path) -> Iterator[tuple[Desk, str, str]]:
    """A session that has ended, in which nobody wrote down with what pressure was ventilated."""
    desk = Desk(tmp_path / "data", (where_no_pressure_is_known(tmp_path / "own"),))
    with desk.client:
        session = desk.sign_in().start("pressure-not-known")
        clock = desk.clock
        assert isinstance(clock, SetClock)
        desk.send(session, entry("event", 0, {"name": "birth"}))
        clock.at_ms += 40_000
        breaths = entry("action", 40_000, {"action": "mask_ventilation", "phase": "start"})
        desk.send(session, breaths)
        clock.at_ms += 60_000
        desk.send(session, entry("closed", 100_000, {"why": "stopped early"}))
        yield desk, session, breaths["id"]


def needed(desk: Desk, session: str) -> list[dict[str, Any]]:
    questions: list[dict[str, Any]] = desk.client.get(f"/s/{session}/review.json").json()["needed"]
    return [question for question in questions if question["blocks"]]


def test_a_record_with_something_essential_not_written_down_cannot_be_confirmed(
    ended: tuple[Desk, str, str],
) -> None:
    desk, session, breaths = ended
    (question,) = needed(desk, session)
    assert (question["what"], question["name"]) == ("setting", "peak_pressure")
    assert question["entry"] == breaths
    answer = desk.send(session, entry("confirmed", 0, {}))
    assert answer["taken"] == []
    assert "was not recorded" in answer["refused"][0]["words"]
    assert "nobody saw it" in answer["refused"][0]["words"]


def test_once_it_is_filled_in_the_record_can_be_confirmed(ended: tuple[Desk, str, str]) -> None:
    desk, session, breaths = ended
    read = {"settings": {"peak_pressure": {"value": 30, "unit": "cmH2O"}}}
    assert desk.send(session, entry("amend", 0, {"id": breaths, "fields": read}))["refused"] == []
    assert needed(desk, session) == []
    assert desk.send(session, entry("confirmed", 0, {}))["refused"] == []


def test_once_nobody_saw_it_the_record_can_be_confirmed(ended: tuple[Desk, str, str]) -> None:
    desk, session, _ = ended
    (question,) = needed(desk, session)
    desk.send(session, entry("unobserved", 0, {"item": question["item"]}))
    assert needed(desk, session) == []
    assert desk.send(session, entry("confirmed", 0, {}))["refused"] == []
