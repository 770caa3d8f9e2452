"""Copies of a scenario that share a title are told apart, and nothing else is renamed."""

from __future__ import annotations

from simengine.cohort.titles import told_apart
from simengine.scenario.titles import titles_apart
from tests.cohort.made import result


def test_only_a_title_that_two_ids_share_is_told_with_its_id() -> None:
    assert titles_apart([("one", "Term"), ("two", " term"), ("three", "Preterm")]) == {
        ("one", "Term"): "Term (one)",
        ("two", " term"): " term (two)",
        ("three", "Preterm"): "Preterm",
    }


def test_a_scenario_that_was_renamed_is_still_one() -> None:
    assert titles_apart([("one", "Term"), ("one", "Term birth")]) == {
        ("one", "Term"): "Term",
        ("one", "Term birth"): "Term birth",
    }


def test_sessions_of_copies_say_which_copy() -> None:
    some = [
        result(0, scenario="term", scenario_title="Term"),
        result(1, scenario="term-night", scenario_title="Term"),
        result(2, scenario="cot", scenario_title="Cot"),
    ]
    sessions = told_apart(some)
    assert [session.scenario_title for session in sessions] == [
        "Term (term)",
        "Term (term-night)",
        "Cot",
    ]
    assert sessions[2] is some[2]
