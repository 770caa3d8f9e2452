"""What holds for every page of the cohort: its token, its policy, its size, who can read it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from simengine.store import people
from simengine.store.threats import threats
from simengine.web.shelf import Shelf
from tests.console.consoles import Browser
from tests.coordinator.ward import Ward, words_of
from tests.report.shapes import NEVER, odd

PAGES = (
    "/cohort",
    "/cohort/roster",
    "/cohort/due",
    "/cohort/attendance",
    "/cohort/drills",
    "/cohort/plan",
    "/cohort/matrix",
    "/cohort/matrix?by=requirements",
    "/cohort/figures",
    "/cohort/outcomes",
    "/cohort/outcomes/{session}",
    "/cohort/agreement",
    "/cohort/threats",
    "/cohort/views",
    "/cohort/code",
    "/cohort/access",
    "/cohort/privacy",
    "/cohort/settings",
    "/cohort/people/N-104",
    "/cohort/people/N-104/audit",
    "/cohort/people/N-104/erase",
)
FORMS = (
    "/cohort/threats",
    "/cohort/code",
    "/cohort/settings",
    "/cohort/attendance",
    "/cohort/plan",
    "/cohort/drills",
    "/cohort/figures",
    "/cohort/outcomes/{session}",
    "/cohort/people/N-104/erase",
    "/leave",
)


class Visited:
    """A ward with an assessment in it, that no test changes."""

    def __init__(self, ward: Ward) -> None:
        self.ward = ward
        ward.import_roster()
        self.session = ward.held(purpose="summative", unit="birth unit")
        ward.coordinator.form("/cohort/threats", words="No spare mask", category="equipment")

    @property
    def coordinator(self) -> Browser:
        return self.ward.coordinator


@pytest.fixture(scope="module")
def visited(tmp_path_factory: pytest.TempPathFactory, shelf: Shelf) -> Iterator[Visited]:
    made = Ward(tmp_path_factory.mktemp("pages"), shelf)
    with made.client:
        yield Visited(made.begin())


@pytest.mark.parametrize("page", PAGES)
def test_a_page_has_no_script_or_style_in_it_and_says_who_can_read_it(
    visited: Visited, page: str
) -> None:
    answer = visited.coordinator.client.get(page.format(session=visited.session))
    assert answer.status_code == 200
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert answer.headers["cache-control"] == "no-store"
    for script in answer.text.split("<script")[1:]:
        assert "src=" in script.partition(">")[0]
    for forbidden in ("<style", " style=", " onclick=", "http-equiv", "://fonts", "https://"):
        assert forbidden not in answer.text, forbidden
    words = words_of(answer)
    assert "Who can read this page:" in words
    assert "the computer account that runs the console can read the data folder" in words
    assert "SIMULATION" in answer.text


@pytest.mark.parametrize("page", PAGES)
def test_a_page_says_nothing_that_a_colleague_would_not_say(visited: Visited, page: str) -> None:
    answer = visited.coordinator.client.get(page.format(session=visited.session))
    assert ">None<" not in answer.text
    # the page of the roster names the columns of a file as they are spelt in it
    shapes = [shape for shape in NEVER if page != "/cohort/roster" or "_" not in shape]
    assert odd([words_of(answer)], "None", shapes) == []


@pytest.mark.parametrize("page", PAGES)
def test_no_name_stands_in_an_address(visited: Visited, page: str) -> None:
    text = visited.coordinator.client.get(page.format(session=visited.session)).text
    for part in text.split('href="')[1:]:
        address = part.partition('"')[0]
        assert "Example" not in address
        assert "Ada" not in address


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("token", ["", "0" * 64])
def test_nothing_is_changed_without_the_token_of_the_page(
    visited: Visited, form: str, token: str
) -> None:
    log = visited.ward.log(visited.session)
    answer = visited.coordinator.client.post(
        form.format(session=visited.session),
        data={
            "csrf_token": token, "words": "x", "category": "drugs", "trainee": "N-104",
            "retention_months": "1", "do": "supersede", "by": "x", "typed": "N-104",
        },
        follow_redirects=False,
    )  # fmt: skip
    assert answer.status_code == 403
    store = visited.ward.hub.store
    assert len(threats(store)) == 1
    assert len(people.roster(store).trainees) == 4
    assert visited.ward.log(visited.session) == log


@pytest.mark.parametrize("form", FORMS)
def test_a_page_of_another_address_can_send_nothing(visited: Visited, form: str) -> None:
    answer = visited.coordinator.client.post(
        form.format(session=visited.session),
        data={"csrf_token": visited.coordinator.token, "typed": "N-104"},
        headers={"origin": "http://evil.example"},
    )
    assert answer.status_code == 403


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("query", ["page=%00", "unit=%27%3B--", "page=9" * 9, "whom=%F0%9F%98%80"])
def test_what_is_asked_oddly_is_answered_all_the_same(
    visited: Visited, page: str, query: str
) -> None:
    joined = "&" if "?" in page else "?"
    address = f"{page.format(session=visited.session)}{joined}{query}"
    assert visited.coordinator.client.get(address).status_code in (200, 422)


@pytest.mark.parametrize("code", ["%00", "..%2f..", "a" * 3000, "%F0%9F%98%80", "'--"])
def test_a_code_of_any_form_is_nobodys(visited: Visited, code: str) -> None:
    answer = visited.coordinator.client.get(f"/cohort/people/{code}")
    assert answer.status_code == 404
    assert words_of(answer)


def test_sessions_are_listed_a_page_at_a_time(visited: Visited) -> None:
    for _ in range(52):
        visited.ward.plan()
    first = visited.ward.client.get("/").text
    assert first.count("/prebrief") == 50
    assert "Older ones" in first
    second = visited.ward.client.get("/?page=2").text
    assert "Older ones" not in second
    assert "Newer ones" in second
    assert visited.session in second, "the oldest is on the last page"
