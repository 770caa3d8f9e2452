"""What the page says, and what it does not."""

from __future__ import annotations

import re
import time
from dataclasses import replace

import pytest

from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import DebriefPage, take_home_of, whole_of
from simengine.debrief.highlights import difference
from simengine.debrief.review import busy_stretches, likely_unseen
from simengine.debrief.scene_builder import scene_of
from simengine.quantities.formatting import clock
from simengine.report.blocks import texts
from simengine.report.html import render_html
from simengine.scenario.key import Standard
from simengine.scoring import score
from simengine.scoring.people import everybody, standing
from simengine.session.events import Event, Kind
from simengine.session.record import Session
from tests import shipped
from tests.debrief import fixture
from tests.debrief.laid_out import NAMES, laid


def page_of(session: Session, **choices: object) -> DebriefPage:
    card = fixture.card(session, purpose=session.purpose)
    return debrief_page(session, card, scene_of(session, card), **choices)  # type: ignore[arg-type]


def test_the_teams_own_account_comes_before_any_figure() -> None:
    page = page_of(fixture.session())
    assert page.account.questions == ("What happened?", "What went well?", "What was hard?")
    for layout in (take_home_of, whole_of):
        web = render_html(layout(page), {"session": b"<svg/>", "brief": b"<svg/>"})
        shown = web[web.index("<main") :]
        account = shown.index(page.account.questions[-1])
        assert account < shown.index("<img")
        assert account < re.search(r"\b\d:\d\d\b", shown).start()  # type: ignore[union-attr]
        assert account < shown.index(f">{page.well.title}<")


@pytest.mark.parametrize("name", NAMES)
def test_only_an_assessed_session_has_an_outcome(name: str) -> None:
    page, session = laid(name).page, laid(name).session
    assert (page.outcome is not None) == (session.purpose == "summative")
    if session.purpose == "formative":
        assert not any("achieved" in text for text in texts(page))


def test_under_an_invented_standard_nothing_is_proposed_and_nobody_is_asked_to_sign() -> None:
    session = laid("cot-term-steady").session
    assert session.purpose == "summative"
    page = laid("cot-term-steady").page
    assert page.outcome is not None
    assert page.outcome.text == "No outcome is proposed."
    assert "invented for demonstration" in " ".join(page.outcome.reasons)
    assert page.outcome.signatures == ()


def test_an_outcome_is_proposed_with_reasons_and_lines_to_sign() -> None:
    session = fixture.session(purpose="summative")
    standard = Standard("Angoff", "6 judges", "2026-01-15")
    scoring = replace(session.scenario.scoring, standard=standard)
    page = page_of(replace(session, scenario=replace(session.scenario, scoring=scoring)))
    assert page.outcome is not None
    assert "A person decides and signs" in page.outcome.text
    assert "not yet achieved" in page.outcome.text
    assert "set by Angoff; panel: 6 judges; 2026-01-15." in page.outcome.text
    assert "An essential item is below half of its credit." in page.outcome.reasons
    assert len(page.outcome.signatures) == 3


def test_what_was_said_of_one_persons_outcome_is_not_on_the_teams_page() -> None:
    session = fixture.session(purpose="summative")
    last = session.effective[-1]

    def said(kind: Kind, **data: str) -> Event:
        return replace(last, kind=kind, data=data)

    signed = {"name": "R. Holm", "credentials": "consultant", "outcome": "achieved"}
    more = (
        said("signed", **signed),
        said("signed", **{**signed, "name": "T. Osei", "person": "n4tq8wzk"}),
        said("appealed", text="The clock was late.", person="n4tq8wzk"),
        said("appealed", text="I had the towel ready.", item=session.scenario.key[0].id),
    )
    scoring = replace(
        session.scenario.scoring, standard=Standard("Angoff", "6 judges", "2026-01-15")
    )
    under = replace(session.scenario, scoring=scoring)
    page = page_of(replace(session, scenario=under, effective=(*session.effective, *more)))
    assert page.outcome is not None
    assert page.outcome.standing == (
        "Signed: achieved, by R. Holm (consultant).",
        f"Seen differently, {session.scenario.key[0].title}: I had the towel ready.",
    )
    # without a recorded standard there is nothing to sign, whatever the log says
    page = page_of(replace(session, effective=(*session.effective, *more)))
    assert page.outcome is not None
    assert page.outcome.standing == (
        f"Seen differently, {session.scenario.key[0].title}: I had the towel ready.",
    )


