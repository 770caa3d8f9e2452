"""Who is current, who is due? The first answer, and the list behind it.

Rules of this file:

- A person is as current as the requirement in which they stand worst. On leave nobody is chased.
- Codes, never names; in what is published neither codes nor counts of one to four people.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from matplotlib.figure import Figure

from simengine.cohort_report.cohort_page import Answer, Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.material import Material
from simengine.cohort_report.picture.bars import KINDS, Bar, draw_bars
from simengine.cohort_report.picture.scale import HALF
from simengine.people.currency import Currency, Status, persons, to_do
from simengine.people.small_groups import LEAST_PEOPLE, hidden
from simengine.quantities.formatting import count, day, listed, short_day
from simengine.report.blocks import Picture, Table

ORDER: tuple[Status, ...] = ("current", "due", "overdue", "never", "on leave")
QUESTION = say("question_who")
LISTED = 80
"""Lines of the list that are printed; the console has them all."""
LISTED_PEOPLE = 60
"""Of more people no list is printed: a page of bare codes tells nobody anything."""
UNDER = say("under", least_people=LEAST_PEOPLE)


def who_is_due(material: Material) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure."""
    standing = material.asked
    if not standing:
        return Answer(QUESTION, _nobody(material), (), None), {}
    worst = persons(standing)
    people = len(worst)
    tally = Counter(worst.values())
    there = people - tally["on leave"]
    headline = say(
        "who_is_due_current_all_asked",
        first=_first(tally["current"], material),
        people=count(there, "person", "people"),
    )
    behind = [
        say("who_is_due_overdue_something", told=_told(tally["overdue"], material)),
        say("who_is_due_something_never_done", told=_told(tally["never"], material)),
        say("who_is_due_due_soon", told=_told(tally["due"], material)),
    ]
    sentences = [say("who_is_due_others", list=listed(behind))]
    if tally["on leave"]:
        sentences.append(
            say("who_is_due_leave_for_whom", first=_first(tally["on leave"], material))
        )
    urgent = to_do(standing)
    if urgent and not material.published:
        titles = {need.id: need.title for need in material.roster.requirements}
        first = [
            say(
                "who_is_due_since",
                code=entry.code,
                titles=titles[entry.requirement].lower(),
                until=short_day(entry.until),
            )
            for entry in urgent
            if entry.status == "overdue"
        ][:2]
        if first:
            sentences.append(say("who_is_due_longest_overdue_whole", list=listed(first)))
    picture, figure = _picture(material)
    return Answer(QUESTION, headline, tuple(sentences), picture), {picture.picture: figure}


def due_chapter(material: Material) -> Chapter | None:
    """Return the tables behind the answer; ``None`` where nothing is asked of anybody."""
    if not material.asked:
        return None
    tables = [_by_requirement(material)]
    by_unit = _by_unit(material)
    if by_unit is not None:
        tables.append(by_unit)
    notes = [say("due_chapter_formative_sessions_rehearsals")]
    if not material.published:
        if len({entry.code for entry in material.asked}) > LISTED_PEOPLE:
            lines = count(len(to_do(material.asked)), "line")
            notes.append(say("due_chapter_list_elsewhere", lines=lines))
        else:
            tables.append(_list(material))
    return Chapter(
        say("due_chapter_who_due"),
        (say("due_chapter_as_requirement_met", today=day(material.today)),),
        tables=tuple(tables),
        notes=tuple(notes),
    )


def _nobody(material: Material) -> str:
    if not material.roster.trainees:
        return say("nobody_no_roster_has")
    if not material.roster.requirements:
        return say("nobody_roster_asks_nothing")
    return say("nobody_nothing_asked_anybody")


def _told(number: int, material: Material) -> str:
    return UNDER if material.published and 0 < number < LEAST_PEOPLE else str(number)


def _first(number: int, material: Material) -> str:
    """Tell a number that begins a sentence."""
    words = _told(number, material)
    return words[:1].upper() + words[1:]


def _counts(some: Sequence[Currency]) -> Mapping[Status, list[str]]:
    out: dict[Status, list[str]] = {status: [] for status in ORDER}
    for entry in some:
        out[entry.status].append(entry.code)
    return out


