"""The bundle of a stored session.

Rules of this file:

- A bundle holds the very scenario and protocol that were run: where they are not to be had any
  more it can't be made, and that is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from simengine.exchange.bundle import Bundle, bundle_of
from simengine.exchange.scored import unit_of
from simengine.problems import InputError, Problem
from simengine.scenario.files import source_files
from simengine.scoring import score
from simengine.session.fold import fold
from simengine.session.from_file import scenario_for
from simengine.store import Store


def stored_bundle(store: Store, session: str, folders: Sequence[Path]) -> Bundle:
    """Return the bundle of a session. Raises ``InputError`` or ``StoreError``.

    ``folders``: where scenarios are, before the shipped ones.
    """
    log = store.events(session)
    if not log:
        raise InputError([_problem(session, "a session that was held", "one without a log")])
    ran = log[0].data
    scenario, file = scenario_for(ran, folders)
    for what, stated, found in (
        ("scenario", ran["scenario"]["digest"], scenario.digest),
        ("protocol", ran["protocol"]["digest"], scenario.protocol.digest),
    ):
        if stated != found:
            expected = f"the {what} that was run, digest {stated[:12]}…"
            raise InputError([_problem(session, expected, f"{found[:12]}…: it was changed since")])
    held = fold(scenario, log)
    with store.reading() as connection:
        unit = unit_of(connection, session)
    sources = source_files(file, protocol=ran["protocol"]["id"], search=folders)
    return bundle_of(held, sources, score(held), unit=unit)


def _problem(session: str, expected: str, found: str) -> Problem:
    hint = "name the folder that still has it with --scenarios"
    return Problem(session, 0, 0, "", expected, found, "not-as-run", hint=hint)
