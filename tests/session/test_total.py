"""The fold takes any log that passes the schema, however odd its order."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from simengine.schemas import complaints
from simengine.session.account import PROGRAM
from simengine.session.chain import as_json, chained
from simengine.session.events import Event, Kind
from simengine.session.fold import fold
from simengine.session.live import LiveSession, event_id
from simengine.session.replay import curve_columns, curve_rows, state_at
from simengine.session.timeline import timeline_of
from simengine.session.truth import truth
from simengine.session.verify import verify_log
from tests.amount import examples
from tests.session.small import SESSION, WALL, opened, raw
from tests.session.test_same_by_any_way import MADE

name = st.sampled_from(
    ("bag", "dry", "probe", "oxygen", "flow", "heart_rate", "tone", "leak", "limp", "birth", "x")
)
number = st.one_of(
    st.integers(-(2**53) + 1, 2**53 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from((0, 8, 21, 30, 100)),
)
reading = st.fixed_dictionaries(
    {"value": st.one_of(number, st.text(max_size=5))},
    optional={"unit": st.sampled_from(("%", "cmH2O", "kPa", "kg", "stone", "L/min"))},
)
readings = st.dictionaries(name, reading, max_size=3)
role = st.sampled_from(("airway", "leader"))
instant = st.one_of(st.integers(0, 90_000), st.integers(0, 10**12))
identity = st.integers(0, 12).map(lambda seq: event_id(SESSION, seq))
anything = st.recursive(
    st.one_of(st.none(), st.booleans(), number, st.text(max_size=3), name),
    lambda inner: st.one_of(
        st.lists(inner, max_size=2), st.dictionaries(name | st.just("value"), inner, max_size=2)
    ),
    max_leaves=4,
)
AMENDABLE = (
    *("at_ms", "action", "phase", "how", "role", "settings", "spoken", "dose", "name", "status"),
    *("fault", "setting", "value", "unit", "id", "fields", "withdrawn", "item", "person", "text"),
)
fields = st.dictionaries(
    st.sampled_from(AMENDABLE),
    anything,
    max_size=3,
)


def data(required: dict[str, Any], **optional: Any) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(required, optional=optional)


text = st.text(min_size=1, max_size=5)
KINDS: dict[Kind, st.SearchStrategy[dict[str, Any]]] = {
    "opened": st.sampled_from(("formative", "summative", "rehearsal")).map(opened),
    "event": data({"name": name}, role=role),
    "action": data(
        {"action": name, "phase": st.sampled_from(("done", "start", "stop"))},
        how=st.sampled_from(("done", "simulated", "said", "ordered", "attempted")),
        role=role,
        settings=readings,
        spoken=readings,
        dose=data({}, amount=reading, route=name),
        order=text,
    ),
    "set": data({"setting": name, "value": st.one_of(number, text)}, unit=text, role=role),
    "state": data(
        {
            "state": st.sampled_from(("limp", "worse", "better", "well", "waiting", "nowhere")),
            "cause": st.sampled_from(("start", "rule", "facilitator")),
        },
        rule=st.integers(0, 5),
        late=st.just(True),
        scenario_ms=instant,
    ),
    "reveal": data({"observation": name, "shown": st.booleans()}),
    "cue": data({"text": text, "planned": st.booleans()}, prompts=name),
    "fault": data({"fault": name, "status": st.sampled_from(("planted", "found", "mended"))}),
    "note": data({"text": text}, role=role),
    "pause": st.just({}),
    "resume": st.just({}),
    "hold": st.just({}),
    "release": st.just({}),
    "amend": st.one_of(
        data({"id": identity, "fields": fields}, reason=text),
        data({"id": identity, "withdrawn": st.just(True)}, reason=text),
    ),
    "undone": data({"id": identity}),
    "joined": data({"person": text, "role": role}),
    "left": data({"person": text, "role": role}),
    "role": data({"person": text, "role": role}, leaves=role),
    "information": data({"text": text}),
    "unobserved": data({"item": text}),
    "unavailable": data({"action": name}, text=text),
    "skip": data({"ms": instant}, action=name, reason=text),
    "returned": data(
        {
            "faults": st.dictionaries(name, st.booleans(), max_size=2),
            "cylinders": st.text(max_size=3),
            "drugs": st.text(max_size=3),
            "initials": st.lists(text, min_size=2, max_size=2),
        }
    ),
    "confirmed": st.just({}),
    "signed": data({"name": text, "credentials": text, "outcome": text}, person=text),
    "appealed": data({"text": text}, item=text, person=text),
    "superseded": data({"by": text}, person=text),
    "put_away": data({"reason": text}),
    "closed": data({"why": st.sampled_from(("finished", "stopped early", "safety stop"))}),
}


@st.composite
def events(draw: st.DrawFn, seq: int) -> Event:
    kind = draw(st.sampled_from(tuple(KINDS)))
    return Event(
        seq=seq,
        id=draw(st.one_of(st.just(event_id(SESSION, seq)), identity)),
        at_ms=draw(instant),
        noted_ms=draw(instant),
        wall=WALL,
        kind=kind,
        by=draw(st.sampled_from(("k3", "m7", PROGRAM))),
        data=draw(KINDS[kind]),
    )


@st.composite
def logs(draw: st.DrawFn) -> tuple[Event, ...]:
    begun = draw(st.booleans())
    start = (
        [raw(0, "opened", 0, **opened()), raw(1, "state", 0, state="waiting", cause="start")]
        if begun
        else []
    )
    length = draw(st.integers(0, 14))
    return (*start, *(draw(events(seq)) for seq in range(len(start), len(start) + length)))


@examples(120)
@given(logs(), st.integers(0, 200_000))
def test_any_log_that_passes_the_schema_can_be_folded_read_verified_and_resumed(
    log: tuple[Event, ...], at_ms: int
) -> None:
    log = chained(log)
    for event in log:
        assert not list(complaints("session", as_json(event)))
    session = fold(MADE, log)
    assert session.events == log
    assert all(stay.entry_ms <= stay.exit_ms for stay in session.stays)
    for stay, other in zip(session.stays, session.stays[1:], strict=False):
        assert stay.exit_ms == other.entry_ms
    assert all(stay.entry_ms <= stay.exit_ms for stay in session.undone)
    for curve in session.curves.values():
        assert [piece.start_ms for piece in curve] == sorted({piece.start_ms for piece in curve})
    for performance in session.record.performances:
        assert performance.stop_ms is None or performance.start_ms <= performance.stop_ms
    timeline = timeline_of(session)
    for made in MADE.states.values():
        for way in made.next:
            if way.when is not None:
                truth(way.when, timeline, 0, session.end_ms)
    state_at(session, at_ms)
    rows = list(curve_rows(session, max(1_000, session.end_ms // 3)))
    assert {len(row) for row in rows} == {len(curve_columns(session))}
    problem = verify_log(MADE, log, file="a.session.jsonl")
    assert problem is None or 1 <= problem.line <= max(1, len(log))
    live = LiveSession(MADE, log)
    written = live.advance(live.fold.noted_ms + 600_000)
    assert len(written) < 500
    assert live.session().events[: len(log)] == log