def test_a_rehearsal_never_shows_an_outcome() -> None:
    session = fixture.session(purpose="rehearsal")
    card = replace(fixture.card(session), outcome="achieved")
    page = debrief_page(session, card, scene_of(session, card))
    assert page.outcome is None
    assert any("proves nothing about anyone" in line for line in page.notices)


@pytest.mark.parametrize("name", NAMES)
def test_three_points_each_way_with_evidence_and_why(name: str) -> None:
    page = laid(name).page
    unsafe = {item.id for item in laid(name).card.unsafe}
    for points in (page.well, page.work_on):
        assert len([point for point in points.points if point.item not in unsafe]) >= 1 or unsafe
        assert len(points.points) <= max(3, len(unsafe))
        for point in points.points:
            assert point.evidence
            assert point.why
            assert "poor" not in point.evidence.lower()


@pytest.mark.parametrize("name", NAMES)
def test_every_item_of_the_guide_stands_once_with_its_parts(name: str) -> None:
    page, card = laid(name).page, laid(name).card
    blocks = [block for group in page.marking.groups for block in group.items]
    assert sorted(block.title for block in blocks) == sorted(item.title for item in card.items)
    for block in blocks:
        assert block.asked.endswith(".")
        assert block.recorded
        assert block.differently == "I see this differently:"
        assert block.sign in page.marking.signs
        assert bool(block.time) == (block.credit != "not counted")
    close = sum(item.too_close for item in card.items)
    assert sum(any("too close" in mark for mark in block.marks) for block in blocks) == close


