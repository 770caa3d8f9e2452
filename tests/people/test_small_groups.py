"""No figure that is published tells of fewer than five people."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from simengine.people.codes import erased_code
from simengine.people.small_groups import LEAST_PEOPLE, hidden, how_many


def people(**sizes: int) -> dict[str, list[str]]:
    return {group: [f"{group}{n}" for n in range(size)] for group, size in sizes.items()}


def test_groups_of_five_are_shown_and_a_person_counts_once() -> None:
    assert hidden(people(north=5, south=9)) == frozenset()
    assert hidden({"north": ["a", "a", "b", "b", "c"], "south": list("defgh")}) == {
        "north",
        "south",
    }


def test_erased_people_count_as_one_however_many_codes_they_left() -> None:
    codes = ["k1ab", "k2cd", *(erased_code(()) for _ in range(9))]
    assert how_many(codes) == 3
    assert hidden({"north": codes}, total_shown=False) == {"north"}


def test_a_single_small_group_takes_the_next_smallest_with_it() -> None:
    # 30 in all less 12 less 15 would tell the 3
    assert hidden(people(a=3, b=12, c=15)) == {"a", "b"}
    assert hidden(people(a=3, b=12, c=15), total_shown=False) == {"a"}
    assert hidden(people(a=3, b=4, c=15)) == {"a", "b"}
    assert hidden(people(a=1, b=2, c=15, d=16)) == {"a", "b", "c"}
    assert hidden(people(a=0, b=12)) == frozenset()


@given(st.dictionaries(st.text(max_size=3), st.integers(0, 12), max_size=8))
def test_what_is_left_of_the_total_is_never_few_people(sizes: dict[str, int]) -> None:
    out = hidden({group: [str(n) for n in range(size)] for group, size in sizes.items()})
    left = sum(sizes[group] for group in out)
    assert all(size >= LEAST_PEOPLE or size == 0 for g, size in sizes.items() if g not in out)
    assert left == 0 or left >= LEAST_PEOPLE or out >= {g for g, size in sizes.items() if size}
    assert len([g for g in out if sizes[g]]) != 1 or sum(size > 0 for size in sizes.values()) == 1
