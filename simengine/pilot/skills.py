"""Skill levels of simulated teams: figures with their sources, read from YAML.

Rules of this file:

- Every figure carries where it is from and how good that is, and the report shows both.
- Levels stand from slow to steady: the first is the slow one, the last the steady one.
- Shares are fractions of 1, times whole milliseconds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, get_args

from simengine.resources import scenarios_dir
from simengine.scenario.forms import (
    FORMAT,
    NAME,
    TEXT,
    TIME,
    Choice,
    Form,
    Key,
    MapOf,
    Record,
    Value,
)
from simengine.scenario.opened import finish, opened_or_error
from simengine.scenario.place import Place

Evidence = Literal["read", "quoted", "computed", "chosen"]

_LEVEL = {
    "pace": "Time taken, of the time asked (median)",
    "omission": "Does not come to mind when asked",
    "setting_error": "Setting left or set off",
    "done_in_error": "Does what is not advised",
}
_SHARED = {
    "spread": {
        "actions": "Spread of the logarithm of times, within a team",
        "teams": "Spread of the logarithm of times, between teams of a level",
    },
    "doses": {"error": "Dose off", "tenfold": "Of these, ten-fold"},
    "looks": {"every": "Looks up, where no time is asked, every"},
    "recording": {
        "spread": "Error of recorded times (standard deviation)",
        "missed": "Done and not recorded",
    },
}
_TIMES = {("looks", "every"), ("recording", "spread")}
_GROUPS = {
    "spread": "the spread of times",
    "doses": "how doses go wrong",
    "looks": "how teams look up",
    "recording": "how people record",
}


def _figure_of(value: Form, name: str) -> Record:
    evidence = Choice(
        get_args(Evidence),
        name="evidence",
        about=(
            "How the figure is known: read in the source; quoted by another publication; computed "
            "here from what the source gives; chosen where no figure was found."
        ),
    )
    keys = {
        "value": Key(value, "The figure.", needed=True),
        "evidence": Key(evidence, needed=True),
        "source": Key(TEXT, "Where it is from.", needed=True),
    }
    return Record("a figure with its evidence and source", keys, name=name)


_PATTERN = r"^\s*[0-9]+(\.[0-9]+)?\s*%\s*$"
_SHARE = _figure_of(
    Value(
        "a share such as 30 %",
        {"type": "string", "pattern": _PATTERN, "examples": ["30 %"]},
        name="share",
        about="A number and %.",
    ),
    "share_figure",
)
_TIME = _figure_of(TIME, "time_figure")
FILE = Record(
    "a file of skill levels",
    {
        "format": Key(FORMAT),
        "id": Key(NAME, "The name of this file without .yaml, or another."),
        "title": Key(TEXT, "What people call it.", needed=True),
        "levels": Key(
            MapOf(
                Record(
                    "a skill level",
                    {
                        "label": Key(TEXT, "What people call it.", needed=True),
                        **{
                            name: Key(_SHARE, f"{words}.", needed=True)
                            for name, words in _LEVEL.items()
                        },
                    },
                    name="level",
                ),
                "a map of levels, from slow to steady,",
                2,
            ),
            "From slow to steady; at least two.",
            needed=True,
        ),
        **{
            group: Key(
                Record(
                    _GROUPS[group],
                    {
                        name: Key(
                            _TIME if (group, name) in _TIMES else _SHARE,
                            f"{words.removesuffix(', every')}.",
                            needed=True,
                        )
                        for name, words in names.items()
                    },
                ),
                "What all levels share.",
                needed=True,
            )
            for group, names in _SHARED.items()
        },
    },
    about=(
        "Simulated teams from slow to steady: how late they act, what they leave out and set wrong."
    ),
)
"""What a file of skill levels holds."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number, a fraction of 1 or a time in ms, and where it is from. ``text`` as written."""

    label: str
    value: float
    text: str
    evidence: Evidence
    source: str


@dataclass(frozen=True, slots=True)
class Level:
    """One skill level."""

    name: str
    label: str
    pace: Figure
    omission: Figure
    setting_error: Figure
    done_in_error: Figure


@dataclass(frozen=True, slots=True)
class Skills:
    """All levels, slow first, and what they share (by group and name, as in the file)."""

    title: str
    levels: tuple[Level, ...]
    shared: Mapping[tuple[str, str], Figure]

    def figures(self) -> tuple[tuple[str, Figure], ...]:
        """Return (level or empty, figure) of every figure, for the report."""
        own = [
            (level.label, figure)
            for level in self.levels
            for figure in (level.pace, level.omission, level.setting_error, level.done_in_error)
        ]
        return (*own, *(("", figure) for figure in self.shared.values()))


def faultless(skills: Skills) -> Skills:
    """Return the same with one level that forgets nothing, sets nothing wrong and is never late.

    Its pace is a choice: four fifths of the time asked.
    """

    def with_value(figure: Figure, value: float) -> Figure:
        return replace(figure, value=value, text="", evidence="chosen", source="")

    steady = skills.levels[-1]
    level = Level(
        "faultless",
        "Faultless",
        pace=with_value(steady.pace, 0.8),
        omission=with_value(steady.omission, 0.0),
        setting_error=with_value(steady.setting_error, 0.0),
        done_in_error=with_value(steady.done_in_error, 0.0),
    )
    shared = {
        key: with_value(figure, figure.value / 2 if key == ("looks", "every") else 0.0)
        for key, figure in skills.shared.items()
    }
    return Skills(skills.title, (level,), shared)


def load_skills(path: Path | None = None) -> Skills:
    """Read the skill levels (default: the shipped ones). Raises ``InputError``."""
    file = path or scenarios_dir() / "pilot" / "skills.yaml"
    root = opened_or_error("skills", file)
    title = root.need("title")
    levels = root.need("levels")
    read = tuple(_level(name, place) for name, place in levels.entries()) if levels else ()
    shared = {
        (group, name): figure
        for group, names in _SHARED.items()
        for name, figure in _group(root.need(group), group, names).items()
    }
    finish(root)
    return Skills(title.text() if title else "", read, shared)


def _level(name: str, place: Place) -> Level:
    label = place.need("label")
    figures = {key: _figure(place.need(key), words, time=False) for key, words in _LEVEL.items()}
    return Level(name, label.text() if label else name, **figures)


def _group(place: Place | None, group: str, names: Mapping[str, str]) -> dict[str, Figure]:
    return {
        name: _figure(place.need(name) if place else None, words, time=(group, name) in _TIMES)
        for name, words in names.items()
    }


def _figure(place: Place | None, label: str, *, time: bool) -> Figure:
    nothing = Figure(label, 0.0, "", "chosen", "")
    if place is None:
        return nothing
    parts = [place.need(key) for key in ("value", "evidence", "source")]
    value, evidence, source = parts
    if value is None or evidence is None or source is None:
        return nothing
    number = value.duration() if time else value.quantity("%")
    if number is not None and number < 0:
        value.say("0 or more", "negative")
    kind: Evidence = evidence.word(get_args(Evidence))  # type: ignore[assignment]
    share = (number or 0) if time else (number or 0) / 100
    return Figure(label, float(share), value.text(), kind, " ".join(source.text().split()))
