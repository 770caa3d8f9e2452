"""What the guided way tells, in every scenario: which step first, and nothing that is to be found.

The order is that of each scenario's own marking guide. That a baby who does not breathe is
ventilated by 60 s after birth is published: the protocol `ercnls-2021` has it, with its source, in
`first_ventilation_by`.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

import pytest

from simengine.rehearsal.alone_rules import alone_rules
from simengine.rehearsal.cot import row_of
from simengine.scenario.key import AskedAction
from simengine.scenario.model import Fault, Scenario
from simengine.scoring import score
from simengine.scoring.card import ScoreCard
from tests import shipped
from tests.rehearsal.by_oneself import ByOneself
from tests.rehearsal.follower import follow

BAND = re.compile(r"\d\S* \S+ to \d|\d to \d|±|\+/-|at least|at most|above|below|between", re.I)
VENTILATION = "mask_ventilation"
FLOOR = 0.5
"""What an essential item has to reach, as `scoring.essential_floor` has it."""


@cache
def followed(name: str) -> ByOneself:
    """A session in which every hint was followed, and nothing else was done."""
    player = ByOneself(shipped.scenario(name), guided=True)
    follow(player)
    return player


@cache
def ignored(name: str) -> ByOneself:
    """A session in which no hint was followed."""
    player = ByOneself(shipped.scenario(name), guided=True)
    player.wait(10)
    player.touch("begin")
    while not player.live.closed:
        player.wait(1)
    return player


@cache
def card(name: str) -> ScoreCard:
    return score(followed(name).live.session(), redraws=0)


def told(player: ByOneself) -> list[tuple[int, str, str | None]]:
    """Each hint: when on the team's clock (ms), its words, and what it prompts."""
    fold = player.live.fold
    zero = fold.account.clock_ms or 0
    return [
        (
            fold.times.scenario(event.at_ms, event.seq) - zero,
            str(event.data["text"]),
            event.data.get("prompts"),
        )
        for event in player.live.events
        if event.kind == "cue"
    ]


def found_ms(player: ByOneself, fault: str) -> float:
    """When on the team's clock a fault was first called or put right."""
    zero = player.live.fold.account.clock_ms or 0
    steps = player.live.fold.account.fault_steps.get(fault, ())
    return next((at - zero for at, status in steps if status != "planted"), float("inf"))


def names_of(scenario: Scenario, fault: Fault) -> list[str]:
    """Words that give a fault away: what is seen of it, and what puts it right."""
    words = [re.split("[,:]", fault.shows)[0], fault.put_right]
    if isinstance(fault.mended_by, str):
        words.append(scenario.vocabulary.actions[fault.mended_by].do)
    return [word.lower() for word in words if word]


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_no_hint_names_a_fault_that_nobody_has_found(name: str) -> None:
    scenario = shipped.scenario(name)
    for player in (followed(name), ignored(name)):
        for fault in scenario.start.faults.values():
            for at, text, prompts in told(player):
                if at < found_ms(player, fault.name):
                    assert not [part for part in names_of(scenario, fault) if part in text.lower()]
                    assert prompts is None or prompts != fault.mended_by


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_a_hint_tells_one_target_and_no_band(name: str) -> None:
    for player in (followed(name), ignored(name)):
        assert [text for _, text, _ in told(player) if BAND.search(text)] == []


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_every_hint_is_a_cue_in_the_log_and_said_to_be_one_on_the_page(name: str) -> None:
    player = ignored(name)
    for event in [event for event in player.live.events if event.kind == "cue"]:
        assert event.by == "program"
    assert told(player) != []


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_a_trainee_who_follows_each_hint_does_nothing_unsafe_and_meets_what_is_essential(
    name: str,
) -> None:
    importance = {item.id: item.importance for item in shipped.scenario(name).key}
    marked = card(name)
    assert [item.id for item in marked.unsafe] == []
    essential = [item for item in marked.items if importance.get(item.id) == "essential"]
    short = [item.id for item in essential if item.credit is not None and item.credit < FLOOR]
    assert short == []
    assert any(item.credit is not None for item in essential)


def test_a_trainee_who_follows_each_hint_has_the_heart_back_without_adrenaline() -> None:
    """Oxygen is hinted after compressions began, and 45 s of both are then due within 75 s."""
    session = followed("term-not-breathing").live.session()
    states = [stay.state for stay in session.stays]
    assert states[states.index("compressing") + 1] == "recovering"
    assert "needs_adrenaline" not in states


def asks_ventilation(name: str) -> bool:
    key = shipped.scenario(name).key
    return any(item.kind == "expect" and item.asked == AskedAction(VENTILATION) for item in key)


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_a_trainee_who_follows_each_hint_ventilates_within_the_guide_s_window(name: str) -> None:
    if not asks_ventilation(name):
        return
    asked_of = AskedAction(VENTILATION)
    (ventilation, *_) = [item for item in shipped.scenario(name).key if item.asked == asked_of]
    verdict = next(item.verdict for item in card(name).items if item.id == ventilation.id)
    assert verdict in ("on time", "late")
    if ventilation.anchor is not None and ventilation.anchor.kind == "clock":
        fold = followed(name).live.fold
        first = next(
            performance
            for performance in fold.account.performances
            if performance.action == VENTILATION
        )
        assert first.start_ms - (fold.account.clock_ms or 0) <= 60_000


@pytest.mark.parametrize("name", shipped.SCENARIOS)
def test_ventilation_is_hinted_by_a_minute_to_who_does_nothing(name: str) -> None:
    scenario = shipped.scenario(name)
    player = ignored(name)
    entered = {
        event.data["state"]: player.live.fold.times.scenario(event.at_ms, event.seq)
        for event in reversed(player.live.events)
        if event.kind == "state"
    }
    silent = [
        at - (player.live.fold.account.clock_ms or 0)
        for state, at in entered.items()
        if scenario.states[state].shows.get("breathing") is not None
        and getattr(scenario.states[state].shows["breathing"], "word", "") == "absent"
    ]
    if not silent or not asks_ventilation(name):
        return
    first = min(at for at, _, prompts in told(player) if prompts == VENTILATION)
    assert first <= min(silent) + 60_000


def test_what_is_essential_is_hinted_though_its_window_has_closed() -> None:
    """First ventilation of a term baby: its window closes two minutes after birth."""
    late = [at for at, _, prompts in told(ignored("term-not-breathing")) if prompts == VENTILATION]
    assert max(late) > 120_000


def test_a_fault_is_hinted_by_where_to_look_then_to_be_called_then_to_be_put_right() -> None:
    scenario = shipped.scenario("cot-term")
    player = followed("cot-term")
    part = row_of(player.cot.bench, scenario.start.faults["no_bag"])
    equipment = scenario.vocabulary.equipment
    assert equipment is not None
    label = equipment.rows[part].label
    assert label == "Self-inflating bag"
    of_the_bag = [text for _, text, _ in told(player) if "bag" in text or "if the gas" in text]
    assert list(dict.fromkeys(of_the_bag)) == [
        "Check the self-inflating bag.",
        "Self-inflating bag: is everything as it should be? If not, say so.",
        "What would you use if the gas failed?",
    ]


def test_a_hint_is_followed_by_a_pause_that_grows_while_nothing_is_done() -> None:
    rules = alone_rules()
    times = [at for at, _, _ in told(ignored("term-vigorous"))]
    pauses = [after - before for before, after in pairwise(times)]
    least = [(number + 1) * rules.hint_urgent_ms for number in range(1, len(pauses) + 1)]
    assert all(pause >= short for pause, short in zip(pauses, least, strict=True))
