"""Where each shipped figure is from: a publication that can be traced, or said to be nobody's.

Rules of this file:

- A source names a publication by its year or by a number or an address of its own, or says that
  there is none: common practice, a teaching choice, computed here, invented.
- What no guideline of its own states names no guideline: the chosen protocol does.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
import yaml

from simengine.resources import scenarios_dir
from tests.content.what_is_shipped import PROTOCOLS, SCENARIOS, protocol, scenario, vocabulary

FILES = sorted(
    path.relative_to(scenarios_dir()).as_posix()
    for pattern in (
        *("*.yaml", "new/*.yaml", "vocabulary/*", "equipment/**/*.yaml", "physiology/*"),
        "pilot/*.yaml",
    )
    for path in scenarios_dir().glob(pattern)
) + [f"protocols/{name}.yaml" for name in PROTOCOLS]

UNTRACEABLE = ("not noted", "teaching of", "secondary page", "to hand", "at hand", "is lost")
NOBODYS = ("teaching choice", "common practice", "computed here", "invented", "the protocol's")
PUBLICATION = re.compile(
    r"\b(19|20)\d\d\b"  # a year: of an edition, or beside an author
    r"|\bPMC\d+|\bPMID \d+|\bCD\d{6}|resplu\.\d|\bs41390-|resus\.org\.uk/|b-qon\.eu/|scirp\.org/"
)
BODIES = re.compile(r"RCUK|Resuscitation Council|\bERC\b|\bAHA\b|\bAAP\b|ANZCOR|ILCOR")


def sources_in(tree: Any) -> Iterator[str]:
    """Every text that says where something is from, wherever it stands in a file."""
    if isinstance(tree, dict):
        for key, part in tree.items():
            if key == "source" and isinstance(part, str):
                yield part
            elif key in ("sources", "references") and isinstance(part, dict):
                yield from part.values()
            else:
                yield from sources_in(part)
    elif isinstance(tree, list):
        for part in tree:
            yield from sources_in(part)


@pytest.mark.parametrize("file", FILES)
def test_each_source_can_be_traced_or_says_that_there_is_none(file: str) -> None:
    sources = list(sources_in(yaml.safe_load((scenarios_dir() / file).read_text("utf-8"))))
    assert sources or file.startswith("new/")
    for source in sources:
        assert not any(words in source for words in UNTRACEABLE), source
        nobodys = any(words in source.lower() for words in NOBODYS)
        assert nobodys or PUBLICATION.search(source), source


@pytest.mark.parametrize("source", ["AHA", "ANZCOR", "Kempley", "read (publication not noted)"])
def test_a_body_or_a_name_alone_is_no_source(source: str) -> None:
    assert not PUBLICATION.search(source)
    assert not any(words in source.lower() for words in NOBODYS)


@pytest.mark.parametrize("under", PROTOCOLS)
@pytest.mark.parametrize("name", SCENARIOS)
def test_what_is_unsafe_in_any_baby_names_no_guideline_but_the_one_in_use(
    name: str, under: str
) -> None:
    for item in scenario(name, under).never:
        assert item.source is not None
        assert not BODIES.search(item.source), item.id


def test_figures_of_no_one_guideline_name_none() -> None:
    """Under one protocol nobody is shown another's name: a note may say who asks the same."""
    for value in protocol("common-practice").values.values():
        for row in value.rows:
            assert not BODIES.search(row.source), value.name


KINDS = {
    "tolerances": lambda words: any(entry.tolerance for entry in words.settings.values()),
    "plausible ranges": lambda words: any(entry.plausible for entry in words.settings.values()),
    "delays before a reading": lambda words: any(
        by.delay_ms for entry in words.observations.values() for by in entry.revealed_by
    ),
    "how long a reading counts as known": lambda words: any(
        entry.fresh_ms != 15_000 for entry in words.observations.values()
    ),
    "shortest time that counts": lambda words: any(
        entry.shortest_ms for entry in words.actions.values()
    ),
    "how near the truth a value said aloud must be": lambda words: any(
        entry.told_within for entry in words.observations.values()
    ),
    "usual values": lambda words: any(entry.usual for entry in words.settings.values()),
    "cylinders and suction": lambda words: bool(words.supplies),
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_vocabulary_says_where_each_kind_of_its_figures_is_from(kind: str) -> None:
    assert KINDS[kind](vocabulary()), "such figures stand in it"
    assert vocabulary().sources[kind]


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_scenario_says_where_its_courses_timers_and_windows_are_from(name: str) -> None:
    loaded = scenario(name)
    moves = any(state.shows for state in loaded.states.values())
    wanted = {"timers of the states", "windows of time"}
    wanted |= {"courses of the baby"} if moves else set()
    assert set(loaded.sources) == wanted
    for source in loaded.sources.values():
        assert "teaching choice" in source or "protocol" in source


FIGURES = {
    "60 /min": ("compress_below", "60 /min"),
    "100 /min": ("ventilate_below", "100 /min"),
    "36.5 to 37.5 °C": ("temperature", "36.5 to 37.5 degC"),
    "Below 32 weeks": ("wrap_below", "below 32 wk"),
    "SpO2 above 95 %": ("spo2_highest", "95 %"),
    "100 mmHg": ("cot_suction", "at most 100 mmHg"),
}
"""What a title or a reason says, and of which value of the protocol it says so."""


@pytest.mark.parametrize("under", PROTOCOLS)
@pytest.mark.parametrize("name", SCENARIOS)
def test_no_title_or_reason_states_another_figure_than_the_protocols(name: str, under: str) -> None:
    loaded = scenario(name, under)
    for item in (*loaded.key, *loaded.never):
        for words, (value, figure) in FIGURES.items():
            if re.search(rf"(?<!\d){re.escape(words)}", f"{item.title} {item.why}"):
                (row,) = loaded.protocol.values[value].rows
                assert row.range.text.endswith(figure), (item.id, value)


@pytest.mark.parametrize("under", PROTOCOLS)
@pytest.mark.parametrize("name", SCENARIOS)
def test_a_title_tells_how_often_to_reassess_as_the_protocol_in_use_has_it(
    name: str, under: str
) -> None:
    loaded = scenario(name, under)
    (often,) = loaded.protocol.values["recheck_every"].rows
    for item in loaded.key:
        assert not re.search(r"every \d+ s", item.why), item.id
        match = re.search(r"every ([\d.]+ s)\b", item.title)
        if match is not None:
            assert match.group(1) == often.range.text
            assert item.id == "heart-rate-again"
