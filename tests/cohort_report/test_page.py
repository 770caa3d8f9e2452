"""The report's page: four questions answered first, few called few, nobody named."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest

from simengine.cohort_report.build_report import cohort_page
from simengine.cohort_report.cohort_page import CohortPage
from simengine.cohort_report.material import Material
from simengine.cohort_report.times import MOST_UNITS
from simengine.cohort_report.who import due_chapter
from simengine.people.roster import Posting
from simengine.report.blocks import texts
from tests.cohort_report.whole import KINDS, cohort, made, material
from tests.report.shapes import odd

QUESTIONS = (
    "Who is current, and who is due?",
    "What does the whole unit find hardest?",
    "Is it getting better?",
    "What can we prove?",
)


def said(page: CohortPage) -> str:
    return "\n".join(texts(page))


@pytest.mark.parametrize("kind", KINDS)
def test_the_first_page_answers_the_four_questions_in_order(kind: str) -> None:
    page, figures = made(kind)
    assert tuple(answer.question for answer in page.answers) == QUESTIONS
    for answer in page.answers:
        assert answer.headline.endswith(".")
        if answer.picture is not None:
            assert answer.picture.picture in figures
    if kind == "whole":
        assert all(answer.picture is not None for answer in page.answers)


def test_every_answer_of_the_whole_cohort_has_its_number_and_interval() -> None:
    current, weak, better, proof = made("whole")[0].answers
    assert re.match(r"\d+ of \d+ people are current", current.headline)
    assert re.search(r"in \d+ of \d+ \(\d+\s%, 97\.5\s% interval \d+ to \d+\s%\)", weak.headline)
    assert re.search(r"\+\d\.\d percentage points a quarter \(97\.5\s% interval", better.headline)
    assert any("Birth centre is drifting" in line for line in better.sentences)
    assert re.match(r"\d+ of 300 sessions count as proof", proof.headline)
    assert any("kappa" in line for line in proof.sentences)
    assert any("does not prove" in line for line in proof.sentences)


@pytest.mark.parametrize("kind", KINDS)
def test_it_says_nothing_that_a_colleague_would_not_say(kind: str) -> None:
    assert odd(texts(made(kind)[0])) == []


@pytest.mark.parametrize("kind", ["few", "one session"])
def test_few_sessions_are_called_few(kind: str) -> None:
    page, _ = made(kind)
    assert page.notices[0].startswith("Only a few sessions: ")
    _, weak, better, _ = page.answers
    assert weak.headline.startswith("Too few to tell")
    assert better.headline.startswith("Too few to tell")


def test_a_store_without_anything_says_so() -> None:
    page, figures = made("nothing")
    assert "No session in this period counts" in page.notices[0]
    assert page.answers[0].headline.startswith("No roster has been imported")
    assert page.answers[3].headline.startswith("There are no sessions")
    assert figures == {}
    assert page.chapters == ()


def test_without_a_roster_nobody_is_called_current_or_due() -> None:
    page, _ = made("no roster")
    assert "No roster" in page.answers[0].headline
    assert "Who is due" not in [chapter.title for chapter in page.chapters]


@pytest.mark.parametrize("kind", KINDS)
def test_no_name_is_in_it_and_no_value_that_is_none(kind: str) -> None:
    text = said(made(kind)[0])
    assert not any(person.name in text for person in cohort().roster.trainees)
    for word in (r"\bnan\b", r"\bNone\b", r"\binf\b", "  ", r"\d\.\d{4}"):
        assert re.search(word, text) is None, word


@pytest.mark.parametrize("kind", KINDS)
def test_its_words_are_about_actions_and_kind(kind: str) -> None:
    text = said(made(kind)[0]).lower()
    for word in ("poor", "blame", "incompetent", "guilty", "bad ", "worst", "culprit", "the key "):
        assert word not in text


@pytest.mark.parametrize("kind", KINDS)
def test_numbers_have_their_units(kind: str) -> None:
    page, _ = made(kind)
    for table in (table for chapter in page.chapters for table in chapter.tables):
        for row in table.rows:
            assert len(row) == len(table.columns), table.title
            for column, cell in zip(table.columns, row, strict=True):
                if re.fullmatch(r"−?\d+(\.\d+)?", cell):
                    # a bare number is a count or a coefficient, which its heading names
                    assert column in COUNTS | COEFFICIENTS, (table.title, column, cell)


COUNTS = {
    *("People", "Current", "Due soon", "Overdue", "Never", "On leave", "Sessions", "Measured"),
    *("Current in all", "Overdue or never, in something", "People with an attempt"),
    "Likely to meet it next time",
}
COEFFICIENTS = {"Phi", "q", "Dependability"}


def test_the_coordinator_sees_codes_and_what_is_published_does_not() -> None:
    codes = {trainee.code for trainee in cohort().roster.trainees}
    own = said(made("whole")[0])
    assert any(code in own for code in codes)
    published = said(made("published")[0])
    assert not any(code in published for code in codes)


def test_small_groups_are_hidden_in_what_is_published() -> None:
    page, _ = made("published")
    (due,) = [chapter for chapter in page.chapters if chapter.title == "Who is due"]
    for row in due.tables[0].rows:
        for cell in row[3:]:
            assert cell == "not shown" or cell == "0" or int(cell) >= 5, row
    hidden_somewhere = [row for row in due.tables[0].rows if "not shown" in row]
    assert hidden_somewhere
    for row in hidden_somewhere:
        # one hidden cell alone could be told from the sum
        assert row.count("not shown") >= 2
    for name in (r"^[1-4] of", r" [1-4] overdue", r"^[1-4] on leave"):
        assert not any(re.search(name, text) for text in texts(page.answers[0]))


def test_a_unit_of_fewer_than_five_is_not_broken_down_even_for_its_coordinator() -> None:
    whole = material("whole")
    moved = {trainee.code for trainee in whole.roster.trainees[:3]}
    trainees = tuple(
        replace(trainee, postings=(Posting("Night team", date(2020, 1, 1)),))
        if trainee.code in moved
        else trainee
        for trainee in whole.roster.trainees
    )
    page, _ = cohort_page(replace(whole, roster=replace(whole.roster, trainees=trainees)))
    (due,) = [chapter for chapter in page.chapters if chapter.title == "Who is due"]
    (by_unit,) = [table for table in due.tables if table.title == "By unit"]
    (row,) = [row for row in by_unit.rows if row[0] == "Night team"]
    assert row[1:] == ("fewer than 5, or not shown", "–", "–")


def test_of_many_units_those_with_the_most_teams_are_compared() -> None:
    whole = material("whole")
    units = [f"Unit {n:02d}" for n in range(12)]
    several = [session for _ in range(4) for session in whole.results]
    results = tuple(
        replace(session, session=str(n), unit=units[min(n % 25, 11)])
        for n, session in enumerate(several)
    )
    page, _ = cohort_page(replace(whole, results=results))
    (table,) = [
        table
        for chapter in page.chapters
        for table in chapter.tables
        if table.title == "By unit" and table.columns[0] == "Step"
    ]
    assert f"With more than {MOST_UNITS} units" in table.note
    for row in table.rows:
        assert row[2].count("Unit ") <= MOST_UNITS
        assert row[3].count("chi-square") <= MOST_UNITS * (MOST_UNITS - 1) // 2


def test_a_unit_s_report_is_about_its_own_people_and_sessions() -> None:
    whole = material("whole")
    own = tuple(session for session in whole.results if session.unit == "Birth centre")
    page, _ = cohort_page(replace(whole, unit="Birth centre", results=own, threats=()))
    match = re.match(r"\d+ of (\d+) people", page.answers[0].headline)
    assert match is not None
    there = [
        trainee
        for trainee in whole.roster.trainees
        if whole.on_unit.get(trainee.code) == "Birth centre"
    ]
    assert int(match[1]) <= len(there)
    assert "Birth centre" in page.subtitle
    assert "Labour ward" not in said(page)


def test_the_page_comes_out_the_same_each_time() -> None:
    assert cohort_page(material("few"))[0] == made("few")[0]


def test_each_figure_says_what_it_shows() -> None:
    page, figures = made("whole")
    named = [answer.picture for answer in page.answers if answer.picture is not None]
    named += [picture for chapter in page.chapters for picture in chapter.pictures]
    assert {chapter.picture for chapter in named} == set(figures)
    assert len({chapter.picture for chapter in named}) == len(named)
    for chapter in named:
        assert len(chapter.alt) > 60
        assert re.search(r"\d", chapter.alt)


def with_team(material_of: Material, chosen: str, codes: tuple[str, ...]) -> Material:
    """Return the same with these people alone in the sessions of a unit."""
    results = tuple(
        replace(session, team={"leader": codes}) if session.unit == chosen else session
        for session in material_of.results
    )
    return replace(material_of, results=results)


def test_figures_of_a_unit_with_fewer_than_five_people_are_not_told() -> None:
    few = with_team(material("whole"), "Birth centre", ("aaaa", "bbbb"))
    assert few.told_units == ("Labour ward", "Newborn unit")
    assert not any(
        "Birth centre is drifting" in line for line in said(cohort_page(few)[0]).splitlines()
    )
    # in what is published the next smallest could be told from the total, and is hidden too
    assert replace(few, published=True).told_units == ("Labour ward",)
    assert few.scenarios.keys() == {
        session.scenario for session in few.learning if session.scenario != "larkmoor-term-vigorous"
    }


def test_nothing_is_published_of_fewer_than_five_people() -> None:
    whole = material("whole")
    own = tuple(session for session in whole.results if session.unit == "Birth centre")
    few = with_team(replace(whole, results=own, threats=()), "Birth centre", ("aaaa", "bbbb"))
    page, figures = cohort_page(replace(few, published=True))
    assert any("nothing about them is published" in notice for notice in page.notices)
    assert figures == {}
    assert page.answers[3].headline.startswith("There are no sessions")


def hospital_of(people: int) -> Material:
    """The invented hospital with as many people of whom something is asked."""
    whole = material("whole")
    codes = sorted({entry.code for entry in whole.asked})
    some = [entry for entry in whole.asked if entry.code in codes[:people]]
    more = [replace(some[0], code=f"more{n:03d}") for n in range(people - len(codes))]
    return replace(whole, standing=(*some, *more), results=whole.results[:20])


@pytest.mark.parametrize(("people", "listed"), [(60, True), (61, False), (200, False)])
def test_a_report_over_more_than_60_people_has_no_page_of_bare_codes(
    people: int, listed: bool
) -> None:
    given = hospital_of(people)
    codes = {entry.code for entry in given.asked}
    assert len(codes) == people
    page, _ = cohort_page(given)
    bare = [text for text in texts(page) if text in codes]
    assert bool(bare) == listed
    if listed:
        return
    named = [code for code in codes if code in said(page)]
    assert len(named) <= 2, "the two who are longest overdue, in a sentence"
    chapter = due_chapter(given)
    assert chapter is not None
    assert any("can be downloaded from there" in note for note in chapter.notes)
