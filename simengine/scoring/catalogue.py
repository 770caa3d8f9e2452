"""The sentences of the score card: one table of templates, each with a key and named places.

Rules of this file:

- No code of scoring holds a sentence that a person reads; it names a key and fills its places.
- The table is ``sentences.yaml`` beside this file. A clinician can read and change all of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import yaml


@cache
def sentences() -> Mapping[str, str]:
    """Return every template by its key."""
    text = files("simengine.scoring").joinpath("sentences.yaml").read_text("utf-8")
    table: dict[str, str] = yaml.load(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return table


def say(key: str, **places: object) -> str:
    """Return the sentence ``key`` with its places filled. Raises ``KeyError`` on a missing one."""
    return sentences()[key].format(**places)