def _shown(some: Sequence[Currency], material: Material) -> tuple[int | None, ...]:
    """Return how many stand where, in order; ``None`` where that is not told."""
    counts = _counts(some)
    out = hidden(counts) if material.published else frozenset()
    return tuple(None if status in out else len(counts[status]) for status in ORDER)


def _picture(material: Material) -> tuple[Picture, Figure]:
    bars, sentences = [], []
    for need in material.roster.requirements:
        some = [entry for entry in material.asked if entry.requirement == need.id]
        if not some:
            continue
        counts = _shown(some, material)
        bars.append(Bar(need.title, counts, count(len(some), "person", "people")))
        parts = [
            f"{number} {kind.word}"
            if number is not None
            else say("picture_not_shown", word=kind.word)
            for number, kind in zip(counts, KINDS, strict=True)
            if number != 0
        ]
        sentences.append(f"{need.title}: {listed(parts)}")
    note = say("picture_part_not_drawn") if material.published else ""
    picture = Picture(
        "standing",
        say("picture_people_by_requirement"),
        (),
        say("picture_bars_people_by", list=". ".join(sentences)),
        note,
    )
    return picture, draw_bars(bars, KINDS, wide=HALF)


def _by_requirement(material: Material) -> Table:
    rows = []
    for need in material.roster.requirements:
        some = [entry for entry in material.asked if entry.requirement == need.id]
        cells = [
            say("by_requirement_not_shown") if number is None else str(number)
            for number in _shown(some, material)
        ]
        often = f"{count(need.every_months, 'month')}"
        rows.append((need.title, often, str(len(some)), *cells))
    return Table(
        say("by_requirement_title"),
        (
            say("by_requirement_requirement"),
            say("by_requirement_every"),
            say("by_requirement_people"),
            say("by_requirement_current"),
            say("by_requirement_due_soon"),
            say("by_requirement_overdue"),
            say("by_requirement_never"),
            say("by_requirement_leave"),
        ),
        tuple(rows),
        note=(say("by_requirement_note") if material.published else ""),
    )


def _by_unit(material: Material) -> Table | None:
    """Return how many are behind on each unit; small units are not broken down."""
    units: dict[str, dict[str, Status]] = {}
    for code, status in persons(material.asked).items():
        units.setdefault(material.on_unit.get(code, "elsewhere"), {})[code] = status
    if len(units) < 2:
        return None
    small = hidden({unit: set(people) for unit, people in units.items()})
    rows = []
    for unit, people in sorted(units.items()):
        if unit in small:
            rows.append((unit, say("by_unit_fewer_than_or", least_people=LEAST_PEOPLE), "–", "–"))
            continue
        tally = Counter(people.values())
        behind = tally["overdue"] + tally["never"]
        rows.append(
            (unit, str(len(people)), _told(tally["current"], material), _told(behind, material))
        )
    return Table(
        say("by_unit_title"),
        (
            say("by_unit_unit"),
            say("by_requirement_people"),
            say("by_unit_current_all"),
            say("by_unit_overdue_or_never"),
        ),
        tuple(rows),
    )


def _when(entry: Currency, material: Material) -> str:
    if entry.status == "overdue":
        return say("when_ran_out", until=day(entry.until))
    return (
        say("when_by", until=day(entry.until))
        if entry.until >= material.today
        else say("when_at_once")
    )


def _list(material: Material) -> Table:
    titles = {need.id: need.title for need in material.roster.requirements}
    words: dict[Status, str] = {
        "due": say("list_due_soon"),
        "overdue": "overdue",
        "never": say("list_never_met"),
    }
    every = to_do(material.asked)
    rows = tuple(
        (entry.code, titles[entry.requirement], words[entry.status], _when(entry, material))
        for entry in every[:LISTED]
    )
    return Table(
        say("list_what_arrange_most"),
        (
            say("list_trainee_code"),
            say("by_requirement_requirement"),
            say("list_standing"),
            say("list_when"),
        ),
        rows,
        lead=(
            say("list_lead", lines=count(len(every), "line"))
            if rows
            else say("list_nothing_everybody_current")
        ),
        note=say("list_note", every=len(every) - LISTED) if len(every) > LISTED else "",
    )
