"""A region: thousands of people, hundreds of units, of which a page shows one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from simengine.people.read_roster import read_roster
from simengine.people.roster import Posting, Roster, Trainee
from simengine.store.people import save_roster
from simengine.web.shelf import Shelf
from tests.coordinator.ward import NEEDS, Ward, words_of

UNITS = 120
ON_EACH = 9
OF_PEOPLE = ("/cohort", "/cohort/matrix", "/cohort/drills")
OF_SESSIONS = ("/cohort/outcomes", "/cohort/threats", "/cohort/figures")


@pytest.fixture(scope="module")
def region(tmp_path_factory: pytest.TempPathFactory, shelf: Shelf) -> Iterator[Ward]:
    folder = tmp_path_factory.mktemp("region")
    needs: Path = folder / "needs.csv"
    needs.write_text(NEEDS, encoding="utf-8")
    since = date(2024, 3, 1)
    people = tuple(
        Trainee(f"p{unit:03d}{n}", "nurse", (Posting(f"Ward {unit:03d}", since),))
        for unit in range(UNITS)
        for n in range(ON_EACH)
    )
    gone = Trainee("gone", "nurse", (Posting("Ward 000", since),), left=date(2025, 1, 31))
    moved = Trainee("moved", "nurse", (Posting("Ward 000", since, date(2024, 4, 1)),))
    made = Ward(folder, shelf)
    with made.client:
        made.begin()
        whole = Roster((*people, gone, moved), read_roster([needs]).roster.requirements)
        save_roster(made.hub.store, whole)
        yield made


def units_of(page: str) -> list[str]:
    return re.findall(r'<th scope="row"><a class="reach" href="[^"]*">([^<]+)</a>', page)


@pytest.mark.parametrize("path", OF_PEOPLE)
def test_a_list_of_thousands_of_people_asks_for_a_unit_first(region: Ward, path: str) -> None:
    page = region.coordinator.client.get(path)
    words = words_of(page)
    assert "Choose a unit Day or night There are more than 1,000 people here" in words
    assert "Ward 000 9 people" in words, "who left and who moved away are not counted"
    assert len(units_of(page.text)) == 50
    assert "1 to 50" in words
    seen = units_of(page.text)
    while after := re.search(r'rel="next" href="([^"]+)"', page.text):
        page = region.coordinator.client.get(after.group(1).replace("&amp;", "&"))
        seen += units_of(page.text)
    assert seen == [f"Ward {unit:03d}" for unit in range(UNITS)]


@pytest.mark.parametrize("path", OF_PEOPLE)
def test_the_unit_that_was_chosen_is_shown_alone(region: Ward, path: str) -> None:
    page = region.coordinator.client.get(path).text
    (address,) = re.findall(rf'href="({path}\?unit=Ward\+003)"', page)
    shown = region.coordinator.client.get(address).text
    assert set(re.findall(r"/cohort/people/(\w+)\"", shown)) == {f"p003{n}" for n in range(ON_EACH)}
    assert 'name="unit" value="Ward 003"' in shown, "the field says what is shown"


@pytest.mark.parametrize("path", [*OF_PEOPLE, *OF_SESSIONS])
def test_a_part_of_a_name_finds_the_units_that_have_it(region: Ward, path: str) -> None:
    units = units_of(region.coordinator.client.get(f"{path}?unit=ward+11").text)
    assert units == [f"Ward {unit:03d}" for unit in range(110, 120)]
    none = words_of(region.coordinator.client.get(f"{path}?unit=%25"))
    assert "No unit has “%” in its name" in none


@pytest.mark.parametrize("path", OF_PEOPLE)
def test_a_blank_beside_a_name_is_no_part_of_it(region: Ward, path: str) -> None:
    words = words_of(region.coordinator.client.get(f"{path}?unit=+Ward+003+"))
    assert "Choose a unit" not in words
    assert "p0030" in words
    assert "p0040" not in words


def test_beyond_the_last_page_of_units_there_is_a_way_back(region: Ward) -> None:
    page = region.coordinator.client.get("/cohort?page=9")
    assert "in its name" not in words_of(page)
    assert 'rel="prev" href="/cohort?page=8"' in page.text


@pytest.mark.parametrize("path", OF_SESSIONS)
def test_what_is_not_of_people_one_by_one_still_shows_all_units(region: Ward, path: str) -> None:
    words = words_of(region.coordinator.client.get(path))
    assert "Choose a unit" not in words


def test_the_other_filters_stay_as_a_unit_is_chosen(region: Ward) -> None:
    page = region.coordinator.client.get("/cohort?status=never&unit=Ward+11").text
    assert "/cohort?status=never&amp;unit=Ward+110" in page


def test_a_report_of_a_unit_that_is_none_is_not_made_of_all(region: Ward) -> None:
    answer = region.coordinator.form("/cohort/figures", unit="Ward 9")
    assert answer.status_code == 422
    assert "Unit: expected a unit of the roster, found &#39;Ward 9&#39;" in answer.text


def test_pages_of_a_region_say_who_can_read_them(region: Ward) -> None:
    assert "Who can read this page: the coordinator" in words_of(
        region.coordinator.client.get("/cohort")
    )
    assert region.another().client.get("/cohort").status_code == 403
