"""Whoever asks "what if?" of an item about time or a setting gets what a separate run gives."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from simengine.debrief.as_asked import Righted, as_asked
from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import DebriefPage, take_home_of, whole_of
from simengine.debrief.run_again import is_same_course
from simengine.debrief.scene_builder import scene_of
from simengine.debrief.what_if import Answer, answer_to, gain_of, what_ifs
from simengine.debrief.what_if_page import what_if_page
from simengine.debrief.write_debrief import write_scored
from simengine.report.blocks import texts
from simengine.scenario.conditions import AnyOf, Condition, Doing, Not, SettingIs
from simengine.scenario.key import AskedFault, Avoid, Item, Keep, Repeat, Windowed
from simengine.scoring import score
from simengine.scoring.card import ItemScore
from simengine.scoring.people import everybody, standing
from simengine.session.account import PROGRAM
from simengine.session.full_speed import Timed, play
from simengine.session.record import Session
from tests import shipped
from tests.debrief import fixture
from tests.report.shapes import odd

ASK_AT = "debrief/what-if"
MET = 0.999
MANY = 10


def is_an_act_or_a_setting(kept: Condition) -> bool:
    if isinstance(kept, Not):
        return isinstance(kept.part, Doing)
    parts = kept.parts if isinstance(kept, AnyOf) else (kept,)
    return isinstance(kept, SettingIs) or all(isinstance(part, Doing) for part in parts)


def is_about_time_or_a_setting(item: Item, marked: ItemScore) -> bool:
    if isinstance(item, Windowed):
        verdicts = {mark.verdict for mark in marked.occasions if (mark.credit or 0.0) < MET}
        return bool(verdicts & {"late", "too late", "early", "missed", "setting off"})
    if isinstance(item, Avoid):
        return isinstance(item.what, SettingIs)
    if isinstance(item, Keep):
        return is_an_act_or_a_setting(item.condition)
    return isinstance(item, Repeat) and marked.verdict != "told wrong"


def asked_on(page: DebriefPage) -> dict[str, str]:
    """The questions on a page by the address to which each leads."""
    items = [item for group in page.marking.groups for item in group.items]
    return {item.ask.address: item.ask.text for item in items if item.ask is not None}


def address(item: str) -> str:
    return f"{ASK_AT}?item={item.replace(':', '%3A')}"


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_each_item_that_was_late_missed_or_off_offers_it_and_what_was_met_does_not(
    name: str,
) -> None:
    session, card = shipped.session(name), shipped.card(name, 0)
    items = {item.id: item for item in session.scenario.key}
    page = debrief_page(session, card, scene_of(session, card), ask_at=ASK_AT)
    lost = [mark for mark in card.items if mark.applied and mark.credit is not None]
    lost += [mark for mark in card.items if mark.verdict == "done in error"]
    wanted = {
        address(mark.id)
        for mark in lost
        if (mark.credit or 0.0) < MET and is_about_time_or_a_setting(items[mark.id], mark)
    }
    assert set(asked_on(page)) == wanted
    for mark in card.items:
        if mark.verdict == "done in error":
            continue
        if mark.credit is None or mark.credit >= MET or not mark.applied:
            assert answers(name)[mark.id] is None, mark.id


@cache
def answers(name: str) -> dict[str, Answer | None]:
    """What is answered of each item of a shipped session."""
    session = shipped.session(name)
    return {marked.id: answer_to(session, marked) for marked in shipped.card(name, 0).items}


def separately(other: Session) -> Session:
    """Play the other course's entries from the start, each at its own time, as a script."""
    script = [
        Timed(event.at_ms, event.kind, event.data, event.by, event.noted_ms, event.id)
        for event in other.events
        if event.kind != "opened" and (event.by != PROGRAM or event.kind not in ("state", "closed"))
    ]
    return play(other.scenario, script, opened=other.events[0].data, until_ms=other.end_ms)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_an_answer_is_what_a_separate_run_of_the_changed_log_gives_in_course_and_in_credit(
    name: str,
) -> None:
    session, card = shipped.session(name), shipped.card(name, 0)
    items = {item.id: item for item in session.scenario.key}
    for marked in card.items:
        answer = answers(name)[marked.id]
        if answer is None:
            continue
        if answer.other is None:
            assert answer.words.startswith(("Nobody can tell. ", "Nobody can tell: ")), marked.id
            continue
        assert answer.words.startswith("In this scenario, ")
        entries = {event.id: event for event in answer.other.events}
        page_of_it = as_asked(session, items[marked.id], marked)
        assert page_of_it is not None
        for changed in page_of_it.changed:
            assert (changed.event_id in entries) != changed.left_out
            if changed.at_ms is not None:
                assert entries[changed.event_id].at_ms == changed.at_ms
        apart = separately(answer.other)
        assert is_same_course(answer.other, apart), marked.id
        assert gain_of(session, apart) == gain_of(session, answer.other)
        again = next(mark for mark in score(apart, redraws=0).items if mark.id == marked.id)
        if marked.verdict == "done in error":
            assert len(again.evidence) < len(marked.evidence), marked.id
        else:
            assert (again.credit or 0.0) > (marked.credit or 0.0), marked.id


