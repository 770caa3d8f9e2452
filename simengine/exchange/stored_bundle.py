"""The bundle of a stored session.

Rules of this file:

- A bundle holds the very scenario and protocol that were run. Where they are neither among this
  machine's files nor kept in the store it can't be made, and that is told.
- A log can't be told without its people. So a bundle for research or teaching is made only where
  all whom it names by their codes have agreed to that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from simengine.exchange.as_run import as_run
from simengine.exchange.bundle import Bundle, bundle_of
from simengine.exchange.scored import unit_of
from simengine.people.codes import is_erased
from simengine.problems import InputError, Problem
from simengine.scoring import score
from simengine.session.events import Event
from simengine.session.fold import fold
from simengine.store import Store
from simengine.store.consents import counts


def stored_bundle(
    store: Store, session: str, folders: Sequence[Path], *, research: bool = False
) -> Bundle:
    """Return the bundle of a session. Raises ``InputError`` or ``StoreError``.

    ``folders``: where scenarios are, before the shipped ones. ``research``: it is for research or
    teaching.
    """
    log = store.events(session)
    if not log:
        expected, instead = "a session that was held", "one without a log"
        raise InputError([Problem(session, 0, 0, "", expected, instead, "no-log")])
    if research:
        _raise_not_agreed(store, session, log)
    scenario, files = as_run(store, log[0].data, folders)
    held = fold(scenario, log)
    with store.reading() as connection:
        unit = unit_of(connection, session)
    return bundle_of(held, files, score(held), unit=unit)


def _raise_not_agreed(store: Store, session: str, log: Sequence[Event]) -> None:
    may_count = counts(store, research=True)
    named = {code for event in log for code in _named(event.data)}
    missing = sorted(code for code in named if not may_count(code) and not is_erased(code))
    if missing:
        expected = "people who all agreed to research and teaching, on their own pages"
        missing_answers = f"no such answer from {', '.join(missing)}"
        raise InputError([Problem(session, 0, 0, "", expected, missing_answers, "not-agreed")])


def _named(value: Any, key: str = "") -> Iterator[str]:
    """Yield the codes in an entry: the team's, and each person's, in a correction too."""
    if isinstance(value, str):
        if value and key in ("team", "person"):
            yield value
    elif isinstance(value, Mapping):
        for name, part in value.items():
            yield from _named(part, "team" if key == "team" else name)
    elif isinstance(value, Sequence):
        for part in value:
            yield from _named(part, key)
