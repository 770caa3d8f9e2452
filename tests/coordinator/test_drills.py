"""The fewest drills on the coordinator's page."""

from __future__ import annotations

import re

from tests.coordinator.ward import Ward, words_of


def test_the_page_seats_people_in_the_drills_that_would_bring_them_up_to_date(ward: Ward) -> None:
    ward.import_roster()
    answer = ward.coordinator.client.get("/cohort/drills")
    words = words_of(answer)
    assert "4 people need something" in words
    assert "6 open requirements" in words
    assert "Cot preparation" in words
    assert set(re.findall(r"/cohort/people/([\w-]+)\"", answer.text)) == {
        "N-104", "M-021", "D-009", "N-117",
    }  # fmt: skip
    assert "no outcome can be signed" not in words, "of what is alike what has a recorded standard"


def test_one_unit_alone_can_be_asked_for(ward: Ward) -> None:
    ward.import_roster()
    page = ward.coordinator.client.get("/cohort/drills?unit=birth+unit").text
    assert set(re.findall(r"/cohort/people/([\w-]+)\"", page)) == {"N-104", "M-021"}


def test_without_a_need_the_page_says_so(ward: Ward) -> None:
    words = words_of(ward.coordinator.client.get("/cohort/drills"))
    assert "Nobody here is due, overdue or new to a requirement." in words
