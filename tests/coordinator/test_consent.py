"""A person agrees, narrows and takes back on their own pages, and what they said is heeded."""

from __future__ import annotations

from datetime import date

from simengine.exchange.person import person_as_json
from simengine.exchange.xapi import statements
from simengine.store.consents import counts, of_person
from simengine.store.erase import erase
from simengine.store.report_material import material_of
from tests.coordinator.ward import TEAM, Ward, words_of
from tests.store.logs import WALL

ADDRESS = "/cohort/people/N-104/consent"


def test_somebody_gives_narrows_and_takes_back_and_sees_when(ward: Ward) -> None:
    ward.import_roster()
    own = ward.trainee("N-104")
    assert ADDRESS in own.client.get("/cohort/people/N-104").text
    before = words_of(own.client.get(ADDRESS))
    assert "Not answered: you are asked aloud before each session." in before
    assert "Not answered: nothing of yours is used." in before
    assert "Nothing yet." in before
    everything = {"taking_part": "yes", "figures": "yes", "research": "yes"}
    assert own.form(ADDRESS, **everything).status_code == 303
    assert own.form(ADDRESS, **{**everything, "research": "no"}).status_code == 303
    assert own.form(ADDRESS, taking_part="no", figures="perhaps").status_code == 303
    answers = [(consent.use, consent.given) for consent in of_person(ward.hub.store, "N-104")]
    assert answers == [
        ("taking part", True),
        ("figures", True),
        ("research", True),
        ("research", False),
        ("taking part", False),
    ]
    words = words_of(own.client.get(ADDRESS))
    assert words.count("yes, since") == 1
    assert words.count("no, since") == 2
    assert "What I said, and when" in words
    for browser in (ward, ward.coordinator, ward.trainee("M-021")):
        assert browser.client.get(ADDRESS).status_code == 403, "only the person says it"
        assert browser.form(ADDRESS, research="yes").status_code == 403
    assert "no, since" in words_of(ward.coordinator.client.get("/cohort/people/N-104"))


def test_the_facilitator_is_told_before_the_start_and_whoever_refused_is_not_recorded(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.plan(**TEAM)
    words = words_of(ward.client.get(f"/s/{session}/prebrief"))
    assert words.count("has not said anything on their own page: ask aloud") == 3
    ward.trainee("M-021").form(ADDRESS.replace("N-104", "M-021"), taking_part="yes", research="yes")
    own = ward.trainee("N-104")
    own.form(ADDRESS, taking_part="no")
    words = words_of(ward.client.get(f"/s/{session}/prebrief"))
    assert "N-104 said on" in words
    assert "to take part in recorded sessions; agrees to research and teaching" in words
    refused = ward.form(f"/s/{session}/start", acknowledged="yes")
    assert refused.status_code == 422
    assert "Take them out of the team" in words_of(refused)
    assert ward.hub.store.events(session) == ()
    own.form(ADDRESS, taking_part="yes")
    assert ward.form(f"/s/{session}/start", acknowledged="yes").status_code == 303
    assert ward.hub.store.events(session)


def test_whoever_refused_the_figures_is_told_apart_in_no_report_and_no_statement(
    ward: Ward,
) -> None:
    ward.import_roster()
    session = ward.held()
    store = ward.hub.store

    def counted() -> tuple[set[str], float | None]:
        material = material_of(
            store,
            title="All",
            unit=None,
            since=date(2000, 1, 1),
            until=date(2100, 1, 1),
            today=date(2026, 12, 1),
        )
        (result,) = material.results
        people = {code for held in result.team.values() for code in held}
        assert {item.person for item in result.items} - {None} <= people
        (of_team, *persons) = statements(result, "https://training.hospital.example")
        names = [statement["actor"]["account"]["name"] for statement in persons]
        assert names == [member["account"]["name"] for member in of_team["actor"]["member"]]
        assert set(names) == people
        return people, result.total

    everybody, total = counted()
    assert everybody == {"N-104", "M-021", "D-009"}
    ward.trainee("N-104").form(ADDRESS, figures="no")
    assert counted() == ({"M-021", "D-009"}, total)
    kept = store.result(session)
    assert kept is not None
    assert "N-104" in kept.team["airway"], "the record itself is as it was"


def test_what_was_agreed_to_is_in_the_file_of_a_persons_data_and_goes_with_them(
    ward: Ward,
) -> None:
    ward.import_roster()
    ward.trainee("N-104").form(ADDRESS, research="yes")
    ward.trainee("M-021").form(ADDRESS.replace("N-104", "M-021"), research="yes")
    store = ward.hub.store
    (consent,) = person_as_json(store, "N-104")["agreed to"]
    assert (consent["use"], consent["given"]) == ("research", True)
    officer = words_of(ward.coordinator.client.get("/cohort/privacy"))
    assert "Research and teaching yes: 2; no: 0" in officer
    done = erase(store, "N-104", wall=WALL)
    assert done.removed["consents"] == 1
    assert of_person(store, "N-104") == ()
    assert of_person(store, "M-021") != ()
    assert not counts(store, research=True)("N-104")
