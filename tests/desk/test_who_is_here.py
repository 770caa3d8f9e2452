"""Before a session: people picked by a touch, kept teams, and the log that holds codes alone."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest

from simengine.store.settings import NAMES_TO_EDUCATORS, set_setting
from simengine.store.teams import teams
from tests.console.consoles import Browser, Desk
from tests.coordinator.ward import TEAM, Ward


@pytest.fixture
def listed(ward: Ward) -> Ward:
    """A ward with its people on the roster."""
    ward.import_roster()
    return ward


def found(browser: Browser, **asked: str) -> list[tuple[str, str]]:
    """Code and name of those whom the page would show."""
    answer = browser.client.get("/people", params=asked)
    assert answer.status_code == 200
    return [(person["code"], person["name"]) for person in answer.json()["people"]]


def offered(page: str) -> set[str]:
    return set(re.findall(r'data-person="([^"]+)"', page))


def filled(page: str) -> dict[str, str]:
    """What stands in the fields of roles."""
    fields = re.findall(r'name="role\.(\w+)"[^>]*?value="([^"]*)"', unescape(page))
    return {role: value for role, value in fields if value}


def test_the_people_of_a_unit_who_work_there_today_are_offered(listed: Ward) -> None:
    # the console's clock stands in January 2027, a month after N-117 began on the neonatal unit
    assert [code for code, _ in found(listed, unit="birth unit")] == ["M-021", "N-104"]
    assert {code for code, _ in found(listed, unit="neonatal unit")} == {"D-009", "N-117"}
    assert found(listed, unit="no such unit") == []
    listed.later(days=-300)
    assert [code for code, _ in found(listed, unit="neonatal unit")] == ["D-009"]


def test_who_took_part_lately_is_offered_without_any_unit(listed: Ward) -> None:
    assert offered(listed.first_page()) == set()
    listed.start(**TEAM)
    assert offered(listed.first_page()) == {"N-104", "M-021", "D-009"}


def test_names_are_for_the_coordinator_and_for_educators_whom_the_coordinator_lets(
    listed: Ward,
) -> None:
    assert found(listed, unit="birth unit") == [("M-021", ""), ("N-104", "")]
    assert found(listed, part="ada") == []
    assert found(listed, part="n-1") == [("N-104", ""), ("N-117", "")]
    assert listed.coordinator.form("/cohort/settings", names_to_educators="yes").status_code == 303
    assert "checked" in listed.coordinator.client.get("/cohort/settings").text
    assert found(listed, unit="birth unit") == [("N-104", "Ada Example"), ("M-021", "Ben Example")]
    assert found(listed, part="ada") == [("N-104", "Ada Example")]
    assert found(listed, part="exam do") == [("N-117", "Dora Example")]
    listed.coordinator.form("/cohort/settings")
    assert found(listed, part="ada") == []


def test_signs_that_mean_anything_in_a_search_mean_themselves(listed: Ward) -> None:
    set_setting(listed.hub.store, NAMES_TO_EDUCATORS, True)
    for part in ("%", "_", "\\"):
        assert found(listed, part=part) == []


def test_the_log_keeps_codes_alone(listed: Ward) -> None:
    set_setting(listed.hub.store, NAMES_TO_EDUCATORS, True)
    session = listed.start(**TEAM)
    assert listed.log(session)[0]["data"]["team"]["airway"] == ["N-104"]
    assert "Example" not in json.dumps(listed.log(session))


def test_without_a_roster_codes_are_typed_as_ever(desk: Desk) -> None:
    page = desk.first_page()
    assert offered(page) == set()
    assert re.search(r'<details class="typed" open>', page)
    assert found(desk, part="ada") == []


def test_a_team_is_kept_under_a_name_and_taken_again_in_another_scenarios_roles(
    listed: Ward,
) -> None:
    listed.plan(**TEAM, keep_as="  Red   team ", unit="birth unit")
    (kept,) = teams(listed.hub.store, limit=9)
    assert (kept.name, kept.unit) == ("Red team", "birth unit")
    assert "/?team=Red+team" in listed.first_page()
    again = listed.client.get("/?team=Red+team&scenario=term-responds").text
    assert filled(again) == {"airway": "N-104", "circulation": "M-021", "leader": "D-009"}
    assert 'value="term-responds" checked' in again
    assert 'value="birth unit"' in again
    roles = load_roles(listed, "cot-term")
    cot = filled(listed.client.get("/?team=Red+team&scenario=cot-term").text)
    assert set(cot) <= set(roles)
    assert len(cot) == min(3, len(roles))
    assert filled(listed.client.get("/?team=no-such-team").text) == {}


def load_roles(ward: Ward, scenario: str) -> list[str]:
    return [
        role
        for chosen in ward.hub.shelf.look().scenarios
        if chosen.id == scenario
        for role in chosen.roles
    ]


def test_a_team_without_anybody_is_not_kept(ward: Ward) -> None:
    ward.plan(keep_as="Nobody")
    assert teams(ward.hub.store, limit=9) == ()


def test_a_unit_and_a_code_in_another_case_are_the_rosters(listed: Ward) -> None:
    session = listed.start(unit=" BIRTH  Unit", role__airway="n-104, N-104", role__leader="d-9")
    opened = listed.log(session)[0]
    assert opened["data"]["team"] == {"leader": ["d-9"], "airway": ["N-104"]}
    listed.later(minutes=1)
    listed.end(session)
    kept = listed.hub.store.result(session)
    assert kept is not None
    assert kept.unit == "birth unit"


def test_a_staff_number_in_place_of_a_code_begins_no_record(ward: Ward) -> None:
    ward.import_roster(
        "staff number,name,profession,unit,since\nX4711,Ada Example,nurse,birth unit,2024-03-01\n"
    )
    answer = ward.form(
        "/sessions", scenario="term-not-breathing", purpose="formative", role__airway="x4711"
    )
    assert answer.status_code == 422
    assert "x4711 is a staff number, which no record may hold: type the code." in answer.text
