"""The debrief that the console answers with offers "what if?", and each question is answered."""

from __future__ import annotations

import re
from html import unescape

import pytest

from simengine.store.read_log import accesses
from tests.console.consoles import ODD_IDS, Desk, SetClock, entry

LATE_S = 75
"""When the baby is dried here: 45 s late."""


def ended(desk: Desk) -> str:
    """A session in which the baby was dried late, and which has ended."""
    session = desk.start(role__airway="a7p2")
    assert isinstance(desk.clock, SetClock)
    desk.clock.at_ms += 120_000
    desk.send(
        session,
        entry("event", 0, {"name": "birth"}),
        entry("action", LATE_S * 1000, {"action": "dry", "phase": "done", "role": "airway"}),
        entry("closed", 120_000, {"why": "stopped early"}),
    )
    return session


def links(page: str) -> dict[str, str]:
    """The questions of a page, each with the address that it leads to."""
    anchors = re.findall(r'<a class="reach" href="([^"]*)">([^<]*)</a>', page)
    return {unescape(words): unescape(address) for address, words in anchors}


def test_each_part_of_the_debrief_leads_to_the_answer_and_the_answer_leads_back(
    desk: Desk,
) -> None:
    session = ended(desk)
    whole = desk.client.get(f"/s/{session}/debrief?part=whole").text
    assert links(whole)["What if we had done this by 0:30?"].startswith("debrief/what-if?item=")
    home = links(desk.client.get(f"/s/{session}/debrief").text)
    answer = desk.client.get(f"/s/{session}/{home['What if a step had gone as aimed for?']}")
    (to_dry,) = [address for words, address in links(answer.text).items() if "Drying" in words]
    opened = desk.client.get(f"/s/{session}/debrief/what-if{to_dry}")
    assert opened.status_code == 200
    words = unescape(opened.text)
    assert "<h1>Drying the baby: what if we had done this by 0:30?</h1>" in words
    assert "You dried the baby at 1:15, 45 s late" in words
    assert "In this scenario, drying the baby by 0:30 would have" in words
    assert "It says nothing about a real baby." in words
    assert f'<a href="/s/{session}/debrief">← Debrief</a>' in words
    policy = opened.headers["content-security-policy"]
    assert "script-src" not in policy
    assert "default-src 'none'" in policy


def test_an_answer_is_worked_out_once_for_a_state_of_the_log_and_goes_with_the_debrief(
    desk: Desk,
) -> None:
    session = ended(desk)
    address = f"/s/{session}/debrief/what-if?item=expect:dry"
    first = desk.client.get(address).text
    (file,) = (desk.data / "debriefs" / session).glob("*/what-if/*/what-if.html")
    made = file.stat().st_mtime_ns
    assert desk.client.get(address).text == first
    assert file.stat().st_mtime_ns == made
    desk.app.state.web.debriefs.forget(session)
    assert not file.exists()


@pytest.mark.parametrize("item", ODD_IDS)
def test_what_is_no_item_is_answered_at_once_and_leaves_nothing_behind(
    desk: Desk, item: str
) -> None:
    session = ended(desk)
    answer = desk.client.get(f"/s/{session}/debrief/what-if", params={"item": item})
    assert answer.status_code == 404
    assert "Nothing to ask here" in answer.text
    assert "There is no “what if?” for this step on this page." in unescape(answer.text)
    assert not list((desk.data / "debriefs").glob("**/what-if"))


def test_that_it_was_read_is_written_down_of_everybody_who_took_part(desk: Desk) -> None:
    session = ended(desk)
    desk.client.get(f"/s/{session}/debrief/what-if")
    assert "debrief of a session" in {read.page for read in accesses(desk.hub.store, "a7p2")}
