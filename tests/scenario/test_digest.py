"""A digest covers what the engine and the scorer read, and nothing else."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import rfc8785

from simengine.quantities import Range
from simengine.scenario import load_protocol, load_scenario
from simengine.scenario.digest import stamps
from simengine.scenario.model import Infant, Scenario
from simengine.scenario.vocabulary import Action, Setting, Vocabulary

VALID = Path(__file__).parents[1] / "scenarios" / "valid"
SCENARIO = "small-unsafe.yaml"
VOCABULARY = "vocabulary/small.yaml"
PROTOCOL = "protocols/small-unsafe.yaml"
BELOW = "protocols/small.yaml"
Load = Callable[..., Scenario]


@pytest.fixture
def changed(tmp_path: Path) -> Load:
    """Load the scenario after (file, old, new) has been changed in it or in what it names."""
    shutil.copytree(VALID, tmp_path, dirs_exist_ok=True)

    def load(*changes: tuple[str, str, str], **under: object) -> Scenario:
        for name, old, new in changes:
            file = tmp_path / name
            text = file.read_text(encoding="utf-8")
            assert old in text, (name, old)
            file.write_text(text.replace(old, new, 1), encoding="utf-8")
        return load_scenario(tmp_path / SCENARIO, **under)  # type: ignore[arg-type]

    return load


def digests(scenario: Scenario) -> tuple[str, str]:
    return scenario.digest, scenario.protocol.digest


def wordings(scenario: Scenario) -> tuple[str, str]:
    return scenario.wording, scenario.protocol.wording


WORDS = [
    (SCENARIO, "title: A small scenario for tests", "title: Another name"),
    (SCENARIO, "version: 1.0.0", "version: 1.0.1"),
    (SCENARIO, "facilitator: Press birth.", "facilitator: Press birth now."),
    (SCENARIO, "watch: Watch the heart", "watch: Look after the heart"),
    (SCENARIO, "leader: Leader", "leader: Team leader"),
    (SCENARIO, "    title: Limp", "    title: Floppy"),
    (SCENARIO, "shows: Gauge below half", "shows: The gauge is below half"),
    (SCENARIO, "words: adrenaline given", "words: adrenaline was given"),
    (SCENARIO, "What does the gauge say?", "Does the gauge say anything?"),
    (VOCABULARY, "label: Ventilation", "label: Breaths by mask"),
    (VOCABULARY, "caution: Training only.", "caution: For training."),
    (VOCABULARY, "vein: Vein", "vein: By a vein"),
    (VOCABULARY, "drugs: Drugs", "drugs: Medicines"),
    (VOCABULARY, "key: V", "key: W"),
    (PROTOCOL, "label: Highest pressure", "label: Pressure at most"),
    (PROTOCOL, "title: A small protocol that says", "title: A protocol that says"),
    (PROTOCOL, "title: Far too much pressure", "title: Much too high a pressure"),
    (PROTOCOL, "why: The heart is beating well enough.", "why: The heart beats."),
    (PROTOCOL, "source: common practice, no source", "source: Somebody, 2026"),
    (BELOW, "label: Starting oxygen", "label: Oxygen to begin with"),
]
FIGURES = [
    (SCENARIO, "ideal: 60 s", "ideal: 61 s"),
    (SCENARIO, "importance: essential", "importance: helpful"),
    (SCENARIO, "to: 70 /min, within: 30 s", "to: 70 /min, within: 31 s"),
    (SCENARIO, "at least 25 cmH2O", "at least 26 cmH2O"),
    (SCENARIO, "pass: 75 %", "pass: 70 %"),
    (SCENARIO, "declared: true", "declared: false"),
    (SCENARIO, "times: 2, plus: 5 s", "times: 2, plus: 6 s"),
    (SCENARIO, "oxygen: 30 %, gas_flow", "oxygen: 31 %, gas_flow"),
    (VOCABULARY, "tolerance: 5 %", "tolerance: 4 %"),
    (VOCABULARY, "delay: 6 s", "delay: 7 s"),
    (VOCABULARY, "stays: true", "stays: false"),
    (VOCABULARY, "capacity: 460 L", "capacity: 450 L"),
    (PROTOCOL, "range: at most 30 cmH2O", "range: at most 29 cmH2O"),
    (PROTOCOL, "beyond: 150 %", "beyond: 160 %"),
    (PROTOCOL, "deduct: 5 %", "deduct: 6 %"),
    (PROTOCOL, ", bone: adrenaline_dose", ""),
    (BELOW, "since: 32 wk, range: 21 %", "since: 33 wk, range: 21 %"),
    (BELOW, "since: 32 wk, range: 21 %", "since: 32 wk, range: 21 to 21 %"),
    (SCENARIO, "peak_pressure, to: 30 ± 2 cmH2O", "peak_pressure, to: 30 cmH2O"),
]


@pytest.mark.parametrize("change", WORDS, ids=lambda change: change[1][:40])
def test_a_word_may_change_and_a_log_keeps_its_scenario(
    change: tuple[str, str, str], changed: Load
) -> None:
    before, after = changed(), changed(change)
    assert digests(after) == digests(before)
    assert wordings(after) != wordings(before)


@pytest.mark.parametrize("change", FIGURES, ids=lambda change: f"{change[1]} {change[2]}"[:60])
def test_a_figure_that_counts_may_not(change: tuple[str, str, str], changed: Load) -> None:
    before, after = changed(), changed(change)
    assert digests(after) != digests(before)


def test_the_layout_the_order_of_keys_and_the_unit_change_nothing(changed: Load) -> None:
    before = changed()
    after = changed(
        (SCENARIO, "planned_time: 5 min\n", "# A remark\nplanned_time: 5 min\n"),
        (SCENARIO, "ideal: 60 s", "ideal: 1 min"),
        (SCENARIO, "{gestation: 39 wk, weight: 3.4 kg}", "{weight: 3400 g, gestation: 39 wk}"),
    )
    assert digests(after) == digests(before)
    assert wordings(after) == wordings(before)


def test_a_scenario_is_the_same_under_any_protocol_and_for_any_baby() -> None:
    usual = load_scenario(VALID / "small.yaml")
    assert load_scenario(VALID / "small.yaml", protocol="small-unsafe").digest == usual.digest
    assert load_scenario(VALID / "small.yaml", infant=Infant(210, 1500)).digest == usual.digest
    other = load_scenario(VALID / "small.yaml", protocol="small-unsafe", infant=Infant(210, 1500))
    assert (other.digest, other.wording) == (usual.digest, usual.wording)


def test_an_item_that_not_every_protocol_teaches_counts_under_all_of_them(tmp_path: Path) -> None:
    shutil.copytree(VALID, tmp_path, dirs_exist_ok=True)
    file = tmp_path / "small.yaml"
    text = file.read_text(encoding="utf-8")

    def written(item: str) -> tuple[str, str]:
        file.write_text(text.replace("{repeat: listen, every: 30 s,", item), encoding="utf-8")
        under = load_scenario(file), load_scenario(file, protocol="small-unsafe")
        assert len(under[1].key) == len(under[0].key) + 1
        assert under[0].digest == under[1].digest
        return under[0].digest, under[0].wording

    taught = "{taught: highest_pressure, repeat: listen, "
    first = written(f"{taught}every: 30 s, why: To know, ")
    assert written(f"{taught}every: 31 s, why: To know, ")[0] != first[0]
    reworded = written(f"{taught}every: 30 s, why: Because, ")
    assert reworded[0] == first[0]
    assert reworded[1] != first[1]


def test_a_protocol_covers_all_that_it_extends(changed: Load) -> None:
    before = changed()
    after = changed((BELOW, "range: 3 kPa", "range: 4 kPa"))
    assert after.protocol.digest != before.protocol.digest
    assert after.digest == before.digest


def test_a_digest_is_the_sha_256_of_canonical_json() -> None:
    # Written out by hand by the rules of RFC 8785: keys sorted, no blanks, 0.5 and 60 as such.
    vocabulary = Vocabulary("tiny", "Tiny", {"warmth": "Warmth"}, {}, {}, {}, {}, {}, {}, "Care.")
    vocabulary = replace(
        vocabulary,
        settings={"heat": Setting("heat", "Heat", "%", 0.5, Range(low=60.0))},
        actions={"hat": Action("hat", "Hat on", "warmth", stays=True)},
    )
    means = (
        '[{"":"Vocabulary","actions":{"hat":{"":"Action","name":"hat","phase":"warmth",'
        '"stays":true}},"id":"tiny","observations":{},"phases":["warmth"],"roles":[],'
        '"settings":{"heat":{"":"Setting","name":"heat","plausible":{"":"Range","low":60},'
        '"tolerance":0.5,"unit":"%"}},"supplies":{}},null,{}]'
    )
    words = (
        '[{"actions":{"hat":{"label":"Hat on"}},"caution":"Care.","equations":{},'
        '"phases":{"warmth":"Warmth"},"roles":{},"settings":{"heat":{"label":"Heat"}},'
        '"title":"Tiny"},null,{}]'
    )
    assert stamps(vocabulary) == (
        hashlib.sha256(means.encode()).hexdigest(),
        hashlib.sha256(words.encode()).hexdigest(),
    )


def test_what_a_digest_is_of_stays_as_it_is() -> None:
    """The names of classes and fields are part of every digest that stands in a log.

    If this fails after a field was renamed, recorded logs no longer find their scenario: give the
    field its old name in the digest, or let the logs be made anew and say so in the change log.
    """
    assert load_protocol(VALID / "protocols" / "small-base.yaml").digest[:16] == "f37421a4c7a0c6a8"
    assert load_scenario(VALID / "small.yaml").digest[:16] == "f90f16677813a01c"


@pytest.mark.parametrize(
    "value",
    [
        0.1,
        1.0,
        -0.0,
        1e16,
        1e21,
        1.5e-7,
        2**53 - 1,
        True,
        None,
        'ü "\\ \b\t\x1f\x7f\u2028 \U0001f600',
    ],
)
def test_what_is_digested_is_canonical_json(value: Any) -> None:
    """RFC 8785, as the package rfc8785 writes it."""
    part: Any = {"b": [value], "a": {"ä": value, "z": "text"}}
    canonical = hashlib.sha256(rfc8785.dumps([part, None, {}])).hexdigest()
    assert stamps(part)[0] == canonical
