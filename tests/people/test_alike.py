"""Names that are the same, and names that are nearly so."""

import random
from itertools import combinations

import pytest

from simengine.people.alike import Spellings, nearly_the_same, same_key


@pytest.mark.parametrize(
    ("one", "other"),
    [("Birth Centre", "birth  centre "), ("MIDWIFE", "midwife"), ("Straße", "STRASSE")],
)
def test_case_and_blanks_make_no_other_name(one: str, other: str) -> None:
    assert same_key(one) == same_key(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Birth centre", "Brith centre"),  # two letters changed about
        ("Neonatal unit", "Neonatal units"),  # one more
        ("Labour ward", "Labur ward"),  # one less
        ("Midwife", "Midwise"),  # another
        ("Birth-centre", "Birth centre"),
    ],
)
def test_near_twins_are_asked_about(one: str, other: str) -> None:
    assert [set(pair) for pair in nearly_the_same([one, other])] == [{one, other}]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ward 3", "Ward 4"),
        ("birth centre north", "birth centre south"),
        ("nurse", "nurse practitioner"),
        ("Unit A", "Unit B"),
        ("Birth centre", "birth centre"),  # the same, not nearly
        ("midwife", "nurse"),
    ],
)
def test_two_units_are_not_asked_about(one: str, other: str) -> None:
    assert nearly_the_same([one, other]) == []


def test_the_spelling_that_was_there_first_is_kept_and_the_others_are_told() -> None:
    spelt = Spellings(["Birth centre"])
    assert [spelt.of(text) for text in ("BIRTH CENTRE", "Ward 3", "ward  3")] == [
        "Birth centre", "Ward 3", "Ward 3",
    ]  # fmt: skip
    assert spelt.merged == {"BIRTH CENTRE": "Birth centre", "ward  3": "Ward 3"}
    assert "birth centre" in spelt
    assert "ward 4" not in spelt
    assert spelt.names() == ["Birth centre", "Ward 3"]


def test_many_names_have_the_near_twins_that_two_by_two_have() -> None:
    chosen = random.Random(11)
    words = ["birth", "brith", "bird", "birthe", "centre", "center", "north", "nort", "a-b", "ab"]
    names = [" ".join(chosen.choices(words, k=chosen.randint(1, 3))) for _ in range(120)]
    two_by_two = {
        frozenset(pair)
        for name, other in combinations(sorted(set(names)), 2)
        for pair in nearly_the_same([name, other])
    }
    assert len(two_by_two) > 20
    assert {frozenset(pair) for pair in nearly_the_same(names)} == two_by_two
