"""What reads files that people and other programs write, each with good files to begin from.

Whatever comes, a reader gives its result or ``InputError`` with problems, and nothing else. What
reads requests is the console.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from unittest.mock import patch

from simengine.exchange.as_run import files_of
from simengine.exchange.bundle import bundle_of, write_bundle
from simengine.exchange.open_bundle import open_bundle
from simengine.people.read_roster import read_roster
from simengine.plays.check import check_play
from simengine.problems import InputError
from simengine.resources import scenarios_dir
from simengine.scenario import check_file, load_scenario
from simengine.scenario.loading import source_files
from simengine.scenario.model import Infant, Scenario
from simengine.scoring import score
from simengine.session import from_file
from simengine.session.from_file import open_session
from tests.fuzz.mutations import (
    mutated_bytes,
    mutated_log,
    mutated_table,
    mutated_tree_json,
    mutated_yaml,
)
from tests.fuzz.requests import answered, console, mutated_request, requests

Read = Callable[[Path, bytes], None]


@dataclass(frozen=True, slots=True)
class Target:
    """A reader. ``read`` is given an empty folder and what stands in the file."""

    name: str
    seeds: Callable[[], tuple[bytes, ...]]
    mutated: Callable[[Random, bytes], bytes]
    read: Read
    opened: Callable[[], AbstractContextManager[None]] = nullcontext
    """What has to stand while it is used."""


def _shipped(pattern: str) -> Callable[[], tuple[bytes, ...]]:
    @cache
    def seeds() -> tuple[bytes, ...]:
        return tuple(file.read_bytes() for file in sorted(scenarios_dir().glob(pattern)))

    return seeds


def _written(file: Path, content: bytes) -> Path:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(content)
    return file


def _scenario(folder: Path, content: bytes) -> None:
    file = _written(folder / "mutated.yaml", content)
    check_file(file)
    with suppress(InputError):
        load_scenario(file)


def _vocabulary(folder: Path, content: bytes) -> None:
    check_file(_written(folder / "vocabulary" / "newborn.yaml", content))
    _whole_scenario(folder)


def _protocol(folder: Path, content: bytes) -> None:
    check_file(_written(folder / "protocols" / "ercnls-2021.yaml", content))
    _whole_scenario(folder)


def _whole_scenario(folder: Path) -> None:
    shipped = (scenarios_dir() / "term-not-breathing.yaml").read_bytes()
    check_file(_written(folder / "term-not-breathing.yaml", shipped))


def _play(folder: Path, content: bytes) -> None:
    shipped = (scenarios_dir() / "new" / "starting-scenario.yaml").read_bytes()
    _written(folder / "starting-scenario.yaml", shipped)
    check_play(_written(folder / "plays" / "starting-scenario" / "mutated.yaml", content))


def _text(folder: Path, content: bytes) -> None:
    for kind in ("agreement", "setup_pack", "pilot"):
        check_file(_written(folder / kind / "newborn.yaml", content))


def _log(folder: Path, content: bytes) -> None:
    with suppress(InputError):
        opened = open_session(_written(folder / "a.session.jsonl", content), any_version=True)
        score(opened.session, redraws=5)


@cache
def _loaded(file: Path, protocol: str, infant: Infant | None) -> Scenario:
    return load_scenario(file, protocol=protocol, infant=infant)


@contextmanager
def _scenarios_loaded_once() -> Iterator[None]:
    """A log is what is changed: beside it there is no file, so that its scenario is shipped."""

    def load(
        file: Path, *, protocol: str, search: object, infant: Infant | None = None
    ) -> Scenario:
        del search
        return _loaded(file, protocol, infant)

    with patch.object(from_file, "load_scenario", load):
        yield


def _roster(folder: Path, content: bytes) -> None:
    for file in (scenarios_dir() / "roster").glob("*.csv"):
        _written(folder / file.name, file.read_bytes())
    _written(folder / "mutated.csv", content)
    with suppress(InputError):
        read_roster([folder])


def _bundle(folder: Path, content: bytes) -> None:
    with suppress(InputError):
        open_bundle(_written(folder / "a.bundle.zip", content))


@cache
def _bundles() -> tuple[bytes, ...]:
    log = scenarios_dir() / "sessions" / "cot-term-first-try.session.jsonl"
    session = open_session(log).session
    run = files_of(source_files(scenarios_dir() / "cot-term.yaml"))
    with TemporaryDirectory() as folder:
        return (write_bundle(bundle_of(session, run, score(session)), Path(folder)).read_bytes(),)


def _mutated_bundle(random: Random, seed: bytes) -> bytes:
    """Change the zip itself, or a file in it with the manifest made to fit."""
    if random.random() < 0.5:
        return mutated_bytes(random, seed)
    with zipfile.ZipFile(io.BytesIO(seed)) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    name = random.choice(list(files))
    change = {
        ".yaml": mutated_yaml, ".jsonl": mutated_log, ".json": mutated_tree_json,
    }.get(Path(name).suffix, mutated_bytes)  # fmt: skip
    files[name] = change(random, files[name])
    if name != "manifest.json":
        files["manifest.json"] = _fitting(files)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            archive.writestr(name if random.random() < 0.98 else f"../{name}", content)
    return out.getvalue()


def _fitting(files: dict[str, bytes]) -> bytes:
    import json
    from hashlib import sha256

    manifest = json.loads(files["manifest.json"])
    for stated in manifest["files"]:
        content = files[stated["name"]]
        stated |= {"size": len(content), "sha256": sha256(content).hexdigest()}
    return json.dumps(manifest).encode()


TARGETS = (
    Target("scenario", _shipped("*.yaml"), mutated_yaml, _scenario),
    Target("vocabulary", _shipped("vocabulary/*.yaml"), mutated_yaml, _vocabulary),
    Target("protocol", _shipped("protocols/*.yaml"), mutated_yaml, _protocol),
    Target("play", _shipped("new/plays/*/*.yaml"), mutated_yaml, _play),
    Target("text", _shipped("[asp][gei][rlt]*/*.yaml"), mutated_yaml, _text),
    Target("log", _shipped("sessions/*.jsonl"), mutated_log, _log, _scenarios_loaded_once),
    Target("roster", _shipped("roster/*.csv"), mutated_table, _roster),
    Target("bundle", _bundles, _mutated_bundle, _bundle),
    Target("request", requests, mutated_request, answered, console),
)
