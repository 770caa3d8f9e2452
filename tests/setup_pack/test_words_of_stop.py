"""The code words of STOP end a session for a real patient, and are used for nothing else.

Whoever plays a parent and wants a break has words of their own, so that in a loud room neither is
taken for the other (common practice, no source).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import simengine.desk
from simengine.report.blocks import texts
from simengine.setup_pack.build_pack import setup_pack
from simengine.setup_pack.contents import load_contents
from tests import shipped

DAY = (2026, 1, 31)
CONSOLE = Path(simengine.desk.__file__).parent / "templates" / "console.html.j2"


def words_of(text: str) -> list[str]:
    return re.findall(r"[a-z]+", text.lower())


def said_in(text: str, phrase: list[str]) -> bool:
    return f" {' '.join(phrase)} " in f" {' '.join(words_of(text))} "


def stop_words(name: str) -> list[str]:
    """The words by which the prebrief says that a session ends for a real patient."""
    contract = load_contents(shipped.scenario(name)).prebrief["stop"]
    (quoted,) = re.findall(r'"([^"]+)"', contract)
    return words_of(quoted)


def test_the_words_for_a_break_and_the_words_of_stop_share_nothing() -> None:
    with_a_parent = [name for name in shipped.SCENARIOS if "parent" in shipped.scenario(name).roles]
    assert with_a_parent
    for name in with_a_parent:
        scenario = shipped.scenario(name)
        card = setup_pack(scenario, load_contents(scenario), day=DAY).parent
        assert card is not None
        (line,) = [line for line in card.lines if "stop playing" in line]
        (wanted,) = re.findall(r'say "([^"]+)"', line)
        (forbidden,) = re.findall(r'[Nn]ever use "([^"]+)"', line)
        assert words_of(forbidden) == stop_words(name)
        assert len(words_of(wanted)) >= 3
        assert set(words_of(wanted)).isdisjoint(stop_words(name))


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_the_button_says_the_words_of_stop_and_nothing_else_that_is_said_does(name: str) -> None:
    (button,) = re.findall(r'id="stop"[^>]*>([^<]+)', CONSOLE.read_text(encoding="utf-8"))
    phrase = stop_words(name)
    assert words_of(button) == phrase
    scenario = shipped.scenario(name)
    spoken = [cue.text for cue in scenario.cues] + list(scenario.briefing.values())
    spoken += [action.label for action in scenario.vocabulary.actions.values()]
    assert [text for text in spoken if said_in(text, phrase)] == []


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_the_pack_tells_the_words_of_stop_to_the_team_and_forbids_them_to_the_parent(
    name: str,
) -> None:
    scenario = shipped.scenario(name)
    pack = setup_pack(scenario, load_contents(scenario), day=DAY)
    phrase = stop_words(name)
    telling = [text for text in texts(pack) if said_in(text, phrase)]
    assert len(telling) == (2 if pack.parent else 1), telling
    assert any(said_in(text, phrase) for text in texts(pack.prebrief))
