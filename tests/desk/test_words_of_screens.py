"""No screen of the desk, of the room or of the practice check says what no colleague would."""

from __future__ import annotations

from collections.abc import Iterator

import orjson
import pytest

from simengine.desk.bedside_view import bedside_of, waiting_bedside
from simengine.desk.console_view import console_of
from simengine.desk.scene import Scene
from simengine.session import LiveSession
from tests import shipped
from tests.console.consoles import OTHER_COT, Desk
from tests.report.shapes import NEVER, odd
from tests.report.what_is_read import of_page, of_view
from tests.room.held import held

SHARES = (0.1, 0.25, 0.5, 0.75, 1.0)
"""How much of a session's record there is when its screens are looked at."""
PAGES = ("/", "/day", "/join", "/put-away", "/practice")
PRACTICE = {
    "row.bag": "away",
    "row.masks": "right",
    "fault.drugs.adrenaline_expired": "yes",
    "read.suction.suction_pressure": "20",
    "unit.suction.suction_pressure": "kPa",
}


def unsaid(texts: Iterator[str] | list[str]) -> list[str]:
    return odd(texts, shapes=NEVER)


@pytest.fixture(scope="module")
def visited(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A console that tests look at and add sessions to."""
    made = Desk(tmp_path_factory.mktemp("words"))
    with made.client:
        yield made.sign_in()


def page(desk: Desk, address: str) -> list[str]:
    answer = desk.client.get(address)
    assert answer.status_code == 200, answer.text[:500]
    return of_page(answer.text)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_nothing_that_a_colleague_would_not_say_is_on_a_screen_of_a_session(name: str) -> None:
    session = shipped.session(name)
    assert unsaid(of_view(orjson.loads(orjson.dumps(waiting_bedside(session.scenario, "s"))))) == []
    for share in SHARES:
        events = session.events[: max(1, round(share * len(session.events)))]
        scene = Scene(LiveSession(session.scenario, events).fold, events[-1].noted_ms, 0)
        for view in (
            console_of(scene, screens=1),
            bedside_of(scene, equipment=True),
            bedside_of(scene, equipment=False),
        ):
            assert unsaid(of_view(orjson.loads(orjson.dumps(view)))) == []


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_nor_in_its_review_its_debriefing_room_and_on_the_wall(visited: Desk, name: str) -> None:
    session = held(visited.hub, name)
    assert unsaid(page(visited, f"/s/{session}/review")) == []
    review = visited.client.get(f"/s/{session}/review.json").json()
    assert unsaid(of_view(review)) == []
    assert unsaid(page(visited, f"/s/{session}/room")) == []
    code = visited.app.state.web.keys.wall_code(session)
    wall = page(visited, f"/wall/{code}")
    assert unsaid(wall) == []


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_nor_before_a_session_and_as_it_begins(visited: Desk, name: str) -> None:
    session = visited.plan(name)
    assert unsaid(page(visited, f"/s/{session}/prebrief")) == []
    visited.form(f"/s/{session}/start", acknowledged="yes", other_cot=OTHER_COT)
    assert unsaid(page(visited, f"/s/{session}")) == []
    display = visited.hub.plan_of(session).display
    assert unsaid(page(visited, f"/d/{display}")) == []


@pytest.mark.parametrize("address", PAGES)
def test_nor_on_a_page_of_its_own(visited: Desk, address: str) -> None:
    assert unsaid(page(visited, address)) == []


@pytest.mark.parametrize("name", shipped.PROTOCOLS)
def test_nor_in_a_practice_check_and_its_findings(visited: Desk, name: str) -> None:
    made = visited.form("/practice", protocol=name, unit="Larkmoor")
    address = made.headers["location"]
    texts = page(visited, address)
    assert unsaid(texts) == []
    check = visited.client.get(address).text.partition('name="check" value="')[2].partition('"')[0]
    done = visited.form(address, check=check, **PRACTICE)
    assert done.status_code == 200
    assert "What was found" in of_page(done.text)
    assert unsaid(of_page(done.text)) == []
