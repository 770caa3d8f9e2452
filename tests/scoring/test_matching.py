"""Which performance serves which occasion: by hand, and against a general-purpose solver."""

from __future__ import annotations

import random
from itertools import permutations

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from simengine.scoring import matching
from simengine.scoring.matching import Gains, best_matching, best_sum
from tests.scoring.case import card


def test_the_earliest_is_taken_among_equals() -> None:
    assert best_matching([{0: 1.0, 1: 1.0}]) == [0]
    assert best_matching([{0: 1.0 - 5e-10, 1: 1.0}]) == [0]
    assert best_matching([{0: 0.9, 1: 1.0}]) == [1]


def test_the_greatest_sum_comes_before_the_earliest() -> None:
    # first takes 0 (1.0) and leaves nothing: 1.0; first takes 1 (0.8), second 0 (1.0): 1.8
    assert best_matching([{0: 1.0, 1: 0.8}, {0: 1.0}]) == [1, 0]


def test_between_equal_sums_the_first_occasion_takes_the_earliest() -> None:
    assert best_matching([{0: 1.0, 1: 1.0}, {0: 1.0, 1: 1.0}]) == [0, 1]


def test_one_performance_goes_to_who_gains_most_from_it() -> None:
    assert best_matching([{0: 0.5}, {0: 0.7}]) == [None, 0]
    assert best_matching([{0: 0.5}, {0: 0.5}]) == [0, None]


def test_a_pair_without_gain_is_not_made() -> None:
    assert best_matching([{0: 0.0}, {}]) == [None, None]


def _random_gains(chance: random.Random) -> Gains:
    occasions, performances = chance.randint(1, 12), chance.randint(1, 14)
    # few different values, so that ties are common
    return [
        {
            performance: chance.choice([0.0, 0.25, 1 / 3, 0.5, 2 / 3, 1.0, chance.random()])
            for performance in range(performances)
            if chance.random() < 0.5
        }
        for _ in range(occasions)
    ]


def _scipy_sum(gains: Gains) -> float:
    """scipy 1.14+, optimize.linear_sum_assignment: a general-purpose assignment solver."""
    width = 1 + max((performance for row in gains for performance in row), default=0)
    table = np.zeros((len(gains), width))
    for number, row in enumerate(gains):
        for performance, gain in row.items():
            table[number, performance] = gain
    rows, columns = linear_sum_assignment(table, maximize=True)
    return float(table[rows, columns].sum())


def test_the_sum_is_that_of_a_general_purpose_solver() -> None:
    chance = random.Random(20260131)
    both = {"few": 0, "many": 0}
    for _ in range(800):
        gains = _random_gains(chance)
        chosen = best_matching(gains)
        taken = [performance for performance in chosen if performance is not None]
        assert len(taken) == len(set(taken))
        got = sum(
            gains[number][performance]
            for number, performance in enumerate(chosen)
            if performance is not None
        )
        expected = _scipy_sum(gains)
        assert got == pytest.approx(expected, abs=1e-9)
        assert best_sum(gains) == pytest.approx(expected, abs=1e-9)
        both["many" if len({p for row in gains for p in row}) > 8 else "few"] += 1
    assert min(both.values()) > 200


def test_the_choice_is_the_first_of_all_best_ones() -> None:
    """Against trying every matching of small cases."""
    chance = random.Random(7)
    for _ in range(300):
        gains = [
            {
                performance: chance.choice([0.0, 0.5, 1 / 3, 2 / 3, 1.0])
                for performance in range(4)
                if chance.random() < 0.7
            }
            for _ in range(3)
        ]
        assert best_matching(gains) == _by_trying_all(gains)


def _by_trying_all(gains: Gains) -> list[int | None]:
    last = 99
    everything = set(permutations([0, 1, 2, 3, last, last, last], len(gains)))
    sums = []
    for choice in everything:
        pairs = [(row, taken) for row, taken in zip(gains, choice, strict=True) if taken != last]
        if all(row.get(taken, 0.0) > 0.0 for row, taken in pairs):
            sums.append((sum(row[taken] for row, taken in pairs), list(choice)))
    top = max(total for total, _ in sums)
    best = min(
        ((total, choice) for total, choice in sums if total >= top - 1e-9),
        key=lambda pair: pair[1],
    )
    return [None if taken == last else taken for taken in best[1]]


def test_both_ways_of_solving_choose_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = random.Random(11)
    cases = [_random_gains(chance) for _ in range(150)]
    tried = [
        best_matching([{p: g for p, g in row.items() if p < 8} for row in case]) for case in cases
    ]
    monkeypatch.setattr(matching, "_FEW", 0)
    paths = [
        best_matching([{p: g for p, g in row.items() if p < 8} for row in case]) for case in cases
    ]
    assert tried == paths


def test_many_occasions_and_performances_at_once_are_no_burden() -> None:
    # forty occasions that all want the same forty performances
    gains = [dict.fromkeys(range(40), 1.0) for _ in range(40)]
    assert best_matching(gains) == list(range(40))


