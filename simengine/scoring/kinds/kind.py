"""What a kind of key item brings: all that depends on the kind hangs here.

Rules of this file:

- A kind is one class in one file of this folder, whose ``KIND`` is one of it; nothing else in the
  program's scoring asks which kind an item is.
- ``prepare`` does once for a scenario what no session changes; ``open`` and ``settle`` mark one
  item in one resample: ``open`` before performances are shared out among the items that want
  them, ``settle`` after it. A kind that looks at what became of other items is ``last``, and
  settles by ``settle_last``.
- ``asks`` says what an item asks of any team. ``sentence`` and ``evidence`` are for who reads the
  card; marking asks for none of them.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar, cast

from simengine.scenario.key import Item

if TYPE_CHECKING:
    from simengine.scenario.model import Scenario
    from simengine.scoring.card import Evidence
    from simengine.scoring.item_guide import ItemGuide
    from simengine.scoring.mark import Marked
    from simengine.scoring.plan import ItemPlan
    from simengine.scoring.resample import Resample
    from simengine.scoring.verdict_sentences import VerdictSentences

ItemT = TypeVar("ItemT", bound=Item)

Subject = tuple[str | None, str | None]
"""The action, or else the setting, that an item is about."""


class ItemKind(ABC, Generic[ItemT]):
    """One kind of key item."""

    last: ClassVar[bool] = False

    def item(self, plan: ItemPlan) -> ItemT:
        """Return the item that is laid out, as one of this kind."""
        return cast("ItemT", plan.item)

    @abstractmethod
    def subject(self, item: ItemT, scenario: Scenario) -> Subject:
        """Return what the item is about, from which its phase follows."""

    @abstractmethod
    def prepare(self, guide: ItemGuide, item: ItemT, scenario: Scenario) -> None:
        """Fill ``guide`` with what the item asks: actions, settings, condition."""

    def lay(self, plan: ItemPlan) -> None:
        """Work out what depends on the session and on no recorded time."""

    def is_constant(self, plan: ItemPlan, done: frozenset[str]) -> bool:
        """Whether no recorded time changes how it is marked. ``done``: what has performances."""
        return False

    def open(self, resample: Resample, marked: Marked) -> None:
        """Find the occasions on which the item is asked."""

    def settle(self, resample: Resample, marked: Marked) -> None:
        """Give the item its credit and verdict."""

    def settle_last(self, resample: Resample, marked: Marked, every: Sequence[Marked]) -> None:
        """Give the item its credit and verdict, all others having theirs."""

    @abstractmethod
    def asks(self, item: ItemT, scenario: Scenario) -> str:
        """Say what the item asks, without its states and without a full stop."""

    @abstractmethod
    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        """Return the verdict of an item that applied in a sentence."""

    @abstractmethod
    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        """Return what the verdict of an item that was not set aside rests on."""
