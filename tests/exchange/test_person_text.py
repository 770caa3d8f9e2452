"""One person's data as text says what the JSON says."""

from __future__ import annotations

from simengine.exchange.person_text import person_as_text

TOLD = {
    "code": "k1ab",
    "person": {"name": "Anna Berg", "left": None, "postings": [{"unit": "north", "until": None}]},
    "leaves": [],
    "sessions": [{"session": "s1", "roles": ["leader", "airway"], "record confirmed": True}],
}


def test_everything_stands_in_lines_that_can_be_read() -> None:
    assert person_as_text(TOLD).splitlines() == [
        "code: k1ab",
        "",
        "person:",
        "  name: Anna Berg",
        "  left: not recorded",
        "  postings (1):",
        "    - unit: north",
        "      until: not recorded",
        "",
        "leaves: none",
        "",
        "sessions (1):",
        "  - session: s1",
        "    roles: leader, airway",
        "    record confirmed: yes",
        "",
    ]


def test_every_word_of_the_data_is_in_the_text() -> None:
    text = person_as_text(TOLD)
    for word in ("k1ab", "Anna Berg", "north", "s1", "leader", "airway"):
        assert word in text
