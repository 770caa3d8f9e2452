"""Whoever is not to be told apart is in no list, and what they did is the team's."""

from __future__ import annotations

from dataclasses import replace

from simengine.cohort.consented import told_apart
from tests.exchange.shipped_results import FEW, result


def test_what_somebody_did_who_is_not_told_apart_is_the_teams() -> None:
    made = result(FEW[0])
    own, other = list(dict.fromkeys(code for held in made.team.values() for code in held))[:2]
    items = tuple(
        replace(item, person=(own, other, None)[number % 3])
        for number, item in enumerate(made.items)
    )
    before = replace(made, items=items)
    after = told_apart(before, lambda code: code != own)
    assert own in {code for held in before.team.values() for code in held}
    assert own not in {code for held in after.team.values() for code in held}
    assert list(after.team) == list(before.team)
    for now, then in zip(after.items, before.items, strict=True):
        assert now.person == (None if then.person == own else then.person)
        assert (now.id, now.credit, now.time_s) == (then.id, then.credit, then.time_s)
    assert (after.total, after.interval) == (before.total, before.interval)


def test_where_everybody_counts_nothing_is_changed() -> None:
    before = result(FEW[0])
    assert told_apart(before, lambda _: True) is before