def test_what_the_debrief_tells_by_itself_is_answered_in_the_same_words() -> None:
    for name in shipped.SESSIONS:
        for words in what_ifs(shipped.session(name), shipped.card(name, 0)):
            answer = answers(name)[words.item]
            assert answer is not None
            assert (answer.words, answer.wanted.what) == (words.words, words.what)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_no_question_and_no_answer_has_a_shape_that_no_colleague_says(name: str) -> None:
    session, card = shipped.session(name), shipped.card(name, 0)
    shows = " ".join(
        [state.title for state in session.scenario.states.values()]
        + [fault.shows for fault in session.scenario.start.faults.values()]
        + [item.title + item.why for item in session.scenario.key]
    )
    sentences = texts(what_if_page(session, card).report.blocks)
    for marked in card.items:
        answer = answers(name)[marked.id]
        if answer is not None:
            sentences += [answer.words, answer.wanted.question]
    assert odd(sentences, shows) == []


def test_a_page_that_no_server_answers_offers_nothing_to_ask() -> None:
    session = shipped.session("term-blood-loss-first-try")
    card = score(session, redraws=0)
    page = debrief_page(session, card, scene_of(session, card))
    assert asked_on(page) == {}
    words = " ".join(texts((take_home_of(page).blocks, whole_of(page).blocks)))
    assert "hat if" not in words


def test_an_answer_has_what_was_done_what_would_have_come_of_it_why_and_the_thin_line() -> None:
    session = shipped.session("term-blood-loss-first-try")
    page_of_it = what_if_page(session, score(session, redraws=0), "volume")
    assert page_of_it.report.title == (
        "Volume bolus given: what if we had done this by 4:30 with a dose of 10 mL/kg?"
    )
    words = " ".join(texts(page_of_it.report.blocks))
    assert "You gave a volume bolus at 5:31, 61 s late" in words
    assert "61 s sooner, at 4:50 instead of 5:51." in words
    assert "It says nothing about a real baby." in words
    assert page_of_it.scene is not None
    assert page_of_it.scene.curves[0].other
    assert "Thin line: giving a volume bolus by 4:30" in words


def test_where_the_line_would_run_along_the_other_there_is_no_picture() -> None:
    session = shipped.session("term-blood-loss-first-try")
    page_of_it = what_if_page(session, score(session, redraws=0), "expect:oximeter")
    assert page_of_it.scene is None
    assert "would have made no difference to what came next" in " ".join(
        texts(page_of_it.report.blocks)
    )


def test_where_the_other_course_can_not_be_followed_it_says_so_in_plain_words() -> None:
    session = shipped.session("term-not-breathing-first-try")
    words = texts(
        what_if_page(session, score(session, redraws=0), "first-ventilation").report.blocks
    )
    assert (
        "Nobody can tell. Ventilating by 1:00 would have taken the session somewhere it never "
        "went, and what you would have done from there is not known."
    ) in words
    assert not any("real baby" in text for text in words)


@pytest.mark.parametrize("item", ["no-such-item", "expect:dry", "../../etc/passwd"])
def test_of_what_is_not_offered_it_says_that_there_is_nothing_to_ask(item: str) -> None:
    session = shipped.session("term-blood-loss-first-try")
    report = what_if_page(session, score(session, redraws=0), item).report
    assert report.title == "Nothing to ask here"
    assert texts(report.blocks) == ["There is no “what if?” for this step on this page."]


def entries(session: Session, item: str, name: str) -> tuple[str, list[str]]:
    """What is asked of an item in words, and the kind of each entry that is changed for it."""
    marked = next(mark for mark in shipped.card(name, 0).items if mark.id == item)
    wanted = as_asked(session, next(i for i in session.scenario.key if i.id == item), marked)
    assert wanted is not None
    known = {event.id: event.kind for event in session.events}
    return wanted.what, [change.added or known[change.event_id] for change in wanted.changed]


def test_a_fault_to_be_found_is_found_in_time_and_what_put_it_right_stays_where_it_was() -> None:
    name, item = "suction-left-on-first-try", "hiss"
    session = shipped.session(name)
    what, kinds = entries(session, item, name)
    assert what.startswith("finding “The ")
    assert what.endswith(" by 4:12 and putting it right when you did")
    assert kinds == ["fault"]
    wanted = next(mark for mark in shipped.card(name, 0).items if mark.id == item)
    answer = answer_to(session, wanted)
    assert answer is not None
    assert answer.other is not None
    before, after = (
        [(fault.at_ms, fault.status) for fault in each.record.faults if fault.status == "mended"]
        for each in (session, answer.other)
    )
    assert before == after


