"""What is signed or put away: refused when it makes no sense, without effect when it is read."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from simengine.scenario import find_scenario, load_scenario
from simengine.scenario.model import Scenario
from simengine.session import LiveSession, RefusedError
from simengine.session.chain import chained
from simengine.session.events import Event
from simengine.session.fold import fold
from simengine.session.put_away import standing
from tests.session.small import WALL, opened

SIGNATURE = {"name": "R. Holm", "credentials": "consultant", "outcome": "achieved"}


def scenario(*, standard: bool) -> Scenario:
    file = find_scenario("term-vigorous", [])
    assert file is not None
    scenario_read = load_scenario(file)
    scoring = scenario_read.scoring
    assert scoring.standard is not None
    panel = replace(scoring.standard, demonstration=not standard)
    return replace(scenario_read, scoring=replace(scoring, standard=panel))


def ended(purpose: str, why: str, *, standard: bool, confirmed: bool = True) -> LiveSession:
    live = LiveSession(scenario(standard=standard))
    live.record("opened", {**opened(), "purpose": purpose}, noted_ms=0, by="p", wall=WALL)
    live.record("closed", {"why": why}, noted_ms=1_000, by="p")
    if confirmed:
        live.record("confirmed", {}, noted_ms=2_000, by="p")
    return live


IN_VAIN: list[tuple[str, str, bool]] = [
    ("formative", "finished", True),
    ("rehearsal", "finished", True),
    ("summative", "stopped early", True),
    ("summative", "safety stop", True),
    ("summative", "finished", False),
]


def test_an_outcome_is_signed_where_there_is_one() -> None:
    live = ended("summative", "finished", standard=True)
    live.record("signed", SIGNATURE, noted_ms=3_000, by="p")
    assert [finding.code for finding in live.session().findings] == []


@pytest.mark.parametrize(("purpose", "why", "standard"), IN_VAIN)
def test_a_signature_that_makes_no_sense_is_refused(purpose: str, why: str, standard: bool) -> None:
    live = ended(purpose, why, standard=standard)
    with pytest.raises(RefusedError) as refusal:
        live.record("signed", SIGNATURE, noted_ms=3_000, by="p")
    assert refusal.value.code == "no-outcome"


def test_nothing_is_signed_before_the_record_is_confirmed_nor_said_of_an_outcome_unsigned() -> None:
    live = ended("summative", "finished", standard=True, confirmed=False)
    with pytest.raises(RefusedError, match="not been confirmed"):
        live.record("signed", SIGNATURE, noted_ms=3_000, by="p")
    for kind, data in (("appealed", {"text": "x"}), ("superseded", {"by": "s2"})):
        with pytest.raises(RefusedError, match="No outcome has been signed"):
            live.record(kind, data, noted_ms=3_000, by="p")  # type: ignore[arg-type]


def test_a_session_is_put_away_after_its_end_with_a_reason_and_brought_back() -> None:
    live = ended("formative", "stopped early", standard=False)
    live.record("put_away", {"reason": "The wrong scenario."}, noted_ms=3_000, by="p")
    entry = live.events[-1]
    assert standing(live.events) == entry
    live.record("amend", {"id": entry.id, "withdrawn": True}, noted_ms=4_000, by="p")
    assert standing(live.events) is None
    assert live.session().findings == ()


def test_nothing_is_put_away_before_its_end_nor_once_an_outcome_of_it_was_signed() -> None:
    running = LiveSession(ended("formative", "finished", standard=False).scenario)
    running.record("opened", opened(), noted_ms=0, by="p", wall=WALL)
    with pytest.raises(RefusedError, match="has not ended yet"):
        running.record("put_away", {"reason": "x"}, noted_ms=3_000, by="p")
    live = ended("summative", "finished", standard=True)
    live.record("signed", SIGNATURE, noted_ms=3_000, by="p")
    with pytest.raises(RefusedError, match="is signed and may be relied on"):
        live.record("put_away", {"reason": "x"}, noted_ms=3_000, by="p")


@pytest.mark.parametrize(("purpose", "why", "standard"), IN_VAIN)
def test_one_in_a_log_from_elsewhere_is_kept_and_is_a_finding(
    purpose: str, why: str, standard: bool
) -> None:
    live = ended(purpose, why, standard=standard)
    data: dict[str, Any] = dict(SIGNATURE)
    last = live.events[-1]
    forged = Event(last.seq + 1, f"{last.id[:-1]}f", 3_000, 3_000, WALL, "signed", "p", data)
    events = chained([*live.events, forged])
    session = fold(live.scenario, events)
    assert session.events == events
    (finding,) = [remark for remark in session.findings if remark.code == "signed-in-vain"]
    assert finding.event_ids == (forged.id,)
    assert "counts for nothing" in finding.words
