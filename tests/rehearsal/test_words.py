"""No page of rehearsing alone says what no colleague would, in any scenario."""

from __future__ import annotations

from dataclasses import asdict

import orjson
import pytest

from simengine.desk.scene import Scene
from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.cot import bench_of
from simengine.rehearsal.cot_at_hand import CotAtHand
from simengine.rehearsal.script_words import script_words
from simengine.rehearsal.show import groups_of, play_view
from simengine.session import LiveSession
from tests import shipped
from tests.rehearsal.playing import Player
from tests.report.shapes import NEVER, odd
from tests.report.what_is_read import of_page, of_view


def unsaid(texts: list[str]) -> list[str]:
    return odd(texts, shapes=NEVER)


@pytest.mark.parametrize("name", shipped.SESSIONS)
def test_no_screen_of_a_session_played_alone_says_what_no_colleague_would(name: str) -> None:
    session = shipped.session(name)
    bench = bench_of(session.scenario)
    assert bench is not None
    for share in (0.1, 0.4, 0.8):
        events = session.events[: max(1, round(share * len(session.events)))]
        scene = Scene(LiveSession(session.scenario, events).fold, events[-1].noted_ms, 0)
        cot = CotAtHand(bench)
        for part in [part for place in cot.places() for part in place.parts][::4]:
            cot.work(scene, part.name, "look", None)
        view = orjson.loads(orjson.dumps(play_view(scene, alone_rules(), cot)))
        assert unsaid(list(of_view(view))) == []


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_what_can_be_done_in_a_scenario_is_said_as_the_trade_says_it(name: str) -> None:
    scenario = shipped.scenario(name)
    bench = bench_of(scenario)
    assert bench is not None
    groups = [asdict(group) for group in groups_of(scenario, CotAtHand(bench))]
    assert unsaid(list(of_view(orjson.loads(orjson.dumps(groups))))) == []
    labels = [act["do"] for group in groups for act in group["acts"]]
    assert len(labels) == len(set(labels))
    assert all(label[0].isupper() for label in labels)


def test_the_pages_round_it_say_it_so_too(player: Player) -> None:
    client = player.browser.client
    pages = [client.get("/rehearse").text]
    player.begin()
    pages.append(client.get(f"/rehearse/{player.session}").text)
    player.wait(5).touch("begin")
    player.wait(40).touch("end")
    pages.append(client.get(f"/rehearse/{player.session}/after").text)
    for page in pages:
        assert unsaid(of_page(page)) == []


def test_the_script_has_its_words_from_the_catalogue_alone() -> None:
    assert all(script_words().values())
