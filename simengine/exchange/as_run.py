"""The scenario as a session ran it, from this machine's files or from those that the store keeps.

Rules of this file:

- It is the one with the log's digests or none: what was changed since is not taken for it.
- Files found here are kept in the store, once for all sessions that ran them, so that a session can
  still be shown, scored and bundled as it was when the files have changed.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from simengine.problems import InputError, Problem
from simengine.scenario.loading import Sources, source_files
from simengine.scenario.model import Scenario
from simengine.session.from_file import scenario_for
from simengine.store import Store
from simengine.store.scenario_files import Files, keep_files, kept_files

SCENARIO = "scenario.yaml"


def files_of(sources: Sources) -> dict[str, bytes]:
    """Return a scenario's files by the names that they have in the store and in a bundle."""
    files = {
        SCENARIO: sources.scenario.read_bytes(),
        f"vocabulary/{sources.vocabulary.name}": sources.vocabulary.read_bytes(),
    }
    if sources.equipment is not None:
        files[f"equipment/{sources.equipment.name}"] = sources.equipment.read_bytes()
    if sources.physiology is not None:
        files[f"physiology/{sources.physiology.name}"] = sources.physiology.read_bytes()
    for protocol in sources.protocols:
        files[f"protocols/{protocol.name}"] = protocol.read_bytes()
    return files


def write_files(files: Files, folder: Path) -> None:
    """Write files into a folder of their own."""
    for name, content in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)


def as_run(
    store: Store, ran: Mapping[str, Any], folders: Sequence[Path]
) -> tuple[Scenario, dict[str, bytes]]:
    """Return the scenario that a log ran, and its files. ``ran``: the data of its ``opened``.

    ``folders``: where scenarios are, before the shipped ones. Raises ``InputError`` where it is
    neither there nor in the store.
    """
    digests = (str(ran["scenario"]["digest"]), str(ran["protocol"]["digest"]))
    try:
        scenario, file = scenario_for(ran, folders)
    except InputError as error:
        missing = error
    else:
        if is_as_run(scenario, ran):
            protocol = str(ran["protocol"]["id"])
            files = files_of(source_files(file, protocol=protocol, search=folders))
            with store.begin() as connection:
                keep_files(connection, *digests, files)
            return scenario, files
        missing = InputError([_changed(ran, scenario)])
    with store.reading() as connection:
        kept = kept_files(connection, *digests)
    if kept is None:
        raise missing
    return _loaded(kept, ran), kept


def remember(store: Store, ran: Mapping[str, Any], folders: Sequence[Path]) -> None:
    """Keep the files that a log ran, if they are here and not kept yet."""
    digests = (str(ran["scenario"]["digest"]), str(ran["protocol"]["digest"]))
    with store.reading() as connection:
        kept = kept_files(connection, *digests)
    if kept is None:
        with suppress(InputError):
            as_run(store, ran, folders)


def is_as_run(scenario: Scenario, ran: Mapping[str, Any]) -> bool:
    """Whether a scenario and its protocol are the very ones that a log ran."""
    return (scenario.digest, scenario.protocol.digest) == (
        ran["scenario"]["digest"],
        ran["protocol"]["digest"],
    )


def _loaded(files: Files, ran: Mapping[str, Any]) -> Scenario:
    # One folder further down, since a scenario's vocabulary is also looked for one level up.
    with tempfile.TemporaryDirectory(prefix="simengine-") as made:
        folder = Path(made) / "kept"
        write_files(files, folder)
        return scenario_for(ran, [folder])[0]


def _changed(ran: Mapping[str, Any], today: Scenario) -> Problem:
    return Problem(
        str(ran["session"]),
        0,
        0,
        "",
        f"scenario {ran['scenario']['id']} as it was run, digest {ran['scenario']['digest'][:12]}… "
        f"under protocol {ran['protocol']['id']}, digest {ran['protocol']['digest'][:12]}…",
        f"digests {today.digest[:12]}… and {today.protocol.digest[:12]}…: it was changed since",
        "not-as-run",
        hint="name the folder that still has it with --scenarios",
    )
