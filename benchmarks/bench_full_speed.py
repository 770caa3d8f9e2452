"""A scenario at full speed, beside a bare `transitions.Machine` taking the same transitions.

Asked: at most 3 times. The script of a shipped session is played at full speed: every entry, guard,
curve and supply, no hashing and no file. Two references, both the general-purpose library alone:
the machine is built and then told each transition that the session took; and the same with one
trigger for every entry of the script, as a program without an engine would have to do.
"""

from collections.abc import Callable
from functools import partial
from itertools import pairwise

from transitions import Machine

from benchmarks.shipped import sessions
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


for name, session in sessions().items():
    script = script_of(session)
    opened = session.events[0].data
    ours = warm(partial(play, session.scenario, script, opened=opened))
    moves_alone = warm(bare(session, 0))
    each_entry = warm(bare(session, len(script)))
    print(f"{name}: {len(script)} entries, {len(session.stays) - 1} transitions")
    print(f"  at full speed                        {ours}")
    print(
        f"  bare Machine, the transitions        {moves_alone}   "
        f"ratio {ours.median / moves_alone.median:.1f}"
    )
    print(
        f"  bare Machine, each entry a trigger   {each_entry}   "
        f"ratio {ours.median / each_entry.median:.1f}   asked: at most 3"
    )
