"""Sentences that people read: a table of templates for each part that speaks, each with a key.

Rules of this file:

- Code that computes holds no sentence: it names a key and fills the sentence's places by name.
- A table stands in the package that says its sentences, for a clinician to read and change:
  ``debrief_sentences.yaml`` in ``debrief``.
- A place that a sentence leaves out is no error, so that it may be reworded freely; one that nobody
  fills is.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

import yaml

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable


class Catalogue:
    """The sentences of one package, read when the first is said."""

    def __init__(self, package: str) -> None:
        self._package = package

    @property
    def file(self) -> Traversable:
        """The table's file, called by the package."""
        from importlib.resources import files

        return files(self._package).joinpath(f"{self._package.rpartition('.')[2]}_sentences.yaml")

    @cached_property
    def sentences(self) -> Mapping[str, str]:
        """Every template by its key."""
        loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        table: dict[str, str] = yaml.load(self.file.read_text("utf-8"), Loader=loader)
        return table

    def __call__(self, key: str, **places: object) -> str:
        """Return the sentence ``key`` with its places filled. Raises ``KeyError`` on a slip."""
        return self.sentences[key].format(**places)
