"""The coordinator's first page: who is current, who is due, and what to do next."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from simengine.coordinator.contexts import Choice, Count, DueRow, HomePage, Step
from simengine.coordinator.page_words import (
    SIGNS,
    day_words,
    due_words,
    in_order,
    in_service,
    last_words,
    note_words,
    unit_on,
)
from simengine.coordinator.plan_form import AHEAD
from simengine.coordinator.rehearsed_words import rehearsed_words
from simengine.coordinator.which_unit import list_of_people
from simengine.coordinator.who_may_read import COORDINATOR_ALONE, person_address, today
from simengine.people.alike import same_key
from simengine.people.currency import STATUSES, Currency, persons
from simengine.people.roster import Roster, Trainee
from simengine.quantities.formatting import count
from simengine.store import Store, people
from simengine.store.bookings import bookings_between
from simengine.store.lists import currency_of, has_results
from simengine.web.app_state import state_of
from simengine.web.note_read import note_read
from simengine.web.pages import page
from simengine.web.paging import ROWS, page_number, pages_of
from simengine.web.security import Visitor

PATH = "/cohort"


@list_of_people(PATH)
async def home(request: Request, visitor: Visitor, unit: Choice) -> Response:
    """``GET /cohort``."""
    store, day, query = state_of(request).store, today(request), request.query_params

    def look() -> HomePage:
        roster = roster_asked(store, unit)
        standing = currency_of(store, part_of(roster, day, query, unit), day)
        return home_page(roster, standing, day, query, unit, page_number(request), store)

    # of a thousand people it takes a while, for which no running session waits
    data = await asyncio.to_thread(look)
    note_read(request, visitor, "list of who is due", [row.code for row in data.rows])
    return page(request, "cohort/home.html.j2", data)


def home_page(
    roster: Roster,
    standing: Sequence[Currency],
    day: date,
    asked: Mapping[str, str],
    unit: Choice,
    number: int,
    store: Store,
) -> HomePage:
    """Return the page for the filters ``asked``: ``unit``, profession, requirement, status."""
    trainees = {trainee.code: trainee for trainee in roster.trainees}
    filters, shown, listed = chosen_standing(roster, standing, day, asked, unit)
    chosen = {choice.name: choice.chosen for choice in filters} | {"search": search_of(asked)}
    counted = Counter(entry.status for entry in shown)
    worst = Counter(persons(shown).values())
    there = sum(worst.values()) - worst["on leave"]
    pages = pages_of(PATH, chosen, number, len(listed))
    titles = {requirement.id: requirement.title for requirement in roster.requirements}
    planned = _planned(store, day)
    return HomePage(
        here=PATH,
        readers=COORDINATOR_ALONE,
        day=day_words(day),
        people=sum(in_service(trainee, day) for trainee in roster.trainees),
        current=f"{worst['current']} of {count(there, 'person', 'people')}",
        search=chosen["search"],
        leaves_as=f"?{urlencode({name: value for name, value in chosen.items() if value})}",
        steps=_steps(roster, store),
        counts=tuple(
            Count(SIGNS[status], counted[status], _address({**chosen, "status": status}))
            for status in STATUSES
        )
        if roster.trainees and roster.requirements
        else (),
        filters=filters,
        rows=tuple(
            _row(
                entry, trainees[entry.code], titles[entry.requirement], day, planned.get(entry.code)
            )
            for entry in listed[max(0, pages.first - 1) : pages.first - 1 + ROWS]
        ),
        pages=pages,
        practice=rehearsed_words(store, trainees, day),
    )


def search_of(asked: Mapping[str, str]) -> str:
    """Return what is searched for, as it was typed."""
    return " ".join(asked.get("search", "").split())[:80]


def chosen_standing(
    roster: Roster, standing: Sequence[Currency], day: date, asked: Mapping[str, str], unit: Choice
) -> tuple[tuple[Choice, ...], list[Currency], list[Currency]]:
    """Return the filters, what they show in any standing, and the list in its order."""
    trainees = {trainee.code: trainee for trainee in roster.trainees}
    filters = filters_of(roster, asked, unit, statuses=True)
    chosen = {choice.name: choice.chosen for choice in filters}
    titles = {requirement.id: requirement.title for requirement in roster.requirements}
    search = same_key(search_of(asked))

    def found(entry: Currency) -> bool:
        who = trainees[entry.code]
        words = (who.name, who.code, unit_on(who, day), who.profession, titles[entry.requirement])
        return not search or any(search in same_key(word) for word in words)

    shown = [
        entry
        for entry in standing
        if fits(trainees[entry.code], day, chosen)
        and chosen["requirement"] in ("", entry.requirement)
        and found(entry)
    ]
    listed = [entry for entry in shown if chosen["status"] in ("", entry.status)]
    return filters, shown, sorted(listed, key=in_order)


def roster_asked(store: Store, unit: Choice) -> Roster:
    """Return the roster, of one unit where one is chosen.

    Then only its people are read, so that a unit's page does not grow with the others.
    """
    return people.roster_of(store, unit=unit.chosen) if unit.chosen else people.roster(store)


def filters_of(
    roster: Roster, asked: Mapping[str, str], unit: Choice, *, statuses: bool = False
) -> tuple[Choice, ...]:
    """Return what people can be chosen by beside their ``unit``, with every value there is."""
    professions = _alike(trainee.profession for trainee in roster.trainees)
    choices = [
        unit,
        _choice("profession", "Profession", "all professions", professions, asked),
    ]
    if statuses:
        needs = [(requirement.id, requirement.title) for requirement in roster.requirements]
        standings = [(status, SIGNS[status].words) for status in STATUSES]
        choices += [
            _choice("requirement", "Requirement", "all requirements", needs, asked),
            _choice("status", "Standing", "all standings", standings, asked),
        ]
    return tuple(choices)


def part_of(roster: Roster, day: date, asked: Mapping[str, str], unit: Choice) -> Roster:
    """Return the roster of those who have the unit and profession asked for; itself for all."""
    chosen = {choice.name: choice.chosen for choice in filters_of(roster, asked, unit)}
    if not any(chosen.values()):
        return roster
    shown = tuple(trainee for trainee in roster.trainees if fits(trainee, day, chosen))
    return replace(roster, trainees=shown)


def fits(trainee: Trainee, day: date, chosen: Mapping[str, str]) -> bool:
    """Whether a person has the unit and the profession that were chosen."""
    return chosen["unit"] in ("", unit_on(trainee, day)) and chosen["profession"] in (
        "",
        trainee.profession,
    )


def _choice(
    name: str,
    label: str,
    everything: str,
    options: Sequence[tuple[str, str]],
    query: Mapping[str, str],
) -> Choice:
    chosen = query.get(name, "")
    known = any(value == chosen for value, _ in options)
    return Choice(name, label, (("", everything), *options), chosen if known else "")


def _alike(words: Iterable[str]) -> list[tuple[str, str]]:
    """Return words as options whose value is the word itself."""
    return [(word, word) for word in sorted(set(words)) if word]


def _planned(store: Store, day: date) -> dict[str, date]:
    """Return who comes to a session that is planned, and the first day of theirs."""
    out: dict[str, date] = {}
    for booking in bookings_between(store, day, day + AHEAD):
        for code in booking.people if not booking.done else ():
            out.setdefault(code, booking.day)
    return out


def _row(
    entry: Currency, trainee: Trainee, requirement: str, day: date, planned: date | None
) -> DueRow:
    notes = [note_words(entry), f"session planned on {day_words(planned)}" if planned else ""]
    return DueRow(
        code=entry.code,
        name=trainee.name,
        address=person_address(entry.code),
        profession=trainee.profession,
        unit=unit_on(trainee, day),
        requirement=requirement,
        sign=SIGNS[entry.status],
        last=last_words(entry),
        due=due_words(entry, day),
        note=", ".join(note for note in notes if note),
    )


def _steps(roster: Roster, store: Store) -> tuple[Step, ...]:
    """Return the way from nothing to the answers, as long as something is still to be done."""
    ran = has_results(store)
    steps = (
        Step(
            "Import the people",
            "A CSV file from your spreadsheet: code (or none: one is made), profession, unit, "
            "first day. You see what would change before anything is saved.",
            "/cohort/roster",
            bool(roster.trainees),
        ),
        Step(
            "Say who needs what, how often",
            "A CSV file of requirements, such as cot preparation every 6 months for each nurse. "
            "It goes through the same page.",
            "/cohort/roster",
            bool(roster.requirements),
        ),
        Step(
            "Bring in sessions",
            "Run one from the educator's pages, or import logs that you have: "
            "simengine import FOLDER, on this machine, while the console runs.",
            "",
            ran,
        ),
    )
    return () if all(step.done for step in steps) else steps


def _address(query: Mapping[str, str]) -> str:
    return f"{PATH}?{urlencode({name: value for name, value in query.items() if value})}"
