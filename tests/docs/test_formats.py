"""The schemas that editors are given say what the model says, byte for byte."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

import pytest

from docs import write_formats as writing
from simengine.schemas import SchemaName
from simengine.session import event_data
from simengine.session.events import Kind


@pytest.mark.parametrize("name", writing.FILES)
def test_a_schema_is_the_one_that_the_model_makes(name: str) -> None:
    kept = (writing.SCHEMAS / f"{name}.schema.json").read_text("utf-8")
    assert kept == writing.schema_text(name), "write it anew: python docs/write_formats.py"


@pytest.mark.parametrize("name", writing.FILES)
def test_no_sentence_of_a_format_repeats_a_default(name: str) -> None:
    assert "default" not in " ".join(writing.sentences(writing.FILES[name])).lower()


def test_the_page_of_the_formats_is_the_one_that_the_model_makes() -> None:
    kept = writing.PAGE.read_text("utf-8")
    assert kept == writing.page(), "write it anew: python docs/write_formats.py"
    headings = [line for line in kept.splitlines() if line.startswith("#")]
    assert len(headings) == len(set(headings))


def test_every_format_that_files_are_held_against_is_written() -> None:
    assert set(writing.FILES) == set(get_args(SchemaName))
    assert set(event_data.FILE.parts) == set(get_args(Kind))


def test_a_default_is_written_as_an_author_would_write_it() -> None:
    action = writing.schema_of("vocabulary", writing.FILES["vocabulary"])["$defs"]["action"]
    observation = writing.schema_of("vocabulary", writing.FILES["vocabulary"])["$defs"][
        "observation"
    ]
    expect = writing.schema_of("scenario", writing.FILES["scenario"])["$defs"]["expect"]
    never = writing.schema_of("protocol", writing.FILES["protocol"])["$defs"]["never"]
    assert action["properties"]["lasting"]["default"] is False
    assert observation["properties"]["fresh"]["default"] == "15 s"
    assert expect["properties"]["settle"]["default"] == "10 s"
    assert expect["properties"]["accepts"]["default"] == ["done", "simulated"]
    assert expect["properties"]["as_found"]["default"] == "not counted"
    assert never["properties"]["deduct"]["default"] == "10 %"


@pytest.mark.parametrize("name", writing.FILES)
def test_every_key_says_what_it_is_for(name: str) -> None:
    schema = writing.schema_of(name, writing.FILES[name])
    definitions = schema["$defs"]

    def walk(part: Any, where: str) -> Iterator[str]:
        if isinstance(part, list):
            for number, inner in enumerate(part):
                yield from walk(inner, f"{where}/{number}")
        elif isinstance(part, dict):
            for key, inner in part.get("properties", {}).items():
                named = definitions.get((inner or {}).get("$ref", "").rpartition("/")[2], {})
                # A key that belongs to another kind of item is just refused.
                if inner and "description" not in inner and "description" not in named:
                    yield f"{where}/{key}"
            for key, inner in part.items():
                if key not in ("if", "allOf"):
                    yield from walk(inner, f"{where}/{key}")

    assert list(walk(schema, "")) == []
