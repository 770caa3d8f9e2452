"""Open a bundle and verify all that it states.

Rules of this file:

- Verified: each file's SHA-256, the log's chain and last hash, that its automatic transitions were
  due, the digests of scenario and protocol, and that the score computed here is the one in it.
- Only what is in the bundle is used; no scenario of this machine stands in for a missing one.
- A score that another version of the program, or another edition of the rules of scoring, computed
  may differ; that is told as a warning. By the same it is an error.
"""

from __future__ import annotations

import json
import math
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from simengine import __version__
from simengine.exchange.as_run import SCENARIO, write_files
from simengine.exchange.bundle import FORMAT, LOG, MANIFEST, SCORE
from simengine.exchange.unpacked import problem, unpacked
from simengine.problems import InputError, Problem
from simengine.scoring import score
from simengine.scoring.as_json import card_as_json
from simengine.scoring.card import ScoreCard
from simengine.scoring.edition import EDITION, WORDS
from simengine.session.from_file import open_session
from simengine.session.record import Session
from simengine.session.verify import verify_log
from simengine.store.scenario_files import Files


@dataclass(frozen=True, slots=True)
class OpenedBundle:
    """A bundle that has passed: its session, the score computed here, where it was held.

    ``run``: the files of the scenario that was run.
    """

    session: Session
    card: ScoreCard
    unit: str | None
    run: Files
    warnings: tuple[Problem, ...]


def open_bundle(path: Path | str) -> OpenedBundle:
    """Open and verify a bundle. Raises ``InputError`` with everything that is wrong."""
    path = Path(path)
    files = unpacked(path)
    manifest = _manifest(path, files)
    wrong = list(_wrong_files(path, manifest, files))
    if wrong:
        raise InputError(wrong)
    session = _session(path, files)
    wrong = list(_wrong_session(path, manifest, session))
    if wrong:
        raise InputError(wrong)
    card = score(session)
    run = {name: files[name] for name in files if name == SCENARIO or "/" in name}
    differs = _wrong_score(path, files[SCORE], card)
    if differs is None:
        return OpenedBundle(session, card, manifest["unit"], run, ())
    edition = _edition(files[SCORE])
    if manifest["program"] == __version__ and edition in (None, EDITION):
        raise InputError([differs])
    hint = f"it was computed by version {manifest['program']}, and here by {__version__}"
    if edition not in (None, EDITION):
        hint = f"it was computed by {WORDS.get(edition, edition)}, and here by {WORDS[EDITION]}"
    warning = replace(differs, level="warning", hint=hint)
    return OpenedBundle(session, card, manifest["unit"], run, (warning,))


def _manifest(path: Path, files: Mapping[str, bytes]) -> Mapping[str, Any]:
    if MANIFEST not in files:
        raise InputError([problem(path, f"a bundle, with {MANIFEST}", "none", "no-manifest")])
    try:
        raw = json.loads(files[MANIFEST])
        if raw["format"] != FORMAT:
            given = f"{str(raw['format'])[:60]!r}"
            raise InputError([problem(path, f"{FORMAT!r}", given, "format", MANIFEST)])
        stated = {str(entry["name"]): str(entry["sha256"]) for entry in raw["files"]}
        if len(stated) < len(raw["files"]):
            raise ValueError("a file twice")
        return {
            "program": str(raw["program"]),
            "session": str(raw["session"]),
            "unit": None if raw["unit"] is None else str(raw["unit"]),
            "last_hash": str(raw["last_hash"]),
            "scenario": str(raw["scenario"]["digest"]),
            "protocol": str(raw["protocol"]["digest"]),
            "files": stated,
        }
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        words = f"{type(error).__name__}: {error}"[:120]
        raise InputError(
            [problem(path, "a manifest that can be read", words, "manifest", MANIFEST)]
        ) from None


