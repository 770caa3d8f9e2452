"""A planted fault is found by looking and touching: nothing else on the page tells of it."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest

from simengine.rehearsal.calls import calls_answered
from simengine.rehearsal.touches import NotDoneError
from simengine.scenario.model import Scenario
from tests import shipped
from tests.rehearsal.by_oneself import ByOneself
from tests.rehearsal.planted import planted, rows

COT = "cot-preterm"
HEARD = {"suction_left_on": ["Something hisses at the cot."]}
"""What anybody hears without a look."""


@cache
def sound() -> Scenario:
    return planted((), shipped.scenario(COT))


@cache
def faulty(fault: str) -> Scenario:
    return planted((fault,), shipped.scenario(COT))


def begun(scenario: Scenario) -> ByOneself:
    player = ByOneself(scenario)
    player.wait(5)
    player.touch("begin")
    player.wait(20)
    player.touch("action", "hand_hygiene")
    return player


def page_and_heard(player: ByOneself) -> tuple[str, list[str]]:
    page = json.loads(player.page)
    heard = page[0]["cot"].pop("heard")
    return json.dumps(page), heard


def refusal(player: ByOneself, row: str, control: str) -> str:
    with pytest.raises(NotDoneError) as refused:
        player.works(row, control)
    return str(refused.value)


def puts_right(player: ByOneself, row: str) -> list[str]:
    player.works(row, "look")
    shown = player.cot.show(player.scene)
    return [handle.name for handle in shown.handles if handle.name.startswith("put_right")]


def test_there_are_faults_to_be_found() -> None:
    assert len(rows()) == 63


def test_before_a_look_the_page_is_the_same_to_the_byte_with_a_fault_and_without() -> None:
    same, nothing = page_and_heard(begun(sound()))
    assert nothing == []
    for fault in rows():
        page, heard = page_and_heard(begun(faulty(fault)))
        assert page == same, fault
        assert heard == HEARD.get(fault, []), fault


def test_before_a_look_a_part_can_be_neither_called_wrong_nor_put_right() -> None:
    well = begun(sound())
    for fault, row in rows().items():
        ill = begun(faulty(fault))
        # What puts it right is known from another try.
        for control in ("not_right", *puts_right(begun(sound()), row)):
            assert refusal(ill, row, control) == refusal(well, row, control)
            assert "look at it first" in refusal(ill, row, control)
        assert page_and_heard(ill)[0] == page_and_heard(well)[0], fault
        assert ill.live.fold.account.fault_steps[fault][-1][1] == "planted", fault


def test_a_call_and_what_is_done_about_it_read_alike_with_a_fault_and_without() -> None:
    for fault, row in rows().items():
        well, ill = (worked_on(begun(scenario), row) for scenario in (sound(), faulty(fault)))
        assert ill == well, fault
        called = [line["words"] for line in well[0][2]]
        assert called == [f"{label_of(row)}: called not as it should be"]
        assert [came[3] for came in well] == list(range(well[0][3], well[0][3] + len(well)))


def worked_on(player: ByOneself, row: str) -> list[tuple[str, str, list[dict[str, Any]], int, int]]:
    """What comes of calling a part wrong and of all that may put it right, as the page has it."""
    came = []
    for control in ("not_right", *puts_right(player, row)):
        before = len(player.happened)
        answer = player.works(row, control)
        view = json.loads(player.page)[0]
        happened = view["happened"][before:]
        came.append((control, answer, happened, view["version"], player.scene.now))
    return came


def label_of(row: str) -> str:
    equipment = shipped.scenario(COT).vocabulary.equipment
    assert equipment is not None
    return equipment.rows[row].label


def test_putting_a_sound_part_right_takes_its_time_and_changes_nothing_of_it() -> None:
    player = begun(sound())
    player.works("clock", "look")
    seen, now = player.cot.show(player.scene), player.scene.now
    player.works("clock", "put_right_1")
    assert player.scene.now - now == player.rules.put_right_ms
    assert player.cot.show(player.scene) == seen


def test_what_was_found_is_not_named_on_the_page_beyond_what_was_seen() -> None:
    player = begun(faulty("t_piece_leaks"))
    player.works("t_piece", "look")
    player.works("t_piece", "not_right")
    player.works("t_piece", "put_right_1")
    assert "leak" not in player.page.lower()
    assert player.live.fold.account.fault_steps["t_piece_leaks"][-1][1] == "mended"


def test_afterwards_each_call_has_its_answer() -> None:
    player = begun(faulty("t_piece_leaks"))
    for row in ("t_piece", "masks"):
        player.works(row, "look")
        player.works(row, "not_right")
    player.works("t_piece", "put_right_1")
    player.wait(1)
    player.works("t_piece", "not_right")
    bench = player.cot.bench
    leaks = "T-piece leaking, pressure does not hold with the outlet occluded."
    assert calls_answered(player.live.fold, bench) == (
        f"T-piece: you were right. {leaks}",
        "Masks: it was as it should be.",
        "T-piece: it was as it should be.",
    )
