"""The due list on its way out: as CSV, as a spreadsheet, as calendar days, as reminders.

Rules of this file:

- A line is one person and one requirement. Names and codes stand in it as whoever asked may see
  them; the lists are the coordinator's own.
- CSV and spreadsheet have the same columns and every line. A cell that a spreadsheet would run as a
  formula is made harmless in CSV (``guard``); in the spreadsheet's own file texts are texts.
- The calendar (RFC 5545) has a whole day for each due day, which blocks nobody's time. Its id
  stays the same when it is exported again, so that a calendar program moves it rather than adding
  another.
- A reminder speaks to the person, names what is due and until when, and nobody else.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import NAMESPACE_URL, uuid5

from simengine.exchange.harmless_cells import guarded
from simengine.people.currency import Status
from simengine.quantities.formatting import day as day_words

COLUMNS = ("code", "name", "unit", "profession", "requirement", "standing", "due", "last_met")
_WIDTHS = (12, 24, 24, 20, 40, 12, 12, 12)
_WORDS: dict[Status, str] = {
    "overdue": "overdue",
    "never": "never met",
    "due": "due soon",
    "current": "current",
    "on leave": "on leave",
}


@dataclass(frozen=True, slots=True)
class DueLine:
    """One person and one requirement. ``due``: the last day on which it holds, or by which it is
    to be met first; ``last``: the day on which it was met last.
    """

    code: str
    name: str
    unit: str
    profession: str
    requirement: str
    title: str
    status: Status
    due: date
    last: date | None

    @property
    def who(self) -> str:
        """The name, or the code of whom no name is kept."""
        return self.name or self.code

    @property
    def standing(self) -> str:
        """The standing in words."""
        return _WORDS[self.status]

    @property
    def cells(self) -> tuple[str | date | None, ...]:
        """The cells of its row, in the order of ``COLUMNS``."""
        return (
            *(self.code, self.name, self.unit, self.profession, self.title, self.standing),
            *(self.due, self.last),
        )


def due_csv(lines: Iterable[DueLine]) -> bytes:
    """Return the lines as CSV, UTF-8 with a byte order mark."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    writer.writerow(COLUMNS)
    for line in lines:
        writer.writerow(
            [
                guarded(cell) if isinstance(cell, str) else cell.isoformat() if cell else ""
                for cell in line.cells
            ]
        )
    return out.getvalue().encode("utf-8-sig")


def due_xlsx(lines: Sequence[DueLine]) -> bytes:
    """Return the lines as a spreadsheet with days as days, filters, and a heading that stays."""
    import xlsxwriter

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as book:
        sheet = book.add_worksheet("Due list")
        bold = book.add_format({"bold": True})
        days = book.add_format({"num_format": "yyyy-mm-dd"})
        for column, (name, width) in enumerate(zip(COLUMNS, _WIDTHS, strict=True)):
            sheet.set_column(column, column, width)
            sheet.write_string(0, column, name, bold)
        for row, line in enumerate(lines, 1):
            for column, cell in enumerate(line.cells):
                if isinstance(cell, date):
                    at = datetime(cell.year, cell.month, cell.day)  # noqa: DTZ001 - a day
                    sheet.write_datetime(row, column, at, days)
                elif cell:
                    sheet.write_string(row, column, cell)
        sheet.freeze_panes(1, 0)
        sheet.autofilter(0, 0, max(1, len(lines)), len(COLUMNS) - 1)
    return out.getvalue()


def due_calendar(lines: Iterable[DueLine], stamp: datetime) -> bytes:
    """Return the due days as iCalendar; ``stamp``: the instant of the export, UTC."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//simengine//due list//EN")
    calendar.add("version", "2.0")
    for line in lines:
        event = Event()
        event.add("uid", str(uuid5(NAMESPACE_URL, f"simengine:due:{line.code}:{line.requirement}")))
        event.add("dtstamp", stamp.astimezone(UTC))
        event.add("dtstart", line.due)
        event.add("dtend", line.due + timedelta(days=1))
        event.add("summary", f"{line.title}: {line.who} ({line.standing})")
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def reminder(lines: Sequence[DueLine], today: date, *, named: bool = True) -> str:
    """Return a reminder for the one person that ``lines`` are of.

    ``named``: whether it begins with the name, which in an address would stay behind in places.
    """
    items = []
    for line in lines:
        if line.status == "never":
            when = f"to be met for the first time by {day_words(line.due)}"
        elif line.due < today:
            when = f"ran out on {day_words(line.due)}"
        else:
            when = f"holds until {day_words(line.due)}"
        items.append(f"- {line.title}: {when}")
    greeting = f"Dear {lines[0].who}" if named else "Hello"
    return (
        f"{greeting},\n\nthis simulation training is due for you:\n\n"
        + "\n".join(items)
        + "\n\nPlease arrange a session with your educator. If you have been away or have a "
        "certificate from elsewhere, tell us and the list is put right.\n"
    )


def reminder_of_unit(unit: str, lines: Sequence[DueLine], today: date) -> str:
    """Return a reminder to all of a unit: how many are asked of what, and nobody by name."""
    people: dict[str, set[str]] = {}
    for line in lines:
        people.setdefault(line.title, set()).add(line.code)
    items = [
        f"- {title}: {len(codes)} {'person' if len(codes) == 1 else 'people'}"
        for title, codes in sorted(people.items())
    ]
    return (
        f"To all on {unit}\n\nsimulation training is due or overdue on {day_words(today)} for:\n\n"
        + "\n".join(items)
        + "\n\nEverybody concerned gets a reminder of their own. Please arrange a session with "
        "your educator.\n"
    )
