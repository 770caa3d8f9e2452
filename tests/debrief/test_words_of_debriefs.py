"""No debrief says what no colleague would: looked for in every shipped session and every play."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import take_home_of, whole_of
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.what_if import what_ifs
from simengine.plays import perform
from simengine.plays.files import FOLDER, read_file
from simengine.report.blocks import texts
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session.record import Session
from tests import shipped
from tests.report.shapes import odd

PLAYS = sorted((scenarios_dir() / FOLDER).glob("*/*.yaml"))


def played(file: Path) -> Session:
    play, _ = read_file(file, shipped.scenario(file.parent.name))
    assert play is not None
    return perform(play).session


def said(session: Session) -> Iterator[str]:
    """Every sentence of the score card and of both parts of the debrief but names and digests."""
    card = score(session, redraws=0)
    for item in (*card.items, *card.unsafe):
        yield item.sentence
        yield from (occasion.sentence for occasion in item.occasions)
    yield from (finding.evidence.words for finding in card.found)
    page = debrief_page(session, card, scene_of(session, card), what_if=what_ifs(session, card))
    yield from texts(take_home_of(page).blocks)
    yield from texts(page.marking)
    whole = whole_of(page)
    yield from (whole.title, whole.subtitle, *whole.notices)


def faults(session: Session) -> list[str]:
    written = " ".join(
        [
            *(item.why for item in session.scenario.key),
            *(item.title for item in (*session.scenario.key, *session.scenario.never)),
            *(state.title for state in session.scenario.states.values()),
            *session.scenario.references.values(),
        ]
    )
    return odd(said(session), written)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_nothing_that_a_colleague_would_not_say_stands_in_a_shipped_session(name: str) -> None:
    assert faults(shipped.session(name)) == []


@pytest.mark.parametrize("file", PLAYS, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_nothing_that_a_colleague_would_not_say_stands_in_a_play(file: Path) -> None:
    assert faults(played(file)) == []


def test_the_shapes_are_found_where_they_stand() -> None:
    for sentence in (
        "Drying the baby was done at 0:17.",
        "Chest made to rise: so for 61 % of the 2 min 48 s.",
        "Care asks for oxygen to be lower by 1 % at least.",
        "target by minute (ercnls-2021)",
        "You looked 2 times.",
    ):
        assert odd([sentence]), sentence