def test_two_items_that_want_one_action_use_each_performance_once() -> None:
    key = """
    - {expect: call, from: birth, ideal: 30 s, latest: 90 s, id: a}
    - {expect: call, from: birth, ideal: 60 s, latest: 90 s, id: b}
    """
    end = "\n400 closed finished"
    # one call at 60: a would earn (90 - 60) / 60 = 0.5, b earns 1: b takes it
    marks = card(key, "0 birth\n60 done call" + end).items
    assert [item.verdict for item in marks] == ["missed", "on time"]
    # calls at 20 and 60: a takes 20 (1), b 60 (1)
    two = card(key, "0 birth\n20 done call\n60 done call" + end).items
    assert [item.occasions[0].done_ms for item in two] == [20_000, 60_000]


def test_an_item_that_weighs_more_is_served_first() -> None:
    key = """
    - {expect: call, from: birth, ideal: 60 s, importance: helpful, id: a}
    - {expect: call, from: birth, ideal: 60 s, importance: essential, id: b}
    """
    marks = card(key, "0 birth\n20 done call\n400 closed finished").items
    assert [item.verdict for item in marks] == ["missed", "on time"]


def test_an_occasion_weighs_its_share_of_the_item() -> None:
    key = """
    - {expect: call, from: {state: low}, ideal: 60 s, each: true, id: a}
    - {expect: call, from: birth, ideal: 60 s, importance: helpful, id: b}
    """
    # a opens two occasions: 2 / 2 = 1 each; b: 1 / 1 = 1. Equal: the first in order of a, then key
    record = (
        "50 state low\n50 birth\n60 done call\n100 state idle\n200 state low\n400 closed finished"
    )
    marks = card(key, record).items
    assert [occasion.verdict for occasion in marks[0].occasions] == ["on time", "missed"]
    assert marks[1].verdict == "missed"


def test_running_uses_nothing_up() -> None:
    key = """
    - {expect: pump, from: birth, ideal: 60 s, id: a}
    - {expect: pump, from: birth, ideal: 60 s, id: b}
    """
    marks = card(key, "10 start pump\n50 birth\n400 closed finished").items
    assert [item.credit for item in marks] == [1.0, 1.0]


def test_what_is_left_is_matched_for_the_verdict_alone() -> None:
    key = """
    - {expect: call, from: birth, ideal: 30 s, id: a}
    - {expect: call, from: birth, ideal: 60 s, id: b}
    """
    # both calls come after both windows: a takes the first, b the second
    marks = card(key, "0 birth\n100 done call\n200 done call\n400 closed finished").items
    assert [item.occasions[0].done_ms for item in marks] == [100_000, 200_000]
    assert [item.verdict for item in marks] == ["too late", "too late"]
    # one call only: b has none
    last = card(key, "0 birth\n100 done call\n400 closed finished").items
    assert [item.verdict for item in last] == ["too late", "missed"]


def test_a_better_one_later_is_taken_rather_than_what_is_running() -> None:
    key = "- {expect: pump, from: birth, ideal: 60 s, settings: {pressure: 28 to 32 cmH2O}}"
    # running at 50 with 40: e = 8, 0. Started again at 80 with 30: 1
    record = """
    10 start pump pressure=40
    50 birth
    70 stop pump
    80 start pump pressure=30
    400 closed finished
    """
    marked = card(key, record).items[0]
    assert (marked.credit, marked.occasions[0].done_ms) == (1.0, 80_000)


def test_the_score_of_items_that_share_actions_is_that_of_a_general_purpose_solver() -> None:
    """Items that take any of several actions, each by its own window, against scipy's solver."""
    chance = random.Random(20261128)
    taken = (
        (("call", "look"), 30, 60, 3),
        (("swap", "call"), 60, 90, 2),
        (("swap", "sample"), 45, 75, 1),
    )
    names = {3: "essential", 2: "important", 1: "helpful"}
    key = "\n".join(
        f"- {{expect: {{any: [{', '.join(actions)}]}}, from: birth, ideal: {ideal} s, "
        f"latest: {latest} s, importance: {names[weight]}, id: i{number}}}"
        for number, (actions, ideal, latest, weight) in enumerate(taken)
    )
    for _ in range(120):
        done = sorted(
            (chance.randint(1, 100), chance.choice(("call", "swap", "sample")))
            for _ in range(chance.randint(1, 4))
        )
        record = "\n".join(f"{at} done {action}" for at, action in done)
        scored = card(key, f"0 birth\n{record}\n400 closed finished")
        table = np.zeros((len(taken), len(done) + len(taken)))
        for row, (actions, ideal, latest, weight) in enumerate(taken):
            for column, (at, action) in enumerate(done):
                if action in actions:
                    credit = min(1.0, max(0.0, (latest - at) / (latest - ideal)))
                    table[row, column] = weight * credit
        rows, columns = linear_sum_assignment(table, maximize=True)
        expected = table[rows, columns].sum()
        got = sum(item.weight * (item.credit or 0.0) for item in scored.items)
        assert got == pytest.approx(expected), record