def _wrong_files(
    path: Path, manifest: Mapping[str, Any], files: Mapping[str, bytes]
) -> Iterator[Problem]:
    stated = manifest["files"]
    for name in (LOG, SCENARIO, SCORE):
        if name not in stated:
            yield problem(path, f"the file {name}", "none stated", "not-stated", MANIFEST)
    for folder in ("vocabulary", "protocols"):
        if not any(name.startswith(f"{folder}/") for name in stated):
            yield problem(path, f"a file in {folder}/", "none stated", "not-stated", MANIFEST)
    for name in files:
        if name != MANIFEST and name not in stated:
            difference = f"{name!r}, which it does not state"
            yield problem(path, "only what the manifest states", difference, "not-stated")
    for name, digest in stated.items():
        if name not in files:
            yield problem(path, f"the file {name[:80]!r}", "none", "missing-file")
        elif sha256(files[name]).hexdigest() != digest:
            difference = "other content: it was changed after the bundle was made"
            yield problem(path, f"the SHA-256 {digest[:12]}…", difference, "sha256", name)


def _session(path: Path, files: Mapping[str, bytes]) -> Session:
    # One folder further down, since a scenario's vocabulary is also looked for one level up.
    with tempfile.TemporaryDirectory(prefix="simengine-") as made:
        folder = Path(made) / "bundle"
        write_files(files, folder)
        try:
            opened = open_session(folder / LOG, scenario=folder / SCENARIO)
        except InputError as error:
            raise InputError(_of_bundle(path, folder, error.problems)) from None
        if opened.warnings:
            raise InputError(_of_bundle(path, folder, opened.warnings))
        broken = verify_log(opened.session.scenario, opened.session.events, file=str(folder / LOG))
        if broken is not None:
            raise InputError(_of_bundle(path, folder, [broken]))
        return opened.session


def _of_bundle(path: Path, folder: Path, problems: Any) -> list[Problem]:
    """Name the bundle and the file in it, in place of a folder that is gone."""
    return [
        replace(problem, file=problem.file.replace(f"{folder}", str(path)), level="error")
        for problem in problems
    ]


def _wrong_session(path: Path, manifest: Mapping[str, Any], session: Session) -> Iterator[Problem]:
    for name, stated, own in (
        ("session", manifest["session"], session.session_id),
        ("last hash", manifest["last_hash"], session.last_hash),
        ("scenario's digest", manifest["scenario"], session.scenario.digest),
        ("protocol's digest", manifest["protocol"], session.scenario.protocol.digest),
    ):
        if stated != own:
            yield problem(path, f"the {name} {stated[:12]}…", f"{own[:12]}…", "other", MANIFEST)


def _edition(content: bytes) -> Any:
    """The edition of scoring that a score states; ``None`` where it can't be read."""
    try:
        stated = json.loads(content)
    except (ValueError, RecursionError):
        return None
    return stated.get("edition", 1) if isinstance(stated, dict) else None


def _wrong_score(path: Path, content: bytes, card: ScoreCard) -> Problem | None:
    try:
        stated = json.loads(content)
    except (ValueError, RecursionError) as error:
        return problem(path, "a score that can be read", str(error)[:120], "score", SCORE)
    place = different(stated, card_as_json(card))
    if place is None:
        return None
    difference = f"another {place}" if place else "another"
    return problem(path, "the score that this log has", difference, "score", SCORE)


def different(stated: Any, computed: Any, place: str = "") -> str | None:
    """Return where two scores as JSON differ, ``None`` where nowhere; floats within 1e-9."""
    if isinstance(stated, dict) and isinstance(computed, dict):
        if stated.keys() != computed.keys():
            return place
        pairs = [(f"{place}.{key}".lstrip("."), stated[key], computed[key]) for key in stated]
    elif isinstance(stated, list) and isinstance(computed, list):
        if len(stated) != len(computed):
            return place
        pairs = [
            (f"{place}[{n}]", *pair) for n, pair in enumerate(zip(stated, computed, strict=True))
        ]
    else:
        return None if _same(stated, computed) else place
    places = (different(stated_part, other, where) for where, stated_part, other in pairs)
    return next((where for where in places if where is not None), None)


def _same(stated: Any, computed: Any) -> bool:
    numbers = isinstance(stated, int | float) and isinstance(computed, int | float)
    if numbers and not isinstance(stated, bool) and not isinstance(computed, bool):
        try:
            return math.isclose(stated, computed, rel_tol=1e-9, abs_tol=1e-9)
        except OverflowError:  # a whole number beyond every float
            return False
    return type(stated) is type(computed) and bool(stated == computed)
