"""What an audit asks of one person, out of the store.

Rules of this file:

- A chain for each session that counts, the newest first, as many as are asked for; those that do
  not count are told with the reason, for what was left out belongs to an audit.
- The scenario is that of the log's own digest or none: another version proves nothing about it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simengine.people.audit import Chain, Link, chain
from simengine.people.pilots import pilot_of
from simengine.people.statement import LEAST_SCENARIOS, LeftOut, Statement, statement
from simengine.scenario.model import Scenario
from simengine.session.account import PROGRAM
from simengine.store.outcomes import outcomes_of
from simengine.store.store import Store

Load = Callable[[Mapping[str, Any]], Scenario | None]
"""Returns the scenario that a log's ``opened`` names, ``None`` where it is not at hand."""

NO_OBSERVERS = Link(
    "Observers",
    "missing",
    ("How far observers of this scenario agree is not known.",),
)


@dataclass(frozen=True, slots=True)
class Audit:
    """What can be shown of a person.

    ``older``: how many sessions count beside those of the ``chains``. ``left_out``: sessions that
    do not count, and why.
    """

    code: str
    statement: Statement
    chains: tuple[Chain, ...]
    left_out: tuple[LeftOut, ...]
    older: int = 0


def audit(
    store: Store,
    code: str,
    load: Load,
    *,
    pilots: Sequence[Path] = (),
    observers: Callable[[str], Link] = lambda _: NO_OBSERVERS,
    least: int = LEAST_SCENARIOS,
    latest: int | None = None,
) -> Audit:
    """Return what an audit asks of a person.

    ``latest``: how many chains at most, since each reads a whole log and its scenario.
    ``pilots``: folders with pilot reports. ``observers``: scenario id → what is known of the
    agreement of observers on it. ``least``: as for ``statement``.
    """
    sessions = outcomes_of(store, code)
    drawn_up = statement(code, sessions, least=least)
    counted = {session.session for session in drawn_up.counted}
    newest = [session for session in reversed(sessions) if session.session in counted]
    chains = []
    for outcomes in newest[:latest]:
        log = store.events(outcomes.session)
        chains.append(
            chain(
                code,
                outcomes,
                last_hash=log[-1].hash,
                recorders=list(dict.fromkeys(event.by for event in log if event.by != PROGRAM)),
                scenario=load(log[0].data),
                pilot=pilot_of(outcomes.scenario, outcomes.scenario_digest, pilots),
                observers=observers(outcomes.scenario),
            )
        )
    return Audit(code, drawn_up, tuple(chains), drawn_up.left_out, len(newest) - len(chains))
