"""Whose work an action is: what a role is said to cover, its own name, and who stands in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simengine.scenario.model import Scenario
from simengine.scenario.whose import who_does, whose
from tests.shipped import SCENARIOS, scenario

DRUGS = ("umbilical_access", "intraosseous_access", "draw_up_adrenaline", "adrenaline", "volume")


def with_roles(*roles: str, **covers: tuple[str, ...]) -> Scenario:
    labels = {role: role.capitalize() for role in roles}
    return replace(scenario("term-not-breathing"), roles=labels, covers=covers)


@pytest.mark.parametrize("name", SCENARIOS)
def test_who_gives_drugs_has_access_adrenaline_and_volume_in_each_scenario(name: str) -> None:
    made = scenario(name)
    (role,) = {whose(made, made.vocabulary.actions[action]) for action in DRUGS}
    assert role in made.roles
    assert role not in ("leader", "parent", "airway")


def test_a_role_of_its_own_does_what_has_its_name() -> None:
    assert who_does(with_roles("circulation", "drugs"), "drugs") == "drugs"


def test_a_role_does_what_it_is_said_to_cover_and_no_more() -> None:
    made = with_roles("circulation", "drugs", circulation=("drugs",))
    assert who_does(made, "drugs") == "circulation"
    assert who_does(made, "circulation") is None


def test_a_role_with_another_name_may_cover_one_of_the_vocabulary() -> None:
    assert who_does(with_roles("fourth", fourth=("drugs",)), "drugs") == "fourth"


def test_who_stands_in_is_the_first_that_the_scenario_has() -> None:
    assert who_does(with_roles("leader", "airway"), "drugs") == "airway"
    assert who_does(with_roles("leader", "nurse", nurse=("circulation",)), "drugs") == "nurse"
    assert who_does(with_roles("parent"), "drugs") is None


def test_what_has_no_role_is_anybodys() -> None:
    made = with_roles("leader", "airway")
    assert whose(made, made.vocabulary.actions["repeat_back"]) is None
