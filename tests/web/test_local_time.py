"""A person reads the time of the clocks on the wall here; the log has UTC.

Expected times: the IANA time zone database (Europe/Berlin: UTC+1, in summer UTC+2 from the last
Sunday of March to the last of October; Pacific/Auckland: UTC+13 in its summer).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import simengine
from simengine.web.local_time import local, local_day

Zone = Callable[[str], None]


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Zone]:
    def there(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield there
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize(
    ("where", "wall", "told"),
    [
        ("UTC", "2026-03-03T09:05:00.000Z", "3 March 2026, 09:05"),
        ("Europe/Berlin", "2026-03-03T09:05:00.000Z", "3 March 2026, 10:05"),
        ("Europe/Berlin", "2026-07-03T22:30:00Z", "4 July 2026, 00:30"),
        ("Pacific/Auckland", "2026-03-03T09:05:00+00:00", "3 March 2026, 22:05"),
    ],
)
def test_an_instant_is_told_as_the_clocks_here_have_it(
    zone: Zone, where: str, wall: str, told: str
) -> None:
    zone(where)
    assert local(wall) == told
    assert local_day(wall) == told.partition(",")[0]


def test_what_is_no_instant_is_told_as_it_stands() -> None:
    assert (local("soon"), local_day("")) == ("soon", "")


def test_no_page_heads_its_times_as_those_of_another_zone() -> None:
    templates = list(Path(simengine.__file__).parent.glob("**/templates/**/*.j2"))
    assert templates
    assert [path.name for path in templates if "UTC" in path.read_text("utf-8")] == []
