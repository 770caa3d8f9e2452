"""A person is taken out of a record, and nothing else is."""

from __future__ import annotations

import json

import pytest

from simengine.people.erasing import NOBODY, Erasing, Person, parts_left, resealed
from simengine.session.chain import chained
from simengine.session.log_file import chain_problems
from tests.people.life import Log

ANNA = Person("k1ab", "Anna Zoë Berg")
INSTEAD = "erased-22222222"
ERASING = Erasing(ANNA, INSTEAD)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("k1ab called for help", f"{INSTEAD} called for help"),
        ("(k1ab)", f"({INSTEAD})"),
        ("k1abc, xk1ab, k1ab-2", "k1abc, xk1ab, k1ab-2"),
        ("Anna Zoë Berg was late", f"{NOBODY} was late"),
        ("ANNA  ZOË\nBERG's", f"{NOBODY}'s"),
        ("Berg, Anna Zoë", NOBODY),
        ("Anna Zoe\u0308 Berg", NOBODY),  # the same letters, decomposed
        ("Anna Zoë Bergmann; Johanna Zoë Berg; Anna Zoë Berg-Olsen", None),
        ("Anna helped", None),
    ],
)
def test_code_and_name_go_wherever_they_stand_as_words(before: str, after: str | None) -> None:
    assert ERASING.text(before) == (before if after is None else after)


def test_json_keeps_its_form_and_everything_else() -> None:
    before = {
        "team": {"leader": ["k1ab", "k2cd"]},
        "items": [{"person": "k1ab", "credit": 0.5, "title": "Dry"}],
        "k1ab": 3,
    }
    after = ERASING.json(before)
    assert after == json.loads(json.dumps(before).replace("k1ab", INSTEAD))


def test_a_short_code_is_looked_for_only_where_people_are_named() -> None:
    short = Erasing(Person("7"), INSTEAD)
    assert short.json({"team": {"leader": ["7"]}, "value": "7", "text": "7 times"}) == {
        "team": {"leader": [INSTEAD]},
        "value": "7",
        "text": "7 times",
    }


def test_a_name_of_one_word_goes_only_where_the_person_took_part() -> None:
    anna = Person("k1ab", "Anna")
    assert Erasing(anna, INSTEAD).text("Anna was late") == f"{NOBODY} was late"
    assert Erasing(anna, INSTEAD, took_part=False).text("Anna was late") == "Anna was late"


def test_other_names_of_the_person_go_too() -> None:
    anna = Person("k1ab", "Anna Zoë Berg", ("Nan", "Anna Holm"))
    assert Erasing(anna, INSTEAD).text("Nan (Anna Holm)") == f"{NOBODY} ({NOBODY})"
    assert Erasing(anna, INSTEAD, took_part=False).text("Nan (Anna Holm)") == f"Nan ({NOBODY})"


def test_a_log_is_whole_again_and_differs_only_in_who() -> None:
    log = Log(team={"leader": ["k1ab"], "airway": ["k2cd"]})
    log.add("note", text="Anna Zoë Berg spoke to the parents.")
    log.add("note", text="Anna brought towels.")
    log.signed()
    before = chained(log.events)
    after, changed = resealed(before, ERASING)
    assert changed == 2
    assert list(chain_problems(after, file="s1")) == []
    assert after[0].data["team"] == {"leader": [INSTEAD], "airway": ["k2cd"]}
    assert after[3].data["text"] == f"{NOBODY} spoke to the parents."
    for event, other in zip(before, after, strict=True):
        assert (event.seq, event.id, event.at_ms, event.kind) == (
            other.seq,
            other.id,
            other.at_ms,
            other.kind,
        )
    assert parts_left(after, ANNA) == ((4, "Anna brought towels."),)


def test_a_log_that_does_not_name_the_person_keeps_its_hashes() -> None:
    before = chained(Log(team={"leader": ["k2cd"]}).events)
    assert resealed(before, ERASING) == (before, 0)
    later = Log(team={"leader": ["k2cd"]})
    later.add("joined", person="k1ab", role="airway")
    before = chained(later.events)
    after, changed = resealed(before, ERASING)
    assert changed == 1
    assert after[:3] == before[:3]
    assert after[3].hash != before[3].hash
