"""Who is current, who is due? The first answer, and the list behind it.

Rules of this file:

- A person is as current as the requirement in which they stand worst. On leave nobody is chased.
- Codes, never names; in what is published neither codes nor counts of one to four people.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from matplotlib.figure import Figure

from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Answer, Chapter
from simengine.cohort_report.picture.bars import KINDS, Bar, draw_bars
from simengine.cohort_report.picture.scale import HALF
from simengine.people.currency import Currency, Status, to_do
from simengine.people.small_groups import LEAST_PEOPLE, hidden
from simengine.quantities.wording import count, day, listed, short_day
from simengine.report.blocks import Picture, Table

ORDER: tuple[Status, ...] = ("current", "due", "overdue", "never", "on leave")
_WORST: tuple[Status, ...] = ("overdue", "never", "due", "current")
QUESTION = "Who is current, and who is due?"
LISTED = 80
"""Lines of the list that are printed; the console has them all."""
UNDER = f"under {LEAST_PEOPLE}"


def who_is_due(material: Material) -> tuple[Answer, dict[str, Figure]]:
    """Return the answer and its figure."""
    asked = material.asked
    if not asked:
        return Answer(QUESTION, _nobody(material), (), None), {}
    worst = _persons(asked)
    people = len(worst)
    tally = Counter(worst.values())
    there = people - tally["on leave"]
    headline = (
        f"{_first(tally['current'], material)} of {count(there, 'person', 'people')} are current "
        "in all that is asked of them."
    )
    behind = [
        f"{_told(tally['overdue'], material)} overdue in something",
        f"{_told(tally['never'], material)} in something never done",
        f"{_told(tally['due'], material)} due soon",
    ]
    sentences = [f"Of the others: {listed(behind)}."]
    if tally["on leave"]:
        sentences.append(
            f"{_first(tally['on leave'], material)} on leave, for whom the clock stands still."
        )
    urgent = to_do(asked)
    if urgent and not material.published:
        titles = {need.id: need.title for need in material.roster.requirements}
        first = [
            f"{one.code} ({titles[one.requirement].lower()}, since {short_day(one.until)})"
            for one in urgent
            if one.status == "overdue"
        ][:2]
        if first:
            sentences.append(f"Longest overdue: {listed(first)}. The whole list is below.")
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
    if not material.published:
        tables.append(_list(material))
    return Chapter(
        "Who is due",
        (
            f"As of {day(material.today)}. A requirement is met by a signed outcome of an assessed "
            "session, “achieved”, in a scenario and role that it names, or by a certificate from "
            "outside. Leave pauses it.",
        ),
        tables=tuple(tables),
        notes=("Formative sessions and rehearsals are practice: they never make anybody current.",),
    )


def _nobody(material: Material) -> str:
    if not material.roster.trainees:
        return "No roster has been imported yet, so nobody can be called current or due."
    if not material.roster.requirements:
        return "The roster asks nothing of anybody yet, so nobody can be called current or due."
    return "Nothing is asked of anybody on this day."


def _persons(asked: Sequence[Currency]) -> dict[str, Status]:
    """Return each person's worst standing."""
    out: dict[str, Status] = {}
    for one in asked:
        before = out.get(one.code)
        if one.status == "on leave":
            out[one.code] = "on leave"
        elif before != "on leave" and (
            before is None or _WORST.index(one.status) < _WORST.index(before)
        ):
            out[one.code] = one.status
    return out


def _told(number: int, material: Material) -> str:
    return UNDER if material.published and 0 < number < LEAST_PEOPLE else str(number)


def _first(number: int, material: Material) -> str:
    """Tell a number that begins a sentence."""
    words = _told(number, material)
    return words[:1].upper() + words[1:]


def _counts(some: Sequence[Currency]) -> Mapping[Status, list[str]]:
    out: dict[Status, list[str]] = {status: [] for status in ORDER}
    for one in some:
        out[one.status].append(one.code)
    return out


def _shown(some: Sequence[Currency], material: Material) -> tuple[int | None, ...]:
    """Return how many stand where, in order; ``None`` where that is not told."""
    counts = _counts(some)
    out = hidden(counts) if material.published else frozenset()
    return tuple(None if status in out else len(counts[status]) for status in ORDER)


def _picture(material: Material) -> tuple[Picture, Figure]:
    bars, said = [], []
    for need in material.roster.requirements:
        some = [one for one in material.asked if one.requirement == need.id]
        if not some:
            continue
        counts = _shown(some, material)
        bars.append(Bar(need.title, counts, count(len(some), "person", "people")))
        parts = [
            f"{number} {kind.word}" if number is not None else f"{kind.word} not shown"
            for number, kind in zip(counts, KINDS, strict=True)
            if number != 0
        ]
        said.append(f"{need.title}: {listed(parts)}")
    note = (
        "A part that is not drawn counts too few people to be shown." if material.published else ""
    )
    picture = Picture(
        "standing",
        "People by requirement",
        (),
        f"Bars of people by requirement. {'. '.join(said)}.",
        note,
    )
    return picture, draw_bars(bars, KINDS, wide=HALF)


def _by_requirement(material: Material) -> Table:
    rows = []
    for need in material.roster.requirements:
        some = [one for one in material.asked if one.requirement == need.id]
        cells = ["not shown" if one is None else str(one) for one in _shown(some, material)]
        often = f"{count(need.every_months, 'month')}"
        rows.append((need.title, often, str(len(some)), *cells))
    return Table(
        "By requirement",
        ("Requirement", "Every", "People", "Current", "Due soon", "Overdue", "Never", "On leave"),
        tuple(rows),
        note=(
            "“Not shown”: fewer than five people, or the next smallest group, from which they "
            "could be told."
            if material.published
            else ""
        ),
    )


def _by_unit(material: Material) -> Table | None:
    """Return how many are behind on each unit; small units are not broken down."""
    units: dict[str, dict[str, Status]] = {}
    for code, status in _persons(material.asked).items():
        units.setdefault(material.on_unit.get(code, "elsewhere"), {})[code] = status
    if len(units) < 2:
        return None
    small = hidden({unit: set(people) for unit, people in units.items()})
    rows = []
    for unit, people in sorted(units.items()):
        if unit in small:
            rows.append((unit, f"fewer than {LEAST_PEOPLE}, or not shown", "–", "–"))
            continue
        tally = Counter(people.values())
        behind = tally["overdue"] + tally["never"]
        rows.append(
            (unit, str(len(people)), _told(tally["current"], material), _told(behind, material))
        )
    return Table(
        "By unit",
        ("Unit", "People", "Current in all", "Overdue or never, in something"),
        tuple(rows),
    )


def _when(one: Currency, material: Material) -> str:
    if one.status == "overdue":
        return f"ran out on {day(one.until)}"
    return f"by {day(one.until)}" if one.until >= material.today else "at once"


def _list(material: Material) -> Table:
    titles = {need.id: need.title for need in material.roster.requirements}
    words: dict[Status, str] = {"due": "due soon", "overdue": "overdue", "never": "never met"}
    every = to_do(material.asked)
    rows = tuple(
        (one.code, titles[one.requirement], words[one.status], _when(one, material))
        for one in every[:LISTED]
    )
    return Table(
        "What to arrange, the most urgent first",
        ("Trainee code", "Requirement", "Standing", "When"),
        rows,
        lead=(
            f"{count(len(every), 'line')}. Codes, not names: those are the coordinator's."
            if rows
            else "Nothing: everybody is current."
        ),
        note=f"And {len(every) - LISTED} more." if len(every) > LISTED else "",
    )
