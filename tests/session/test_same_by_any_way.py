"""Live, replayed, and cut and resumed: the same states and curves to the last digit.

The scripts are random, in the order in which a live session would take them: late entries,
corrections, pauses, skips, holds and steps by hand among them.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from simengine.quantities import Range
from simengine.scenario.conditions import (
    All,
    AnyOf,
    ClockIs,
    Doing,
    Done,
    FaultIs,
    Not,
    Observed,
    Seen,
    SettingIs,
    SupplyIs,
)
from simengine.scenario.model import Adjust, Course
from simengine.session.chain import as_json, chained, from_json
from simengine.session.events import Event, Kind
from simengine.session.fold import fold
from simengine.session.live import LiveSession, RefusedError
from simengine.session.record import Session
from simengine.session.verify import verify_log
from tests.amount import examples
from tests.session.small import WALL, leak, opened, scenario, state, way

RICHER = (Adjust("oxygen", "above", 30.0, 10.0, 1.5), Adjust("pressure", "below", 25.0, 5.0, -2.0))

MADE = scenario(
    state("waiting", way("limp", on="birth"), tone="good"),
    state(
        "limp",
        way(
            "better",
            when=All((Doing("bag"), SettingIs("pressure", Range(low=25.0)))),
            lasting=20_000,
        ),
        way("worse", after=45_000),
        way("worse", when=Observed("heart_rate", Range(high=62.0)), lasting=3_000),
        tone="floppy",
        heart_rate=Course(50.0, 90.0, 40_000),
        spo2=Course(30.0, 45.0, 60_000, RICHER),
    ),
    state(
        "worse",
        way("better", when=Doing("bag"), lasting=15_000),
        way("limp", on="cry", when=AnyOf((Done("dry"), Seen("heart_rate")))),
        way("well", when=All((FaultIs("leak", "mended"), Not(Doing("suck")))), after=30_000),
        heart_rate=Course(40.0, None, 20_000),
    ),
    state(
        "better",
        way("worse", when=SupplyIs("cylinder", Range(high=0.0))),
        way("limp", when=Not(Doing("bag")), lasting=10_000),
        way("well", when=Observed("heart_rate", Range(low=110.0)), lasting=8_000),
        way("well", when=ClockIs(Range(low=150_000.0))),
        heart_rate=Course(150.0, None, 30_000, RICHER),
        spo2=Course(92.0, None, 90_000),
    ),
    state("well", way("limp", on="cry"), ends=True, linger_ms=15_000, tone="good"),
    settings={"oxygen": 30.0, "flow": 8.0},
    supplies={"cylinder": 12.0, "air": 40.0},
    faults=[leak()],
)

lasting = st.tuples(
    st.sampled_from(("bag", "bag", "suck", "probe")), st.sampled_from(("start", "stop"))
)
momentary = st.tuples(st.sampled_from(("dry", "listen", "change_cylinder")), st.just("done"))
odd = st.sampled_from((("bag", "done"), ("dry", "start"), ("dry", "stop"), ("unknown", "done")))
actions = st.builds(
    lambda what, how: ("action", {"action": what[0], "phase": what[1], "how": how}),
    st.one_of(lasting, lasting, lasting, momentary, momentary, odd),
    st.sampled_from(("done", "done", "done", "simulated", "said")),
)
sets = st.builds(
    lambda setting, value: ("set", {"setting": setting, "value": value}),
    st.sampled_from(("oxygen", "flow", "pressure")),
    st.sampled_from((0, 5, 8, 21, 25, 30, 30, 35, 55.5, 100)),
)
others: st.SearchStrategy[tuple[str, dict[str, Any]]] = st.sampled_from(
    (
        ("event", {"name": "birth"}),
        ("event", {"name": "birth"}),
        ("event", {"name": "cry"}),
        ("pause", {}),
        ("resume", {}),
        ("resume", {}),
        ("hold", {}),
        ("release", {}),
        ("release", {}),
        ("skip", {"ms": 25_000}),
        ("fault", {"fault": "leak", "status": "found"}),
        ("reveal", {"observation": "heart_rate", "shown": True}),
        ("reveal", {"observation": "heart_rate", "shown": False}),
        ("state", {"state": "limp", "cause": "facilitator"}),
        ("state", {"state": "worse", "cause": "facilitator", "rule": 1}),
        ("amend", {"which": 3, "withdrawn": True}),
        ("amend", {"which": 5, "fields": {"at_ms": 20_000}}),
        ("amend", {"which": 1, "fields": {"action": "bag", "phase": "start"}}),
        ("note", {"text": "a note"}),
        ("state", {"state": "better", "cause": "facilitator"}),
    )
)
steps = st.lists(
    st.tuples(
        st.one_of(actions, actions, sets, others),
        st.sampled_from((0, 0, 1, 700, 4_000, 9_999, 12_000, 20_000, 31_000)),
        st.sampled_from((0, 0, 0, 0, 1, 2_500, 18_000)),
        st.booleans(),
    ),
    min_size=6,
    max_size=28,
).map(lambda drawn: [(("event", {"name": "birth"}), 2_000, 0, True), *drawn])


def perform(script: list[Any]) -> LiveSession:
    """Feed a script to a live session, advanced either at each due instant or now and then."""
    live = LiveSession(MADE)
    live.record("opened", opened(), noted_ms=0, by="k3", wall=WALL)
    now = 0
    for (kind, data), wait, lag, attentive in script:
        now += wait
        if attentive:
            while (due := live.next_due()) is not None and due < now:
                if not live.advance(due):
                    break
        if kind == "amend":
            back = live.events[-data["which"] :][0]
            data = {**{key: value for key, value in data.items() if key != "which"}, "id": back.id}
        known: Kind = kind
        try:
            live.record(known, data, at_ms=max(0, now - lag), noted_ms=now, by="k3")
        except RefusedError:
            continue
        if attentive:
            live.advance(now)
    live.advance(now + 60_000)
    return live


def shown(session: Session) -> tuple[Any, ...]:
    """Everything that the engine showed and the account that it keeps."""
    return (
        session.stays,
        session.curves,
        session.words,
        session.supplies,
        session.record,
        session.findings,
        session.end_ms,
        session.closed,
        session.effective,
    )


def stored(events: tuple[Event, ...]) -> tuple[Event, ...]:
    return tuple(from_json(as_json(event)) for event in events)


@examples(200)
@given(steps)
def test_a_replay_of_the_log_shows_what_the_live_run_showed(script: list[Any]) -> None:
    live = perform(script)
    assert shown(fold(MADE, stored(live.events))) == shown(live.session())


@examples(100)
@given(steps, st.data())
def test_cut_at_any_event_and_resumed_it_goes_on_the_same(script: list[Any], data: Any) -> None:
    whole = perform(script)
    events = whole.events
    cut = data.draw(st.integers(1, len(events)))
    resumed = LiveSession(MADE, stored(events[:cut]))
    for event in events[cut:]:
        resumed.fold.feed(event)
    assert shown(resumed.session()) == shown(whole.session())
    assert resumed.next_due() == whole.next_due()


@examples(100)
@given(steps, st.data())
def test_a_live_run_resumed_from_its_log_decides_the_same(script: list[Any], data: Any) -> None:
    whole = perform(script)
    cut = data.draw(st.integers(2, len(whole.events)))
    resumed = LiveSession(MADE, stored(whole.events[:cut]))
    for event in whole.events[cut:]:
        if event.by != "program":
            resumed.record(
                event.kind,
                event.data,
                at_ms=event.at_ms,
                noted_ms=event.noted_ms,
                by=event.by,
                id=event.id,
            )
        elif event.seq >= len(resumed.events):
            resumed.advance(event.noted_ms)
    assert resumed.events[: len(whole.events)] == whole.events


@examples(200)
@given(steps)
def test_whatever_a_live_session_writes_verifies(script: list[Any]) -> None:
    live = perform(script)
    assert verify_log(MADE, live.events) is None


@examples(100)
@given(steps, st.data())
def test_an_automatic_step_left_out_or_invented_is_found(script: list[Any], data: Any) -> None:
    live = perform(script)
    times = live.fold.times
    certain = [
        stay.seq
        for stay in live.session().stays
        if stay.cause == "rule"
        for after in live.events[stay.seq + 1 : stay.seq + 2]
        if times.scenario(after.noted_ms, after.seq - 1) > stay.entry_ms
    ]
    if not certain:
        return
    gone = data.draw(st.sampled_from(certain))
    without = _renumbered([event for event in live.events if event.seq != gone])
    wrong = verify_log(MADE, without)
    assert wrong is not None
    assert wrong.line == gone + 1
    if "scenario_ms" in live.events[gone].data:
        return
    early = [
        replace(event, at_ms=event.at_ms - 1) if event.seq == gone else event
        for event in live.events
    ]
    wrong = verify_log(MADE, _renumbered(early))
    assert wrong is not None
    assert wrong.line == gone + 1


def _renumbered(events: list[Event]) -> tuple[Event, ...]:
    return chained(replace(event, seq=number) for number, event in enumerate(events))


@examples(200)
@given(steps)
def test_what_a_late_entry_leaves_as_it_was_would_come_to_the_same_if_made_anew(
    script: list[Any],
) -> None:
    """A correction that says nothing new makes all anew, a late entry only what it touched."""
    live = perform([*script, (("action", {"action": "dry", "phase": "done"}), 0, 900, True)])
    if live.closed:
        return
    before, due = live.session(), live.next_due()
    target = next(event for event in reversed(live.events) if event.kind == "action")
    live.record("amend", {"id": target.id, "fields": {}}, noted_ms=live.fold.noted_ms, by="k3")
    anew = live.session()
    assert (anew.curves, anew.words) == (before.curves, before.words)
    assert anew.supplies == before.supplies
    assert (anew.record, live.next_due()) == (before.record, due)
