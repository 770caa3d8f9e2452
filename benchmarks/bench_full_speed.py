"""A scenario at full speed, beside a bare `transitions.Machine` taking the same transitions.

Asked: at most 3 times, every entry at most 1.5 times. The reference is the general-purpose library
alone: the machine is built and then told each transition. Two pairs, of which both are held to it:

- the transitions: the facilitator takes a shipped session's states by hand, and nobody does
  anything else; beside the machine that is told the same;
- the whole script: every entry of that session with its guards, curves and supplies; beside the
  machine that gets one trigger more for every entry, as a program without an engine would have to.

No hashing and no file in either. What the whole script costs beside the transitions alone is told
as well, for what it is: how much of a session is not transitions.
"""

from collections.abc import Callable
from functools import partial
from itertools import pairwise

from transitions import Machine

from benchmarks.shipped_sessions import sessions
from benchmarks.warm import warm
from simengine.session import Timed, play
from simengine.session.record import Session

AUTOMATIC = ("opened", "state", "closed")


class Model:
    """What the bare machine moves."""

    state: str


def script_of(session: Session) -> list[Timed]:
    """Return the entries that people made."""
    return [
        Timed(event.at_ms, event.kind, event.data, event.by, event.noted_ms, event.id)
        for event in session.events
        if event.kind not in AUTOMATIC
    ]


def bare(session: Session, entries: int) -> Callable[[], None]:
    """Return a run of the bare machine: the session's transitions, and `entries` triggers more."""
    states = list(session.scenario.states)
    path = [stay.state for stay in session.stays]
    moves = [(f"to{n}", before, after) for n, (before, after) in enumerate(pairwise(path))]
    rules = [{"trigger": t, "source": s, "dest": d} for t, s, d in moves]
    rules.append({"trigger": "entry", "source": "*", "dest": "="})

    def run() -> None:
        model = Model()
        Machine(model, states=states, transitions=rules, initial=path[0], auto_transitions=False)
        for trigger, _, _ in moves:
            model.trigger(trigger)  # type: ignore[attr-defined]
        for _ in range(entries):
            model.trigger("entry")  # type: ignore[attr-defined]

    return run


def moves_of(session: Session) -> list[Timed]:
    """Return the session's transitions as the facilitator makes them, automatic steps held."""
    states = [event for event in session.events if event.kind == "state"][1:]
    return [
        Timed(0, "hold", {}),
        *(
            Timed(event.at_ms, "state", {"state": event.data["state"], "cause": "facilitator"})
            for event in states
        ),
    ]


for name, session in sessions().items():
    script, moves = script_of(session), moves_of(session)
    opened = session.events[0].data
    same = play(session.scenario, moves, opened=opened)
    assert [stay.state for stay in same.stays] == [stay.state for stay in session.stays]
    entries = warm(partial(play, session.scenario, script, opened=opened))
    by_hand = warm(partial(play, session.scenario, moves, opened=opened))
    moves_alone = warm(bare(session, 0))
    each_entry = warm(bare(session, len(script)))
    print(f"{name}: {len(script)} entries, {len(session.stays) - 1} transitions")
    for what, ours, reference, most in (
        ("the transitions", by_hand, moves_alone, "3"),
        ("the whole script", entries, each_entry, "1.5"),
    ):
        ratio = f"ratio {ours.median / reference.median:.1f}   asked: at most {most}"
        print(f"  {what:<18} at full speed  {ours}")
        print(f"  {'':<18} bare Machine   {reference}   {ratio}")
    beside = entries.median / moves_alone.median
    print(f"  the whole script beside a machine told the transitions alone: {beside:.1f}")
