"""After a rehearsal: its debrief, its own times, and again from a state that was passed."""

from __future__ import annotations

import re

from simengine.session.retry import LASTS_MS
from tests.console.consoles import ODD_IDS
from tests.coordinator.ward import words_of
from tests.rehearsal.one_person import OnePerson, by_the_book
from tests.rehearsal.playing import Player


def ended(player: Player, ventilates_at: int = 30, **fields: str) -> Player:
    """A rehearsal in which the baby is ventilated so many seconds after the birth, and no more."""
    player.begin(**fields).turns("gas_flow", 8).wait(5).touch("begin")
    player.wait(1).does("dry").wait(ventilates_at - 1).does("mask_ventilation").wait(30)
    assert player.touch("end").status_code == 200
    return player


def after(player: Player) -> str:
    answer = player.browser.client.get(f"/rehearse/{player.session}/after")
    assert answer.status_code == 200, answer.text[:500]
    return str(answer.text)


def row(page: str, what: str) -> list[str]:
    """The cells of a row of one's own times."""
    match = re.search(rf'<th scope="row">{what}</th>(.*?)</tr>', page)
    assert match is not None, page
    return re.findall(r">([^<]*)</td>", match[1])


def again(player: Player, words: str) -> Player:
    """Begin again from a state, by what its button says."""
    match = re.search(rf'value="([^"]+)">{words}', after(player))
    assert match is not None, after(player)
    answer = player.browser.form(f"/rehearse/{player.session}/again", state=match[1])
    assert answer.status_code == 303, words_of(answer)
    player.session = answer.headers["location"].split("/")[2]
    return player


def test_own_times_stand_beside_the_last_ones_and_the_best(player: Player) -> None:
    ended(player, 50)
    assert row(after(player), "First ventilation") == ["0:50", "0:50"]
    ended(player, 30)
    assert row(after(player), "First ventilation") == ["0:30", "0:50", "0:30"]
    ended(player, 40)
    page = after(player)
    assert row(page, "First ventilation") == ["0:40", "0:30", "0:30"]
    headings = re.findall(r'<th scope="col">([^<]*)</th>', page)
    assert headings == ["Step", "This time", "Last time", "Your best"]


def test_what_was_never_done_is_said_so_and_is_no_best_time(player: Player) -> None:
    ended(player, 30)
    player.begin().wait(5).touch("begin")
    player.wait(20).touch("end")
    assert row(after(player), "First ventilation") == ["not done", "0:30", "0:30"]


def test_it_goes_on_from_a_state_passed_with_what_was_under_way(player: Player) -> None:
    first = ended(player).session
    again(player, "Chest not moving")
    assert player.state == "chest_still"
    assert [act["action"] for act in player.view["running"]] == ["mask_ventilation"]
    opened = player.log("opened")[0]
    assert opened["purpose"] == "rehearsal"
    assert opened["retry"]["session"] == first
    assert opened["retry"]["lasts_ms"] == LASTS_MS
    player.does("head_neutral").wait(3).does("reseat_mask").wait(3)
    player.turns("peak_pressure", 36).wait(8)
    assert player.state == "chest_rising"


def test_it_goes_on_from_each_state_that_was_passed_as_all_was_then(player: Player) -> None:
    first = OnePerson(player, by_the_book("term-responds")).plays().session()
    passed = [stay for stay in first.stays[1:] if not first.scenario.states[stay.state].ends]
    offered = re.findall(r'name="state" value="([^"]+)"', after(player))
    assert offered == [stay.event_id for stay in passed] != []
    played, actions = player.session, first.scenario.vocabulary.actions
    for stay in passed:
        answer = player.browser.form(f"/rehearse/{played}/again", state=stay.event_id or "")
        player.session = answer.headers["location"].split("/")[2]
        again = player.desk.hub.running(player.session).live
        assert again is not None
        assert again.fold.state == stay.state
        assert again.fold.account.clock_ms == first.record.clock_ms
        under_way = {
            done.action
            for done in first.record.performances
            if actions[done.action].lasting
            and done.start_ms < stay.entry_ms
            and (done.stop_ms is None or done.stop_ms > stay.entry_ms)
        }
        assert under_way == set(again.fold.account.running)