@pytest.mark.parametrize("name", NAMES)
def test_a_miss_is_provisional_until_the_record_is_confirmed(name: str) -> None:
    page, session = laid(name).page, laid(name).session
    missed = [
        block
        for group in page.marking.groups
        for block in group.items
        if block.sign.word == "missed"
    ]
    for block in missed:
        provisional = any("provisional" in mark for mark in block.marks)
        assert provisional == (not session.record.confirmed)
    assert any("only means that nothing was recorded" in line for line in page.notices) == (
        not session.record.confirmed
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_teams_page_names_no_person(name: str) -> None:
    page, session = laid(name).page, laid(name).session
    people = everybody(session)
    assert people
    text = "\n".join(texts(page))
    assert [person for person in people if person in text] == []


@pytest.mark.parametrize("name", NAMES)
def test_cautions_protocol_and_versions_stand_on_the_page(name: str) -> None:
    page, session = laid(name).page, laid(name).session
    protocol = session.scenario.protocol
    assert page.banner == "Simulation: training only"
    for beside in (page.key_times.note if page.key_times else "", page.marking.caution):
        assert "raining only" in beside
        assert protocol.edition in beside
        assert "unsigned" in beside
    lines = " ".join(page.protocol)
    assert protocol.source.split(",")[0] in lines
    assert "Not yet signed by a local clinician" in lines
    assert "A newer edition exists" in lines
    text = "".join("".join(row) for row in page.versions.rows).replace("\u200b", "")
    assert session.scenario.digest in text
    assert protocol.digest in text
    assert session.last_hash in text


def test_key_times_are_asked_done_and_the_difference() -> None:
    page, session = laid("term-not-breathing-first-try").page, laid("term-not-breathing-first-try")
    assert page.key_times is not None
    rows = {row[0]: row for row in page.key_times.rows}
    item = next(each for each in session.card.items if each.id == "first-ventilation")
    done = item.occasions[0].done_ms
    assert done is not None
    born = session.session.record.clock_ms
    assert born is not None
    # asked within 60 s of birth: by 1:00 on the clock; a clock shows whole seconds
    apart = (done - born) // 1000 - 60
    assert rows[item.title][1:4] == ("1:00", clock(done - born), f"{apart} s later")


def test_differences_are_those_of_the_figures_shown() -> None:
    assert difference(78_900, 60_000) == "18 s later"
    assert difference(59_999, 60_000) == "1 s sooner"
    assert difference(60_400, 60_000) == "to the second"
    assert clock(-20_000) == "−0:20"
    assert clock(65_999) == "1:05"


def test_equipment_found_and_missed_is_told() -> None:
    page, session = laid("cot-term-first-try").page, laid("cot-term-first-try").session
    assert page.equipment is not None
    faults = session.scenario.start.faults
    assert len(page.equipment.rows) >= len(faults)
    names = {event.fault for event in session.record.faults if event.status == "found"}
    never = {
        name
        for name in faults
        if name not in {e.fault for e in session.record.faults if e.status != "planted"}
    }
    rows = {row[0].replace("\u200b", ""): row for row in page.equipment.rows}
    for name in names:
        assert re.fullmatch(r"−?\d+:\d\d", rows[faults[name].shows][1])
    for name in never:
        assert rows[faults[name].shows][1:] == ("not recorded", "not recorded")
    assert "returned to service" in page.equipment.note


def test_steps_without_an_entry_while_many_were_written_are_for_review() -> None:
    events = fixture.events()
    # by hand: entries noted at 21, 34, 38, 47 s are 26 s apart for four, so nobody was busy;
    # 95, 103, 110 s are three; 140, 152, 155 s are three
    assert busy_stretches(events) == []
    late = [replace(event, noted_ms=event.at_ms + 12_000) for event in events]
    assert len(busy_stretches(late)) == sum(
        event.kind in ("action", "set", "cue", "information") for event in events
    )
    session = fixture.session()
    busy = replace(session, effective=tuple(late))
    listed = likely_unseen(busy, fixture.card(session).items)
    assert listed is not None
    assert likely_unseen(session, fixture.card(session).items) is None


def test_few_items_are_called_few() -> None:
    page = page_of(fixture.session())
    assert page.scores is not None
    few = [row for row in page.scores.rows if row[0] == "Role: team"]
    assert few[0][3] == "3 items, few"


def test_a_trainees_page_has_own_items_and_nobody_else() -> None:
    session = fixture.session(confirmed=True)
    page = page_of(session, trainee="m2kf")
    text = "\n".join(texts(page))
    assert "m2kf" in text
    assert "q7xd" not in text
    assert "w9tb" not in text
    card = fixture.card(session)
    standings = {item.title: standing(session, item, "m2kf") for item in card.items}
    assert "own" in standings.values()
    blocks = [block for group in page.marking.groups for block in group.items]
    assert {block.title for block in blocks} == {
        title for title, how in standings.items() if how != "other"
    }
    shared = "role shared or handed over: counts for the team, not for one person"
    for block in blocks:
        assert (shared in block.marks) == (standings[block.title] == "shared")
    assert page.findings is None
    assert page.unseen is None


def test_until_the_record_is_confirmed_nothing_is_a_persons_own() -> None:
    session = fixture.session()
    page = page_of(session, trainee="m2kf")
    assert any("nothing here counts as your own" in line for line in page.notices)
    assert page.well.points == ()
    blocks = [block for group in page.marking.groups for block in group.items]
    assert blocks
    assert all(
        "not yet counted as yours: nobody has confirmed the record" in block.marks
        for block in blocks
    )


def test_a_shared_role_is_nobodys_own() -> None:
    team = {"leader": ["q7xd"], "airway": ["m2kf", "z5rr"], "circulation": ["w9tb"]}
    session = fixture.session(confirmed=True, team=team)
    card = fixture.card(session)
    assert {standing(session, item, "m2kf") for item in card.items} == {"other", "shared"}


def test_a_miss_without_a_role_is_the_teams() -> None:
    session = fixture.session(confirmed=True)
    item = replace(fixture.card(session).items[0], role=None)
    bare = replace(item, occasions=tuple(replace(part, role=None) for part in item.occasions))
    for person in everybody(session):
        assert standing(session, bare, person) == "other"


def test_several_sessions_of_a_trainee_add_a_trend_that_calls_few_few() -> None:
    held = [fixture.session(confirmed=True, day=day) for day in (3, 9, 17)]
    cards = [fixture.card(session) for session in held]
    page = debrief_page(
        held[-1],
        cards[-1],
        scene_of(held[-1], cards[-1]),
        trainee="m2kf",
        earlier=list(zip(held[:-1], cards[:-1], strict=True)),
    )
    assert page.trend is not None
    assert "few" in page.trend.lead
    assert [row[0] for row in page.trend.tables[0].rows] == [
        "1. 3 March 2026",
        "2. 9 March 2026",
        "3. 17 March 2026",
    ]
    assert len(page.trend.tables) == 2
    text = "\n".join(texts(page))
    assert "q7xd" not in text


def test_every_number_with_a_percent_sign_is_whole() -> None:
    for name in NAMES:
        page = laid(name).page
        assert page.scores is not None
        for row in page.scores.rows:
            assert re.fullmatch(r"\d+ %|–", row[1])


def test_the_score_on_the_page_is_the_scorers() -> None:
    session = laid("term-not-breathing-steady").session
    total = score(session, redraws=0).total
    assert total is not None
    scores = laid("term-not-breathing-steady").page.scores
    assert scores is not None
    assert scores.rows[0][1] == f"{100 * total:.0f} %"


def test_nothing_without_an_entry_stands_against_a_person() -> None:
    session = fixture.session(confirmed=True)
    page = page_of(session, trainee="m2kf")
    items = {item.id: item for item in fixture.card(session).items}
    assert [p for p in page.work_on.points if items[p.item].verdict == "missed"] == []
    missed = {item.title for item in items.values() if item.verdict == "missed"}
    assert page.own is not None
    assert missed & {title for title, _, _ in page.own.rows}
    for title, _, done in page.own.rows:
        assert (done == "not recorded") == (title in missed)
    blocks = [block for group in page.marking.groups for block in group.items]
    for block in blocks:
        if block.title in missed:
            assert (block.sign.word, block.credit, block.time) == (
                "not recorded",
                "not counted",
                "",
            )


@pytest.mark.parametrize("name", NAMES)
def test_no_page_of_one_person_says_missed(name: str) -> None:
    """Neither the two pages nor the whole, nor a mark or the words of the picture."""
    session = laid(name).session
    record = replace(session.record, confirmed=True)
    written = {item.why for item in session.scenario.key}
    for held_by in (session, replace(session, record=record)):
        card = shipped.card(name)
        for person in everybody(session)[:2]:
            scene = scene_of(held_by, card, trainee=person)
            page = debrief_page(held_by, card, scene, trainee=person)
            spoken = [text for layout in (take_home_of, whole_of) for text in texts(layout(page))]
            spoken += [entry.words for row in scene.rows for entry in row.entries]
            spoken += [sign.word for sign in scene.signs]
            assert [text for text in spoken if "missed" in text and text not in written] == []


def test_what_was_written_down_too_seldom_is_in_no_sum_of_a_person() -> None:
    session = fixture.session(confirmed=True)
    card = fixture.card(session)
    again = next(item for item in card.items if item.role == "airway" and item.applied)
    seldom = replace(again, kind="repeat", verdict="partly", credit=0.4, occasions=())
    assert standing(session, seldom, "m2kf") == "own"
    under = replace(card, items=tuple(seldom if i is again else i for i in card.items))
    page = debrief_page(session, under, scene_of(session, under), trainee="m2kf")
    assert again.id not in [point.item for point in page.work_on.points]
    blocks = [block for group in page.marking.groups for block in group.items]
    assert [block.credit for block in blocks if block.title == again.title] == ["not counted"]


def test_the_day_and_the_hour_are_those_of_the_clocks_here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    try:
        # 3 March 2026, 09:00 UTC; New Zealand is 13 h ahead in its summer (IANA time zone database)
        assert page_of(fixture.session()).subtitle == "Session for learning, 3 March 2026, 22:00"
    finally:
        monkeypatch.undo()
        time.tzset()
