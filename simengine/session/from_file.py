"""Open a log file: find the scenario that it ran, check that it is the same version, fold it.

Rules of this file:

- A log names its scenario and protocol by id and digest. The scenario is looked for beside the
  log, then in ``scenarios/`` here, then among the shipped ones; where several have the id, the
  one with the right digest is taken, even if another of them has errors.
- Another version is an error, since it may score otherwise, unless the caller takes any version;
  then the session carries a finding that says so. Other words alone are no other version: they are
  told in a finding. A log without the digest of the words is of an earlier program, whose digests
  held every word: whether what counts has changed can't be told from it.
- Another protocol may be asked for outright; that is said in a finding too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from simengine.problems import InputError, Problem
from simengine.resources import scenarios_dir
from simengine.scenario import find_scenario, load_scenario, scenario_file
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.read_scenario import read_infant
from simengine.session.fold import fold
from simengine.session.log_file import log_path, read_log_file
from simengine.session.record import Finding, Session


@dataclass(frozen=True, slots=True)
class Opened:
    """A session read from a file, and what was noticed on the way (a line cut off …)."""

    session: Session
    warnings: tuple[Problem, ...]


def open_session(
    log: Path | str,
    *,
    scenario: Path | str | None = None,
    protocol: Path | str | None = None,
    any_version: bool = False,
) -> Opened:
    """Read a log and fold it under its scenario. ``log``: its file, or a recorded session's name.

    ``scenario``: its file or its id, where it is not to be looked for. ``protocol``: an id or a
    file, to score under another one than the log's. Raises ``InputError`` with every problem of
    the log or of the scenario, and where the scenario is missing or of another version.
    """
    log = log_path(log)
    events, warnings = read_log_file(log)
    ran = events[0].data
    chosen = _scenario(log, ran, scenario, protocol, any_version)
    session = fold(chosen, events)
    notes = _notes(ran, chosen)
    return Opened(replace(session, findings=(*notes, *session.findings)), warnings)


def scenario_for(
    ran: Mapping[str, Any],
    folders: Sequence[Path],
    *,
    today: bool = False,
    protocol: str | None = None,
) -> tuple[Scenario, Path]:
    """Return the scenario that a log ran, for its baby and under its protocol, and its file.

    ``ran``: the data of the log's ``opened``. Of several files with its id the one with the log's
    digest is taken, or with ``today`` the first one found, whatever its version. ``protocol``:
    the id of another protocol. Raises ``InputError`` if there is none, or it has errors.
    """
    id_ = ran["scenario"]["id"]
    files = _files_of(id_, (*folders, scenarios_dir()))
    if not files:
        where = ", ".join(str(folder) for folder in (*folders, scenarios_dir()))
        expected = f"the scenario {id_!r} in {where}"
        raise InputError([Problem(id_, 0, 0, "", expected, "none", "scenario-missing")])
    chosen = protocol or ran["protocol"]["id"]
    return _candidate(files[:1] if today else files, chosen, ran, folders)


def _scenario(
    log: Path,
    ran: Mapping[str, Any],
    scenario: Path | str | None,
    protocol: Path | str | None,
    any_version: bool,
) -> Scenario:
    id_ = ran["scenario"]["id"]
    folders = (log.parent, Path("scenarios"), scenarios_dir())
    files = (
        [scenario_file(str(scenario), (log.parent,))]
        if scenario is not None
        else _files_of(id_, folders)
    )
    if not files:
        raise InputError(
            [
                _problem(
                    log,
                    f"the scenario {id_!r} in {', '.join(str(folder) for folder in folders)}",
                    "none",
                    "scenario-missing",
                    "name its file with --scenario",
                )
            ]
        )
    chosen = ran["protocol"]["id"] if protocol is None else protocol
    candidate, _ = _candidate(files, chosen, ran, (log.parent,))
    wrong = []
    goes_on = "--any-version goes on all the same, and the report says so"
    if _is_of_words(ran):
        goes_on = (
            "its digests are of an earlier program and hold every word, so it can't be told "
            f"whether anything that counts has changed; {goes_on}"
        )
    if candidate.digest != ran["scenario"]["digest"]:
        wrong.append(
            _problem(
                log,
                f"scenario {id_} version {ran['scenario']['version']}, "
                f"digest {ran['scenario']['digest'][:12]}",
                f"version {candidate.version}, digest {candidate.digest[:12]}, in {files[0]}",
                "scenario-version",
                goes_on,
            )
        )
    if protocol is None and candidate.protocol.digest != ran["protocol"]["digest"]:
        wrong.append(
            _problem(
                log,
                f"protocol {ran['protocol']['id']}, digest {ran['protocol']['digest'][:12]}",
                f"digest {candidate.protocol.digest[:12]}",
                "protocol-version",
                goes_on,
            )
        )
    if wrong and not any_version:
        raise InputError(wrong)
    return candidate


def _files_of(id_: str, folders: Sequence[Path]) -> list[Path]:
    paths = [find_scenario(id_, [folder]) for folder in folders]
    return list(dict.fromkeys(file.resolve() for file in paths if file is not None))


def _candidate(
    files: Sequence[Path],
    protocol: Path | str,
    ran: Mapping[str, Any],
    search: Sequence[Path],
) -> tuple[Scenario, Path]:
    """Return the scenario with the log's digest, else the first, if none of them has errors."""
    others: list[tuple[Scenario, Path]] = []
    refused: list[InputError] = []
    for file in files:
        try:
            scenario = _for_the_infant(file, protocol, ran.get("infant"), search)
        except InputError as error:
            refused.append(error)
            continue
        if scenario.digest == ran["scenario"]["digest"]:
            return scenario, file
        others.append((scenario, file))
    if refused:
        raise refused[0]
    return others[0]


