"""The due list as files, read back by others' readers, and its reminders."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime

from simengine.exchange.due_list import (
    COLUMNS,
    DueLine,
    due_calendar,
    due_csv,
    due_xlsx,
    reminder,
    reminder_of_unit,
)

TODAY = date(2026, 3, 1)
LINES = [
    DueLine("k1ab", "Ännchen Berg", "north", "nurse", "cot", "Prepare the cot", "overdue",
            date(2026, 2, 1), date(2025, 8, 1)),
    DueLine("k1ab", "Ännchen Berg", "north", "nurse", "nls", "Life support", "never",
            date(2026, 3, 31), None),
    DueLine("k2cd", "", "north", "=1+1", "nls", "Life support", "due", date(2026, 4, 1),
            date(2025, 4, 1)),
]  # fmt: skip


def test_the_csv_has_every_line_and_runs_nothing() -> None:
    raw = due_csv(LINES)
    assert raw.startswith(b"\xef\xbb\xbf")
    heading, *rows = csv.reader(io.StringIO(raw.decode("utf-8-sig"), newline=""))
    assert tuple(heading) == COLUMNS
    assert rows[0] == [
        "k1ab", "Ännchen Berg", "north", "nurse", "Prepare the cot", "overdue", "2026-02-01",
        "2025-08-01",
    ]  # fmt: skip
    assert rows[1][-1] == ""
    assert rows[2][3] == "'=1+1"
    assert len(rows) == 3


def test_the_spreadsheet_is_read_by_openpyxl_with_days_as_days_and_texts_as_texts() -> None:
    from openpyxl import load_workbook

    (sheet,) = load_workbook(io.BytesIO(due_xlsx(LINES))).worksheets
    heading, *rows = sheet.iter_rows(values_only=True)
    assert heading == COLUMNS
    assert rows[0][6] == datetime(2026, 2, 1)  # noqa: DTZ001 - a day
    assert rows[1][7] is None
    assert rows[2][3] == "=1+1"
    assert sheet["D4"].data_type == "s"  # no formula
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == "A1:H4"
    assert load_workbook(io.BytesIO(due_xlsx([]))).worksheets[0].max_row == 1


def test_the_calendar_has_a_whole_day_for_each_and_the_same_id_each_time() -> None:
    """RFC 5545: lines end with CR LF and have 75 octets at most; DTEND is the day after."""
    from icalendar import Calendar

    stamp = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
    raw = due_calendar(LINES, stamp)
    assert raw.endswith(b"END:VCALENDAR\r\n")
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    events = list(Calendar.from_ical(raw).walk("VEVENT"))
    assert len(events) == 3
    first = events[0]
    assert first.decoded("dtstart") == date(2026, 2, 1)
    assert first.decoded("dtend") == date(2026, 2, 2)
    assert str(first["summary"]) == "Prepare the cot: Ännchen Berg (overdue)"
    assert str(events[2]["summary"]) == "Life support: k2cd (due soon)"
    assert first["transp"] == "TRANSPARENT"
    again = due_calendar(LINES, datetime(2026, 6, 1, tzinfo=UTC))
    ids = [
        [str(event["uid"]) for event in Calendar.from_ical(some).walk("VEVENT")]
        for some in (raw, again)
    ]
    assert ids[0] == ids[1]
    assert len(set(ids[0])) == 3


def test_a_reminder_names_what_is_due_and_nobody_else() -> None:
    text = reminder(LINES[:2], TODAY)
    assert text.startswith("Dear Ännchen Berg,")
    assert "- Prepare the cot: ran out on 1 February 2026" in text
    assert "- Life support: to be met for the first time by 31 March 2026" in text
    assert "k2cd" not in text
    assert "- Life support: holds until 1 April 2026" in reminder(LINES[2:], TODAY)
    assert reminder(LINES[:2], TODAY, named=False).startswith("Hello,")


def test_a_reminder_to_a_unit_names_nobody() -> None:
    text = reminder_of_unit("north", LINES, TODAY)
    assert "- Life support: 2 people" in text
    assert "- Prepare the cot: 1 person" in text
    assert not any(line.who in text for line in LINES)
