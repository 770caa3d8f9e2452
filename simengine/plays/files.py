"""Where plays are found, and reading one from its file.

Rules of this file:

- The plays of a scenario stand beside it, in ``plays/ID/``: a folder may hold many scenarios.
- A play names its scenario by id. It is looked for where it belongs by the rule above, then beside
  the play, then in the folder of today, in its ``scenarios/``, and among the shipped ones.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from simengine.nearest_name import name_hint
from simengine.plays.play_model import Play
from simengine.plays.read import read_play
from simengine.problems import InputError
from simengine.scenario import find_scenario, load_scenario, scenario_ids
from simengine.scenario.model import Scenario
from simengine.scenario.opened import opened
from simengine.scenario.place import Book, Place
from simengine.scenario.schema import settle

FOLDER = "plays"
Other = Play | Literal["circle", "errors"]
"""A play that another is like, or what keeps it from being that."""
Others = dict[str, Other]
"""What plays of one folder and scenario are like, by name."""


def plays_of(scenario: Path, scenario_id: str) -> list[Path]:
    """Return the files of the plays that stand beside a scenario's file, in order of name."""
    return sorted((scenario.parent / FOLDER / scenario_id).glob("*.yaml"))


def load_play(path: Path | str, *, protocol: str | None = None) -> Play:
    """Read a play and its scenario. ``protocol``: another one than the play or scenario names.

    Raises ``InputError`` with every error of both.
    """
    play, book = read_file(Path(path), protocol=protocol)
    if play is None or book.has_errors():
        raise InputError(book.problems)
    return play


def read_file(
    path: Path,
    scenario: Scenario | None = None,
    protocol: str | None = None,
    others: Others | None = None,
) -> tuple[Play | None, Book]:
    """Read a play; ``None`` where its scenario can't be read. ``scenario``: read already.

    ``others``: what plays of ``scenario`` are like, as far as it was read; what is read is added.
    """
    root, book = opened("play", path)
    if root is None:
        return None, book
    named = root.need("scenario")
    chosen = root.get("protocol")
    under = protocol or (chosen.text() if chosen is not None else None)
    if scenario is None or under is not None or (named and named.text() != scenario.id):
        scenario = None if named is None else _scenario(named, path, under)
        others = None
    if others is None:
        others = {}
    play: Play | None = None
    if scenario is not None:
        play = read_play(root, path.stem, scenario, _like(root, path, scenario, others))
    settle(book)
    return play, book


def _like(root: Place, path: Path, scenario: Scenario, others: Others) -> Play | None:
    """Return the play that a play says it is like, which has to be like no other itself."""
    named = root.get("like")
    if named is None:
        return None
    name = named.name(
        [file.stem for file in sorted(path.parent.glob("*.yaml")) if file.stem != path.stem],
        "another play in this folder",
    )
    if name is None:
        return None
    if name not in others:
        others[name] = _other(path.parent / f"{name}.yaml", scenario)
    play = others[name]
    if play == "circle":
        named.say("a play that is like no other", "circle")
        return None
    if play == "errors":
        named.say("a play without errors", "other-file", hint=f"check {name}.yaml")
        return None
    return play


def _other(path: Path, scenario: Scenario) -> Other:
    """Read a play that another one is like."""
    root, book = opened("play", path)
    if root is None or root.get("like") is not None:
        return "circle"
    play = read_play(root, path.stem, scenario)
    settle(book)
    return "errors" if book.has_errors() else play


def _scenario(named: Place, path: Path, protocol: str | None) -> Scenario | None:
    folder = path.resolve().parent
    places = (folder.parent.parent, folder, Path(), Path("scenarios"))
    file = find_scenario(named.text(), places)
    if file is None:
        hint = name_hint(named.text(), scenario_ids(places))
        named.say("the id of a scenario", "unknown-name", hint=hint)
        return None
    try:
        return load_scenario(file, protocol=protocol)
    except InputError as error:
        named.book.problems += error.problems
        return None