def _for_the_infant(
    file: Path, protocol: Path | str, infant: Mapping[str, str] | None, search: Sequence[Path]
) -> Scenario:
    scenario = load_scenario(file, protocol=protocol, search=search)
    if not infant:
        return scenario
    usual = scenario.infant
    baby = read_infant(
        infant.get("gestation", f"{usual.gestation_days} d"),
        infant.get("weight", f"{usual.weight_g} g"),
    )
    same = Infant(baby.gestation_days, baby.weight_g, usual.words)
    if same == usual:
        return scenario
    return load_scenario(file, protocol=protocol, infant=same, search=search)


def _problem(log: Path, expected: str, found: str, code: str, hint: str) -> Problem:
    return Problem(str(log), 1, 1, "opened", expected, found, code, hint=hint)


def _is_of_words(ran: Mapping[str, Any]) -> bool:
    """Whether a log is of a program whose digests held every word."""
    return "wording" not in ran["scenario"]


def _has_words_of(ran: Mapping[str, Any], scenario: Scenario) -> bool:
    """Whether what people read is as it was; a log that does not say so is taken at its word."""
    return all(
        part["wording"] == words
        for part, words in (
            (ran["scenario"], scenario.wording),
            (ran["protocol"], scenario.protocol.wording),
        )
        if "wording" in part
    )


def _notes(ran: Mapping[str, Any], scenario: Scenario) -> tuple[Finding, ...]:
    notes = []
    differs = "may differ" if _is_of_words(ran) else "differs"
    if scenario.digest != ran["scenario"]["digest"]:
        notes.append(
            Finding(
                "other-version",
                f"The session ran version {ran['scenario']['version']} of the scenario; it is "
                f"read here under version {scenario.version}, whose content {differs}.",
                (),
            )
        )
    if scenario.protocol.id != ran["protocol"]["id"]:
        notes.append(
            Finding(
                "other-protocol",
                f"The session ran under the protocol {ran['protocol']['id']}; it is read here "
                f"under {scenario.protocol.id}.",
                (),
            )
        )
    elif scenario.protocol.digest != ran["protocol"]["digest"]:
        notes.append(
            Finding(
                "other-protocol-version",
                f"The protocol {scenario.protocol.id} has changed since the session ran.",
                (),
            )
        )
    elif not notes and not _has_words_of(ran, scenario):
        notes.append(
            Finding(
                "other-wording",
                "Words for people (titles, labels, explanations) have changed since the session "
                "ran. All that counts is as it was.",
                (),
            )
        )
    return tuple(notes)
