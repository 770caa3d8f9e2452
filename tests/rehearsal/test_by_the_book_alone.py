"""Each shipped scenario is played to its end alone, by the book, and marked as the team's play is.

The plays are those of careful teams (`scenarios/plays/*/by-the-book.yaml`), and what must come of
them is said there. One person does the same, step by step, by touches of the page; where that one
can't have it as the team has, it stands here with the reason, and nothing else may differ.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from simengine.plays import perform, result_of
from simengine.scoring import ScoreCard, score
from simengine.session.record import Session
from tests import shipped
from tests.rehearsal.one_person import OnePerson, by_the_book
from tests.rehearsal.playing import Player

LEFT_OUT: Mapping[str, Mapping[str, str]] = {
    "term-not-breathing": {
        "two_person_hold": "Two hands hold the mask and a third gives the breaths: with one helper "
        "nobody is left for compressions until a senior colleague comes.",
    },
}
"""What one person leaves undone of a play, by scenario and action, and why."""

DIFFERS: Mapping[str, Mapping[str, str]] = {
    "cot-after-use": dict.fromkeys(
        (
            "signed", "towels", "bag", "laryngeal-mask", "detector", "tray", "strength", "glucose",
            "leads", "stethoscope",
        ),
        "Each takes its time to fetch or to change, and one person does one after the other; the "
        "team puts these right six seconds after each other.",
    ),
    "preterm-25-weeks": {
        "tube": "It takes two hands, of which one ventilates, and a senior colleague comes a "
        "minute and a half after the call.",
    },
    "term-not-breathing": {
        "access": "It takes two hands while two give compressions and one ventilates: the heart "
        "has recovered before a senior colleague comes.",
    },
}  # fmt: skip
"""Which items of the marking guide come out otherwise than the team's, and why."""


def states(session: Session) -> list[str]:
    return [stay.state for stay in session.stays]


def marks(card: ScoreCard) -> dict[str, tuple[str, float | None]]:
    """The verdict and credit of each item, to a thousandth."""
    return {
        item.id: (item.verdict, None if item.credit is None else round(item.credit, 3))
        for item in card.items
    }


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_a_scenario_is_played_to_its_end_alone_and_marked_as_the_team_that_did_the_same(
    player: Player, name: str
) -> None:
    play = by_the_book(name)
    team = result_of(perform(play))
    person = OnePerson(player, play, LEFT_OUT.get(name, {}))
    session = person.plays().session()
    own = score(session, redraws=0)

    assert person.refused == []
    assert session.closed == "finished"
    assert states(session) == states(team.performed.session)
    theirs = marks(team.card)
    differs = {item for item, mark in marks(own).items() if mark != theirs[item]}
    assert differs == set(DIFFERS.get(name, {}))
    assert own.unsafe == ()
    assert play.expected.total is not None
    expected, _ = play.expected.total
    assert own.total is not None
    assert expected.contains(own.total * 100)
