"""The schemas that editors are given say what the model says, byte for byte."""

from __future__ import annotations

import pytest

from docs import write_formats as writing


@pytest.mark.parametrize("name", writing.FILES)
def test_a_schema_is_the_one_that_the_model_makes(name: str) -> None:
    kept = (writing.SCHEMAS / f"{name}.schema.json").read_text("utf-8")
    assert kept == writing.schema_text(name), "write it anew: python docs/write_formats.py"


@pytest.mark.parametrize("name", writing.FILES)
def test_no_sentence_of_a_format_repeats_a_default(name: str) -> None:
    assert "default" not in " ".join(writing.sentences(writing.FILES[name])).lower()