def test_where_several_use_one_machine_own_times_are_those_of_the_same_code(
    player: Player,
) -> None:
    for code, ventilates_at in (("N-104", 50), ("M-021", 20), ("N-104", 40), ("", 30)):
        ended(player, ventilates_at, code=code)
        own = row(after(player), "First ventilation")
        assert (
            own
            == {
                50: ["0:50", "0:50"],
                20: ["0:20", "0:20"],
                40: ["0:40", "0:50", "0:40"],
                30: ["0:30", "0:30"],
            }[ventilates_at]
        )


def test_a_try_again_ends_by_itself_and_offers_the_same_moment_three_times_in_a_row(
    player: Player,
) -> None:
    ended(player)
    again(player, "Chest not moving")
    for number in (2, 3):
        player.wait(LASTS_MS / 1000 + 1)
        assert player.is_over
        assert f"The same moment again: try {number} of 3" in after(player)
        again(player, f"The same moment again: try {number} of 3")
        player.wait(number).does("reseat_mask")
    player.wait(LASTS_MS / 1000 + 1)
    assert player.is_over
    page = after(player)
    assert "The same moment once more" in page
    headings = re.findall(r'<th scope="col">([^<]*)</th>', page)
    assert headings == ["Step", "Try 1", "Try 2", "Try 3", "Your best"]
    tried = row(page, "Mask reseated, two-person technique or alternative airway")
    assert tried[0] == "not done"
    assert len(set(tried)) > 2


def test_a_state_that_it_never_came_to_can_t_be_gone_on_from(player: Player) -> None:
    ended(player)
    for state in ("", "nothing", "recovering"):
        answer = player.browser.form(f"/rehearse/{player.session}/again", state=state)
        assert answer.status_code == 404


def test_while_it_runs_there_is_nothing_after_it(player: Player) -> None:
    player.begin()
    for page in ("after", "debrief", "debrief.pdf", "debrief/what-if"):
        answer = player.browser.client.get(f"/rehearse/{player.session}/{page}")
        assert answer.status_code == 409


def test_a_try_that_runs_stands_in_the_list_and_goes_on_where_it_was(player: Player) -> None:
    player.begin().wait(5).touch("begin")
    page = player.browser.client.get("/rehearse").text
    assert f'href="/rehearse/{player.session}"' in page
    assert "under way" in page
    assert player.session not in player.desk.client.get("/").text


def test_what_if_is_asked_of_a_rehearsal_and_leads_back_to_its_debrief(player: Player) -> None:
    ended(player)
    debrief = f"/rehearse/{player.session}/debrief"
    assert 'href="debrief/what-if"' in player.browser.client.get(debrief).text
    answer = player.browser.client.get(f"{debrief}/what-if")
    assert answer.status_code == 200
    assert "what if I had done this by" in words_of(answer)
    assert f'<a href="{debrief}">' in answer.text


def test_what_is_no_item_of_a_rehearsal_is_answered_at_once_and_leaves_nothing_behind(
    player: Player,
) -> None:
    ended(player)
    for item in ODD_IDS:
        answer = player.browser.client.get(
            f"/rehearse/{player.session}/debrief/what-if", params={"item": item}
        )
        assert answer.status_code == 404, item
        assert "Nothing to ask here" in words_of(answer)
    assert not list((player.desk.data / "debriefs").glob("**/what-if"))


def test_the_debrief_of_a_rehearsal_is_its_own_and_says_what_it_is(player: Player) -> None:
    ended(player)
    answer = player.browser.client.get(f"/rehearse/{player.session}/debrief")
    assert answer.status_code == 200
    assert "This was a rehearsal. It is practice, and proves nothing about anyone." in words_of(
        answer
    )
