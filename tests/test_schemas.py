"""The fast validator and the one that explains say the same of every example file."""

import json
from pathlib import Path
from typing import Any, get_args

import pytest

import simengine.desk
import simengine.rehearsal
from simengine.resources import scenarios_dir
from simengine.scenario.loading import kind_of
from simengine.scenario.positions import read_yaml, typed
from simengine.schemas import SchemaName, _fast, validator

FILES = sorted(
    [
        *Path(__file__).parent.glob("scenarios/**/*.yaml"),
        *scenarios_dir().glob("*.yaml"),
        *scenarios_dir().glob("vocabulary/*.yaml"),
        *scenarios_dir().glob("protocols/*.yaml"),
        *scenarios_dir().glob("equipment/*.yaml"),
    ]
)


def agree(name: SchemaName, instance: Any) -> bool:
    """Hold an instance against both; return whether it is valid."""
    valid = validator(name).is_valid(instance)
    assert _fast(name)(instance) is valid
    return valid


def test_both_say_the_same_of_every_file() -> None:
    verdicts = []
    for file in FILES:
        document = read_yaml(file)
        kind = kind_of(document, file)
        if document.root is not None and kind is not None:
            verdicts.append(agree(kind, typed(document.root)))
    assert verdicts.count(True) > 20
    assert verdicts.count(False) > 20


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("skills", scenarios_dir() / "pilot" / "skills.yaml"),
        ("setup_pack", scenarios_dir() / "setup_pack" / "newborn.yaml"),
        ("agreement", scenarios_dir() / "agreement" / "newborn.yaml"),
        ("clock_marks", Path(simengine.desk.__file__).with_name("clock_marks.yaml")),
        ("alone", Path(simengine.rehearsal.__file__).with_name("alone.yaml")),
    ],
)
def test_both_say_the_same_of_a_file_with_any_key_left_out_or_spoilt(
    name: SchemaName, file: Path
) -> None:
    root = read_yaml(file).root
    assert root is not None
    whole = typed(root)
    assert agree(name, whole)
    verdicts = []
    for key in whole:
        verdicts.append(agree(name, {other: whole[other] for other in whole if other != key}))
        verdicts.append(agree(name, {**whole, key: 7}))
        verdicts.append(agree(name, {**whole, key: {"x": 1}}))
        verdicts.append(agree(name, {**whole, f"{key}x": whole[key]}))
    assert verdicts.count(False) >= len(whole)


def test_both_say_the_same_of_log_lines_with_something_wrong() -> None:
    log = next((scenarios_dir() / "sessions").glob("*.session.jsonl"))
    verdicts = []
    for line in log.read_text(encoding="utf-8").splitlines():
        event = json.loads(line)
        verdicts.append(agree("session", event))
        for key in event:
            verdicts.append(agree("session", {**event, key: {"x": 1}}))
            verdicts.append(
                agree("session", {other: event[other] for other in event if other != key})
            )
    assert verdicts.count(True) >= 20
    assert verdicts.count(False) > 100


@pytest.mark.parametrize("name", get_args(SchemaName))
def test_both_refuse_what_is_no_map(name: SchemaName) -> None:
    assert not agree(name, [])
