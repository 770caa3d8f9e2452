"""Who left longer ago than records are kept."""

from __future__ import annotations

from datetime import date

from simengine.people.roster import Posting, Trainee, last_day, past_retention

ENDED = Posting("north", date(2020, 1, 1), date(2024, 1, 31))
OPEN = Posting("south", date(2024, 2, 1))


def test_the_last_day_is_the_one_named_or_the_end_of_the_last_stay() -> None:
    assert last_day(Trainee("a", "nurse", (ENDED, OPEN))) is None
    assert last_day(Trainee("a", "nurse", (ENDED, OPEN), left=date(2025, 5, 5))) == date(2025, 5, 5)
    assert last_day(Trainee("a", "nurse", (ENDED,))) == date(2024, 1, 31)
    assert last_day(Trainee("a", "nurse", ())) is None


def test_a_record_is_kept_for_whole_calendar_months_with_their_last_day() -> None:
    gone = Trainee("a", "nurse", (ENDED,))
    stays = Trainee("b", "nurse", (OPEN,))
    assert past_retention((gone, stays), 25, date(2026, 2, 28)) == []  # one month after 31 January
    assert past_retention((gone, stays), 25, date(2026, 3, 1)) == [(gone, date(2024, 1, 31))]
    assert past_retention((gone, stays), None, date(2099, 1, 1)) == []
