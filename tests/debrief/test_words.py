"""No report says what no colleague would: looked for in every shipped session and every play.

The shapes are those that a clinician struck out when reading the reports.
"""

from __future__ import annotations

import re
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

PLAYS = sorted((scenarios_dir() / FOLDER).glob("*/*.yaml"))
NEVER = (
    r"\b[Ww]as done\b",
    r"\bso for\b",
    r"\bat least within\b",
    r"\blower by\b.*\bat least\b",
    r"at 0:00 before",
    r"\b1 times\b|\b2 times\b",
    r"\(\w+-20\d\d\)",
    r"[a-z]_[a-z]",
    r"\{|\}",
    r"\bNone\b|\bnan\b|\binf\b",
    r"[a-z]\.\.(?!\.)",
    r"(?<!\.)\.\.(?!\.)",
    r"  ",
    r"\bnot in the record\b",
    r"\bpoor\b|\bfail(ed|ure)?\b|\bforgot\b",
)
EXACT = re.compile(r"\d+\.\d{3,}")


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
    yield from (found.evidence.words for found in card.found)
    page = debrief_page(session, card, scene_of(session, card), what_if=what_ifs(session, card))
    yield from texts(take_home_of(page).blocks)
    yield from texts(page.marking)
    whole = whole_of(page)
    yield from (whole.title, whole.subtitle, *whole.notices)


def odd(session: Session) -> list[str]:
    written = " ".join(
        [
            *(item.why for item in session.scenario.key),
            *(item.title for item in (*session.scenario.key, *session.scenario.never)),
            *(state.title for state in session.scenario.states.values()),
            *session.scenario.references.values(),
        ]
    )
    found = []
    for text in dict.fromkeys(said(session)):
        for shape in NEVER:
            hit = re.search(shape, text)
            if hit and hit[0] not in written:
                found.append(f"{shape}: {text}")
        # a figure has no more digits than its step: two at most follow a point
        found += [f"too exact: {text}" for figure in EXACT.findall(text) if figure not in written]
    return found


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_nothing_that_a_colleague_would_not_say_stands_in_a_shipped_session(name: str) -> None:
    assert odd(shipped.session(name)) == []


@pytest.mark.parametrize("file", PLAYS, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_nothing_that_a_colleague_would_not_say_stands_in_a_play(file: Path) -> None:
    assert odd(played(file)) == []


def test_the_shapes_are_found_where_they_stand() -> None:
    for sentence in (
        "Drying the baby was done at 0:17.",
        "Chest made to rise: so for 61 % of the 2 min 48 s.",
        "Care asks for oxygen to be lower by 1 % at least.",
        "target by minute (ercnls-2021)",
        "You looked 2 times.",
    ):
        assert any(re.search(shape, sentence) for shape in NEVER), sentence
