"""The bundle of a stored session.

Rules of this file:

- A bundle holds the very scenario and protocol that were run. Where they are neither among this
  machine's files nor kept in the store it can't be made, and that is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simengine.exchange.as_run import as_run
from simengine.exchange.bundle import Bundle, bundle_of
from simengine.exchange.scored import unit_of
from simengine.problems import InputError, Problem
from simengine.scoring import score
from simengine.session.fold import fold
from simengine.store import Store


def stored_bundle(store: Store, session: str, folders: Sequence[Path]) -> Bundle:
    """Return the bundle of a session. Raises ``InputError`` or ``StoreError``.

    ``folders``: where scenarios are, before the shipped ones.
    """
    log = store.events(session)
    if not log:
        expected, found = "a session that was held", "one without a log"
        raise InputError([Problem(session, 0, 0, "", expected, found, "no-log")])
    scenario, files = as_run(store, log[0].data, folders)
    held = fold(scenario, log)
    with store.reading() as connection:
        unit = unit_of(connection, session)
    return bundle_of(held, files, score(held), unit=unit)