def test_a_fault_that_an_act_or_a_dial_put_right_is_called_by_the_act_or_the_dial() -> None:
    named = 0
    for name in shipped.SESSIONS:
        session, card = shipped.session(name), shipped.card(name, 0)
        items = {item.id: item for item in session.scenario.key}
        known = {event.id: event for event in session.effective}
        for marked in card.items:
            item, wanted = items[marked.id], as_asked(session, items[marked.id], marked)
            if wanted is None or not isinstance(item, Windowed):
                continue
            for change in wanted.changed:
                event = known.get(change.event_id)
                if isinstance(item.asked, AskedFault) and event is not None:
                    by_hand = event.kind == "fault"
                    named += not by_hand
                    assert ("“" in wanted.what) == by_hand, (name, marked.id, wanted.what)
    assert named > MANY


def test_where_the_session_had_ended_or_the_step_would_go_no_better_it_says_which(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    session = shipped.session("term-blood-loss-first-try")
    card = shipped.card("term-blood-loss-first-try", 0)
    marked = next(mark for mark in card.items if mark.id == "expect:oximeter")
    (occasion,) = marked.occasions
    missed = replace(occasion, verdict="missed", evidence=(), opened_ms=session.end_ms)
    answer = answer_to(session, replace(marked, verdict="missed", occasions=(missed,)))
    assert answer is not None
    assert answer.words == "Nobody can tell: the session had ended by then."
    monkeypatch.setattr("simengine.debrief.what_if._is_better", lambda *_: False)
    answer = answer_to(session, marked)
    assert answer is not None
    assert answer.other is None
    assert answer.words == (
        "Nobody can tell: when the session is run again that way, this step goes no better than "
        "it did."
    )


@pytest.mark.parametrize(
    ("values", "over", "asked", "said", "by"),
    [
        (
            (),
            "5 min",
            "given it over 5 min",
            "giving it over 5 min",
            "giving glucose by 4:30, over 5 min",
        ),
        (
            ("a dose of 2 mL/kg",),
            "5 min",
            "done this with a dose of 2 mL/kg, given over 5 min",
            "a dose of 2 mL/kg, given over 5 min",
            "giving glucose by 4:30 with a dose of 2 mL/kg, given over 5 min",
        ),
        (
            ("a dose of 2 mL/kg", "a flush of 1 mL"),
            "",
            "done this with a dose of 2 mL/kg and a flush of 1 mL",
            "a dose of 2 mL/kg and a flush of 1 mL",
            "giving glucose by 4:30 with a dose of 2 mL/kg and a flush of 1 mL",
        ),
    ],
)
def test_how_long_a_drug_is_given_is_said_as_people_say_it(
    values: tuple[str, ...], over: str, asked: str, said: str, by: str
) -> None:
    righted = Righted(values, over)
    assert righted
    assert (righted.asked(), righted.said()) == (asked, said)
    assert righted.said_by("giving glucose", "4:30") == by
    assert not Righted((), "")


def test_a_person_asks_of_their_own_items_alone_and_of_nothing_that_has_no_entry() -> None:
    session = fixture.session(confirmed=True)
    card = fixture.card(session)
    own = texts(what_if_page(session, card, trainee="m2kf").report.blocks)
    whole = texts(what_if_page(session, card).report.blocks)
    assert any("what if I had" in text for text in own)
    assert not any("what if we had" in text for text in own)
    assert len(own) < len(whole)
    others = [mark.id for mark in card.items if not any(mark.title in text for text in own)]
    assert others
    for item in others:
        report = what_if_page(session, card, item, trainee="m2kf").report
        assert report.title == "Nothing to ask here", item


def test_before_the_record_is_confirmed_nothing_is_a_persons_own_to_ask() -> None:
    session = fixture.session(confirmed=True)
    unconfirmed = replace(session, record=replace(session.record, confirmed=False))
    report = what_if_page(unconfirmed, fixture.card(session), trainee="m2kf").report
    assert texts(report.blocks) == ["There is nothing to ask here."]


def test_a_personal_debrief_tells_by_itself_what_would_have_come_of_own_acts_alone(
    tmp_path: Path,
) -> None:
    session = shipped.session("term-blood-loss-first-try")
    confirmed = replace(session, record=replace(session.record, confirmed=True))
    card = score(confirmed, redraws=0)
    volume = next(mark for mark in card.items if mark.id == "volume")
    telling = {}
    for person in everybody(confirmed):
        files = write_scored([(confirmed, card)], tmp_path, trainee=person)
        telling[person] = "giving a volume bolus by 4:30" in files.html.read_text("utf-8")
    own = {person for person in telling if standing(confirmed, volume, person) == "own"}
    assert {person for person, tells in telling.items() if tells} == own
    assert 0 < len(own) < len(telling)
