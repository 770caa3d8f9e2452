"""A retry's debrief stands beside the first try, and looks at what came after the moment alone."""

from __future__ import annotations

from datetime import UTC, datetime

from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_sentences import say
from simengine.debrief.first_try import beside_first_try
from simengine.debrief.scene_builder import scene_of
from simengine.scoring import score
from simengine.session.account import PROGRAM
from simengine.session.live import LiveSession
from simengine.session.record import Session
from simengine.session.retry import LASTS_MS, Retry, log_of_retry
from tests import shipped

FIRST_TRY = "term-not-breathing-first-try"
ID = "0f8fad5b-d9cb-469f-a165-70867728950e"


def second_go(first: Session, sooner_ms: int) -> Session:
    """The same acts from the first change of state on, each so much sooner."""
    stay = first.stays[1]
    retry = Retry(first.session_id, stay.state, stay.entry_ms, LASTS_MS)
    now = datetime(2026, 2, 1, 9, 30, tzinfo=UTC)
    log = log_of_retry(first.events, first.events[stay.seq], retry, session=ID, now=now)
    live = LiveSession(first.scenario, log)
    for event in first.events[stay.seq + 1 :]:
        noted = max(live.fold.noted_ms, event.noted_ms - sooner_ms)
        if event.by == PROGRAM or live.closed:
            continue
        live.run(noted - 1)
        if not live.closed:
            live.record(event.kind, event.data, noted_ms=noted, by=event.by, id=event.id)
    live.run(10 * first.end_ms)
    return live.session()


def test_states_and_items_stand_beside_each_other() -> None:
    first = shipped.session(FIRST_TRY)
    second = second_go(first, 10_000)
    assert second.closed == "finished"
    cards = [score(tried, redraws=0) for tried in (first, second)]
    table = beside_first_try((first, cards[0]), (second, cards[1]))
    assert table is not None
    cells = {row[0]: row[1:] for row in table.rows}
    state = first.stays[2]
    title = first.scenario.states[state.state].title
    before, after = cells[say("first_try_state", title=title)]
    assert before != after
    entered = next(stay for stay in second.stays if stay.state == state.state)
    assert entered.entry_ms < state.entry_ms
    assert any(cell for row in table.rows for cell in row[1:])


def test_the_page_says_that_it_is_a_retry_and_shows_no_score() -> None:
    first = shipped.session(FIRST_TRY)
    second = second_go(first, 0)
    card = score(second, redraws=0)
    page = debrief_page(
        second, card, scene_of(second, card), first_try=(first, score(first, redraws=0))
    )
    assert page.first_try is not None
    assert page.scores is None
    assert page.summary is None
    assert page.subtitle.startswith("Retry of a moment")
    assert any("second go" in line for line in page.notices)
    again = second.stays[1].entry_ms
    shown = {block.title for group in page.marking.groups for block in group.items}
    asked_later = {
        item.title
        for item in card.items
        if any(occasion.opened_ms >= again for occasion in item.occasions)
    }
    assert shown == asked_later
    assert asked_later
    assert asked_later < {item.title for item in card.items}


def test_what_is_no_retry_has_nothing_beside_it() -> None:
    first = shipped.session(FIRST_TRY)
    card = score(first, redraws=0)
    assert beside_first_try((first, card), (first, card)) is None
