"""Whatever can get into a log, every screen can still be drawn."""

from __future__ import annotations

from typing import Any

import orjson
from hypothesis import given
from hypothesis import strategies as st

from simengine.desk.bedside_view import bedside_of
from simengine.desk.console_view import console_of
from simengine.desk.inputs import BadRequestError, Input, inputs_from
from simengine.desk.scene import Scene
from simengine.session.full_speed import opening
from simengine.session.live import LiveSession, RefusedError
from tests import shipped
from tests.amount import examples

AMENDED = (
    *("action", "phase", "how", "role", "settings", "spoken", "dose", "at_ms", "setting"),
    *("value", "unit", "person", "text", "order", "item", "name"),
)
IDS = [f"00000000-0000-4000-8000-{number:012d}" for number in range(12)]

ODD = st.one_of(
    st.none(), st.booleans(), st.integers(-5, 10**9), st.floats(allow_nan=False, width=32),
    st.text(max_size=5), st.just([]), st.just({}), st.just({"value": "x"}),
    st.just({"value": 1e300, "unit": "kPa"}), st.just({"value": -3.5, "unit": "nonsense"}),
)  # fmt: skip


def names(known: Any) -> st.SearchStrategy[Any]:
    return st.one_of(st.sampled_from(sorted(known)), st.just("unknown"), ODD)


def entry() -> st.SearchStrategy[Any]:
    """Draw what an observer may enter: its kind, its data, when it was, and ms since the last."""
    scenario = shipped.scenario("cot-term")
    vocabulary = scenario.vocabulary
    action, setting = names(vocabulary.actions), names(vocabulary.settings)
    role, seen = names(scenario.roles), names(vocabulary.observations)
    readings = st.dictionaries(st.sampled_from([*vocabulary.settings, "unknown"]), ODD, max_size=2)
    data: dict[str, st.SearchStrategy[Any]] = {
        "event": st.fixed_dictionaries({"name": names({str(scenario.start.clock)})}),
        "action": st.fixed_dictionaries(
            {"action": action, "phase": st.sampled_from(["done", "start", "stop"])},
            optional={
                "how": st.sampled_from(["done", "said", "attempted"]),
                "role": role,
                "settings": readings,
                "spoken": st.dictionaries(st.sampled_from(["heart_rate", "x"]), ODD, max_size=2),
                "dose": st.fixed_dictionaries({}, optional={"amount": ODD, "route": ODD}),
            },
        ),
        "set": st.fixed_dictionaries({"setting": setting, "value": ODD}, optional={"unit": ODD}),
        "state": st.fixed_dictionaries(
            {"state": names(scenario.states), "cause": st.just("facilitator")}
        ),
        "reveal": st.fixed_dictionaries({"observation": seen, "shown": st.booleans()}),
        "fault": st.fixed_dictionaries(
            {"fault": names(scenario.start.faults), "status": st.sampled_from(["planted", "found"])}
        ),
        "cue": st.fixed_dictionaries({"text": st.just("t"), "planned": st.booleans()}),
        "note": st.fixed_dictionaries({"text": st.text(max_size=5)}),
        "pause": st.just({}),
        "resume": st.just({}),
        "hold": st.just({}),
        "release": st.just({}),
        "skip": st.fixed_dictionaries({"ms": st.integers(0, 10**6)}, optional={"action": action}),
        "joined": st.fixed_dictionaries({"person": st.just("N-1"), "role": role}),
        "left": st.fixed_dictionaries({"person": st.just("N-1"), "role": role}),
        "role": st.fixed_dictionaries({"person": st.just("N-1"), "role": role}),
        "unavailable": st.fixed_dictionaries({"action": action}),
        "unobserved": st.fixed_dictionaries({"item": names({each.id for each in scenario.key})}),
        "closed": st.fixed_dictionaries({"why": st.just("safety stop")}),
        "amend": st.one_of(
            st.fixed_dictionaries({"id": st.sampled_from(IDS), "withdrawn": st.just(True)}),
            st.fixed_dictionaries(
                {
                    "id": st.sampled_from(IDS),
                    "fields": st.dictionaries(
                        st.sampled_from(AMENDED),
                        ODD,
                        max_size=3,
                    ),
                }
            ),
        ),
    }
    kinds = st.sampled_from([*data, "action", "action", "amend", "amend", "set"])
    return kinds.flatmap(
        lambda kind: st.tuples(
            st.just(kind), data[kind], st.integers(0, 600_000), st.integers(0, 9000)
        )
    )


@examples(120)
@given(st.lists(st.deferred(entry), max_size=12))
def test_every_view_can_be_made_of_whatever_was_taken(entries: list[Any]) -> None:
    scenario = shipped.scenario("cot-term")
    live = LiveSession(scenario)
    start = opening(scenario, session_id="s", purpose="formative")
    live.record("opened", start, noted_ms=0, by="p", wall="2026-01-31T10:00:00.000Z")
    now = 0
    for id_, (kind, data, at_ms, step) in zip(IDS, entries, strict=False):
        now += step
        body = {"events": [{"id": id_, "kind": kind, "at_ms": at_ms, "data": data}]}
        # Only what the console itself would let in.
        for entry_given in inputs_from(orjson.dumps(body)):
            if isinstance(entry_given, Input):
                try:
                    live.record(
                        entry_given.kind,
                        entry_given.data,
                        noted_ms=now,
                        at_ms=entry_given.at_ms,
                        by="p",
                        id=entry_given.id,
                    )
                except RefusedError:
                    continue
        live.advance(now)
        scene = Scene(live.fold, now, 0)
        orjson.dumps(console_of(scene, screens=1))
        orjson.dumps(bedside_of(Scene(live.fold, now, 0), equipment=True))


def told(body: bytes) -> str | list[Any]:
    """What a body comes to: entries, or words."""
    try:
        return list(inputs_from(body))
    except BadRequestError as error:
        return str(error)


@given(st.binary(max_size=200))
def test_no_body_breaks_the_reading_of_it(body: bytes) -> None:
    assert told(b'{"events": []}') == []
    assert told(body)
