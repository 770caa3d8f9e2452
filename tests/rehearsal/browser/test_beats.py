"""Heart beats are heard where the device has sound: a thump for each, alike whatever the rate."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.desk.browser.facilitator import Facilitator
from tests.rehearsal.browser.by_name import ByName

# What is given to the loudspeaker is written down, and played all the same.
_HEARS = """
  window.thumps = [];
  const make = AudioContext.prototype.createOscillator;
  AudioContext.prototype.createOscillator = function () {
    const source = make.call(this);
    const { start, stop } = source;
    const thump = { hz: source.frequency.value, at_s: 0, lasts_s: 0, silenced: false };
    window.thumps.push(thump);
    source.start = (at) => {
      thump.hz = source.frequency.value;
      thump.at_s = at;
      start.call(source, at);
    };
    source.stop = (at) => {
      if (at === undefined) thump.silenced = true;
      else thump.lasts_s = at - thump.at_s;
      stop.call(source, at);
    };
    return source;
  };
"""


def listens(player: ByName, scenario: str, after_min: int = 0) -> list[dict[str, Any]]:
    """Listen to a heart some minutes old; return each thump that is to be heard."""
    player.begin(scenario)
    player.press("button", "I am ready: on to the birth")
    expect(player.page.get_by_role("heading", name="The baby")).to_be_visible()
    player.waits(60 * after_min)
    player.does("Circulation", "Listen to the heart")
    return thumps_of(player)


def thumps_of(player: ByName) -> list[dict[str, Any]]:
    thumps: list[dict[str, Any]] = player.page.evaluate("window.thumps")
    return thumps


def gaps_s(thumps: list[dict[str, Any]]) -> list[float]:
    return [later["at_s"] - sooner["at_s"] for sooner, later in pairwise(thumps)]


def counts(player: ByName) -> int:
    """How many beats the page says in words, once the time to count has gone by."""
    page = player.page
    player.waits(10)
    expect(page.get_by_role("heading", name="What is the heart rate? Call it out")).to_be_visible()
    unheard = page.get_by_role("button", name="I can't hear them")
    counted = page.get_by_role("status").filter(has_text="You count")
    expect(unheard.or_(counted)).to_be_visible()
    if unheard.count():
        player.press("button", "I can't hear them")
    expect(counted).to_be_visible()
    return int(counted.inner_text().split()[2])


@pytest.fixture
def player(facilitator: Facilitator) -> ByName:
    facilitator.page.add_init_script(_HEARS)
    return ByName(facilitator)


def test_each_beat_is_a_thump_and_a_quick_heart_thumps_as_a_slow_one_does(player: ByName) -> None:
    slow = listens(player, "Term newborn who is not breathing")
    assert len(slow) == counts(player) > 0
    quick = listens(player, "Vigorous term newborn", after_min=1)
    assert len(quick) == counts(player) > len(slow)
    assert len({(thump["hz"], round(thump["lasts_s"], 6)) for thump in slow + quick}) == 1
    for thumps in (slow, quick):
        assert thumps[-1]["at_s"] - thumps[0]["at_s"] < 6
        # Beats come on steps of a hundredth of a second.
        assert max(gaps_s(thumps)) - min(gaps_s(thumps)) < 0.05


def test_time_that_stands_still_or_is_let_go_by_is_silent(player: ByName) -> None:
    page = player.page
    heard = listens(player, "Term newborn who is not breathing")
    player.press("button", "Pause")
    expect(page.get_by_role("button", name="Go on")).to_be_visible()
    assert [thump["silenced"] for thump in thumps_of(player)] == [True] * len(heard)
    player.press("button", "Go on")
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    left = thumps_of(player)[len(heard) :]
    assert len(left) <= len(heard)
    assert not any(thump["silenced"] for thump in left)
    assert gaps_s(left) == pytest.approx(gaps_s(heard)[len(heard) - len(left) :], abs=1e-6)
    assert counts(player) == len(heard)
    assert all(thump["silenced"] for thump in thumps_of(player))


def test_where_the_sound_is_off_nothing_thumps_and_the_count_is_told_in_words(
    player: ByName,
) -> None:
    player.page.goto(player.facilitator.server.address)
    player.page.evaluate("localStorage.setItem('beats', 'off')")
    thumps = listens(player, "Term newborn who is not breathing")
    assert counts(player) > 0
    assert thumps == thumps_of(player) == []
