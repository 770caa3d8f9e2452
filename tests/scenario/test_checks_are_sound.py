"""What `check` says can't happen never does: random scenarios, random teams, the engine itself.

Rules of the example: nobody moves the baby on by hand, and all is recorded as it happens, since
`check` leaves both out. Settings stay within what the vocabulary calls plausible.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, event, given
from hypothesis import strategies as st

from simengine.problems import Problem
from simengine.resources import scenarios_dir
from simengine.scenario import check_file, load_scenario, loading
from simengine.scenario.checks.known import NEVER, earliest, surely
from simengine.scenario.checks.reach import Reach, reach_of
from simengine.scenario.model import Scenario
from simengine.scoring import score
from simengine.session import LiveSession, RefusedError, Session, opening
from simengine.session.timeline import timeline_of
from simengine.session.truth import truth
from tests.amount import examples

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
SESSION = "5b1f6f4e-6d0e-4f0a-9d57-0d5a4b3c2a10"
STATES = ("a", "b", "c", "d")

rates = st.sampled_from((50, 60, 70, 80, 100))
spans = st.sampled_from((10, 20, 30, 60)).map(lambda s: f"{s} s")
clocks = st.sampled_from((10, 20, 30, 45, 90)).map(lambda s: f"{s} s")
bounds = st.sampled_from(("at least", "above", "below", "at most"))


def courses() -> st.SearchStrategy[dict[str, Any]]:
    shift = st.fixed_dictionaries(
        {
            "per": st.just("10 %"),
            "of": st.just("oxygen"),
            "by": st.sampled_from(("2 /min", "-5 /min")),
        },
        optional={},
    ).flatmap(
        lambda amount: st.sampled_from(({"above": "30 %"}, {"below": "40 %"})).map(
            lambda side: {**amount, **side}
        )
    )
    return st.fixed_dictionaries(
        {"to": rates.map(lambda n: f"{n} /min")},
        optional={
            "from": rates.map(lambda n: f"{n} /min"),
            "within": spans,
            "adjust": st.lists(shift, min_size=1, max_size=1),
        },
    )


shows = st.fixed_dictionaries(
    {},
    optional={
        "heart_rate": courses(),
        "breathing": st.sampled_from(("absent", "gasping", "regular")),
        "spo2": st.sampled_from(
            ({"to": "90 %", "within": "60 s"}, {"from": "50 %", "to": "70 %", "within": "90 s"})
        ),
    },
)
leaf = st.one_of(
    st.sampled_from(
        (
            {"doing": "mask_ventilation"},
            {"done": "adrenaline"},
            {"done_ever": "adrenaline"},
            {"settings": {"oxygen": "at least 50 %"}},
            {"settings": {"oxygen": "at most 40 %"}},
            {"settings": {"light": "on"}},
            {"seen": "heart_rate"},
            {"seen": "breathing"},
            {"supplies": {"cylinder": "empty"}},
            {"supplies": {"cylinder": "at least 80 %"}},
            {"faults": {"half_empty": "mended"}},
            {"observed": {"breathing": "gasping"}},
            {"observed": {"spo2": {"protocol": "spo2_target"}}},
            {"observed": {"spo2": {"protocol": "spo2_target", "side": "below"}}},
            {"settings": {"oxygen": {"protocol": "starting_oxygen"}}},
            {"observed": {"breathing": ["regular", "absent"]}},
        )
    ),
    st.tuples(bounds, rates).map(lambda t: {"observed": {"heart_rate": f"{t[0]} {t[1]} /min"}}),
    st.tuples(bounds, clocks).map(lambda t: {"clock": f"{t[0]} {t[1]}"}),
)
conditions = st.one_of(
    leaf,
    leaf.map(lambda part: {"not": part}),
    st.tuples(leaf, leaf).map(lambda two: {"all": list(two)}),
    st.tuples(leaf, leaf).map(lambda two: {"any": list(two)}),
    st.tuples(leaf, leaf).map(lambda two: {"all": [two[0], {"not": two[1]}]}),
)
targets = st.sampled_from((*STATES, "end"))
ways = st.one_of(
    st.tuples(targets, clocks).map(lambda t: {"to": t[0], "after": t[1]}),
    st.tuples(targets, conditions).map(lambda t: {"to": t[0], "when": t[1]}),
    st.tuples(targets, conditions, clocks).map(
        lambda t: {"to": t[0], "when": t[1], "lasting": t[2]}
    ),
    st.tuples(targets, conditions, clocks).map(lambda t: {"to": t[0], "when": t[1], "after": t[2]}),
    targets.map(lambda to: {"to": to, "on": "birth"}),
    st.tuples(targets, conditions).map(lambda t: {"to": t[0], "on": "birth", "when": t[1]}),
)
state = st.fixed_dictionaries({"shows": shows, "next": st.lists(ways, min_size=1, max_size=3)})
durings = st.lists(st.sampled_from((*STATES, "end")), min_size=1, max_size=2, unique=True)
anchors = st.one_of(
    st.sampled_from(("birth", "start")), st.sampled_from(STATES).map(lambda name: {"state": name})
)
items = st.one_of(
    st.fixed_dictionaries(
        {"expect": st.just("adrenaline"), "from": anchors, "ideal": clocks},
        optional={"until": durings, "during": durings},
    ),
    st.tuples(anchors, durings).map(
        lambda t: {"expect": "listen", "from": t[0], "not_before": "45 s", "ideal": "60 s",
                   "until": t[1]}
    ),
    st.sampled_from(("oxygen", "peak_pressure")).map(
        lambda name: {"expect": {"set": name, "change": "higher"}, "from": "start", "ideal": "30 s"}
    ),
    st.fixed_dictionaries(
        {"respond": st.just("listen"), "whenever": conditions, "ideal": clocks,
         "unseen": st.just(True)},
        optional={"lasting": clocks, "during": durings, "even_if_resolved": st.just(True)},
    ),
    st.fixed_dictionaries(
        {"repeat": st.just("listen"), "every": clocks},
        optional={"during": durings, "grace": clocks},
    ),
    st.fixed_dictionaries({"keep": conditions}, optional={"during": durings}),
    st.fixed_dictionaries(
        {"avoid": conditions}, optional={"during": durings, "lasting": clocks}
    ),
)  # fmt: skip


@st.composite
def texts(draw: st.DrawFn) -> str:
    states: dict[str, dict[str, Any]] = {name: draw(state) for name in STATES}
    states["end"] = {"ends": True, "linger": draw(st.sampled_from(("0 s", "20 s")))}
    key = draw(st.lists(items, min_size=1, max_size=4))
    tree = {
        "format": 1, "id": "random", "version": "1.0.0", "title": "Random",
        "vocabulary": "small", "protocol": "small", "planned_time": "5 min",
        "infant": {"gestation": "39 wk", "weight": "3.4 kg"},
        "objectives": {"one": "The one aim"},
        "start": {
            "state": "a", "clock": "birth",
            "settings": {
                "oxygen": draw(st.sampled_from(("30 %", "100 %"))), "gas_flow": "8 L/min",
            },
            "supplies": {"cylinder": draw(st.sampled_from(("1 %", "45 %")))},
            "faults": {"half_empty": {"shows": "Half", "mended_by": "change_cylinder"}},
        },
        "states": states,
        "key": [{**item, "objective": "one"} for item in key],
    }  # fmt: skip
    return json.dumps(tree)


@contextmanager
def unchecked() -> Iterator[None]:
    """Load what has errors as a whole: it is they that are on trial."""
    with patch.object(loading, "check_whole", lambda root, read: None):
        yield


def read(text: str) -> tuple[Scenario, list[Problem]]:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "random.yaml"
        file.write_text(text, encoding="utf-8")
        problems = check_file(file, search=[VALID])
        with unchecked():
            return load_scenario(file, search=[VALID]), problems


def played(scenario: Scenario, chance: Random) -> Session:
    """A team that does this and that, in whole seconds and between them, and a birth or two."""
    live = LiveSession(scenario, chained=False)
    opened = opening(scenario, session_id=SESSION)
    live.record("opened", opened, noted_ms=0, by="x", wall="2026-01-01T09:00:00.000Z")
    now = 0
    running: set[str] = set()
    for _ in range(chance.randint(0, 25)):
        now += chance.choice((0, 1, 1000, 5000, 10_000, 20_000, 45_000, chance.randrange(60_000)))
        live.run(now - 1)
        kind, data = _entry(scenario, chance, running)
        try:
            live.record(kind, data, noted_ms=now, by="x")  # type: ignore[arg-type]
        except RefusedError:
            break
    live.run(max(now, 400_000))
    return live.session()


def _entry(scenario: Scenario, chance: Random, running: set[str]) -> tuple[str, dict[str, Any]]:
    roll = chance.random()
    vocabulary = scenario.vocabulary
    if roll < 0.25:
        return "event", {"name": scenario.start.clock or "birth"}
    if roll < 0.5:
        numeric = [
            setting
            for setting in vocabulary.settings.values()
            if setting.unit and setting.plausible
        ]
        observation = chance.choice(numeric)
        assert observation.plausible is not None
        value = chance.choice(
            (
                observation.plausible.low,
                observation.plausible.high,
                round(chance.uniform(21, 100)),
                50,
            )
        )
        value = min(max(value, observation.plausible.low), observation.plausible.high)
        return "set", {"setting": observation.name, "value": value, "unit": observation.unit}
    action = chance.choice(list(vocabulary.actions.values()))
    if not action.lasting:
        return "action", {"action": action.name, "phase": "done"}
    phase = "stop" if action.name in running else "start"
    running.symmetric_difference_update({action.name})
    return "action", {"action": action.name, "phase": phase}


def claims(problems: list[Problem]) -> Iterator[tuple[str, str, int]]:
    """What is said never to happen: (code, state or empty, index of a way or an item)."""
    for problem in problems:
        way = re.match(r"state '(\w+)' › next\[(\d+)\]", problem.path)
        whole = re.fullmatch(r"state '(\w+)'", problem.path)
        item = re.match(r"key\[(\d+)\]", problem.path)
        if way and problem.code in ("never-due", "always-second"):
            yield problem.code, way[1], int(way[2])
        elif whole and problem.code in ("never-reached", "never-entered", "no-way-out"):
            yield problem.code, whole[1], 0
        elif item:
            yield problem.code, "", int(item[1])


def hold_to(claimed: list[tuple[str, str, int]], session: Session) -> None:
    """Nothing that was said never to happen has happened."""
    taken = set()
    before = ""
    for entry in session.events:
        if entry.kind == "state":
            taken.add((before, entry.data.get("rule")))
            before = str(entry.data["state"])
    entered = {stay.state for stay in session.stays}
    card = score(session, redraws=0)
    for code, name, number in claimed:
        if code in ("never-due", "always-second"):
            assert (name, number) not in taken, (code, name, number)
        elif code in ("never-reached", "never-entered"):
            assert name not in entered, (code, name)
        elif code == "no-way-out" and name in entered:
            assert session.closed is None
        elif code == "never-applies":
            result = card.items[number]
            assert result.verdict in ("not reached", "not done"), result
        elif code == "never-met":
            assert card.items[number].credit in (None, 0.0)
        elif code == "window-outlasts-state" and session.closed == "finished":
            # Timed after the instant of its close a session has no misses left to make.
            for occasion in card.items[number].occasions:
                assert occasion.verdict != "missed", occasion
        elif code == "always-met":
            result = card.items[number]
            assert result.verdict in ("kept", "not reached", "done in error", "not done"), result


def hold_to_reach(reach: Reach, session: Session) -> None:
    """States, stays and conditions keep within what was worked out."""
    timeline = timeline_of(session)
    scenario = session.scenario
    conditions = [condition for item in scenario.key for condition in item.conditions]
    for number, stay in enumerate(session.stays):
        known = reach.known[stay.state]
        last = number == len(session.stays) - 1
        exit_ms = session.end_ms if last else stay.exit_ms
        lasted = exit_ms - stay.entry_ms
        assert last or lasted <= max(1, reach.at_most(stay.state)), stay
        assert stay.entry_ms >= known.since_ms, stay
        zero = session.record.clock_ms
        if known.started:
            assert zero is not None
            assert stay.entry_ms - zero >= known.clock_ms, stay
        guards = [
            transition.when
            for transition in scenario.states[stay.state].next
            if transition.when is not None
        ]
        for condition in (*guards, *conditions):
            held = truth(condition, timeline, stay.entry_ms, exit_ms)
            soonest = earliest(condition, known, scenario)
            if held:
                assert soonest != NEVER, condition
                assert held[0][0] >= stay.entry_ms + soonest, condition
            if surely(condition, known, scenario) and lasted > 0:
                assert held == [(stay.entry_ms, exit_ms)], condition


@examples(80, suppress_health_check=[HealthCheck.too_slow])
@given(texts(), st.integers(0, 2**32))
def test_what_is_said_never_to_happen_never_does(text: str, seed: int) -> None:
    scenario, problems = read(text)
    claimed = list(claims(problems))
    for code in {code for code, _, _ in claimed}:
        event(code)
    reach = reach_of(scenario)
    chance = Random(seed)
    for _ in range(6):
        session = played(scenario, chance)
        hold_to(claimed, session)
        hold_to_reach(reach, session)


@pytest.mark.parametrize("path", sorted(scenarios_dir().glob("*.yaml")), ids=lambda path: path.stem)
def test_a_shipped_scenario_does_nothing_that_is_said_never_to_happen(path: Path) -> None:
    scenario = load_scenario(path)
    claimed = list(claims(check_file(path)))
    reach = reach_of(scenario)
    chance = Random(20_261_125)
    entered: set[str] = set()
    for _ in range(25):
        session = played(scenario, chance)
        hold_to(claimed, session)
        hold_to_reach(reach, session)
        entered |= {stay.state for stay in session.stays}
    assert entered <= reach.known.keys() <= scenario.states.keys()
    # of a complication that begins by nobody's act the states are taken by hand alone
    by_hand = scenario.states.keys() - reach.known.keys()
    assert all("-" in state for state in by_hand)
