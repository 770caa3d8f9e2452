"""A seventh kind of key item, which the program does not have: two actions that take turns.

``alternate: [press, pump]`` asks that neither of them follows itself. Credit: the share of the
adjoining performances that are of two actions; not reached with fewer than two performances. All
that it is stands in this file, as ``docs/adding-a-kind.md`` says, and ``added`` lists it.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal

import pytest

import simengine.schemas
from docs import write_formats as writing
from simengine.resources import schemas_dir
from simengine.scenario.checks.item_at import ItemAt
from simengine.scenario.checks.items import CHECKS
from simengine.scenario.forms import given, names_of
from simengine.scenario.key import CLASSES, ITEMS, Item, item_form
from simengine.scenario.model import FILE, Scenario
from simengine.scenario.place import Place
from simengine.scenario.read_conditions import Context
from simengine.scenario.read_key import READERS, Names, Reader
from simengine.scoring.card import Evidence
from simengine.scoring.catalogue import say
from simengine.scoring.item_guide import ItemGuide
from simengine.scoring.kinds import KINDS
from simengine.scoring.kinds.kind import ItemKind, Subject
from simengine.scoring.mark import Marked
from simengine.scoring.plan import ItemPlan
from simengine.scoring.resample import Resample, Run
from simengine.scoring.verdict_sentences import VerdictSentences


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternate(Item):
    """Two actions are to take turns: neither may follow itself."""

    kind = "alternate"

    actions: tuple[str, ...] = field(
        metadata=given(names_of("action"), "Two actions that take turns.", key="alternate")
    )


def read(place: Place, what: Place, fields: dict[str, Any], *_: object) -> Alternate:
    item = Alternate(**fields)
    if len(item.actions) != 2:
        what.say("two actions", "two-actions", found=str(len(item.actions)))
    return item


def name(item: Alternate, context: Context, names: Names) -> tuple[str, str]:
    labels = [context.vocabulary.actions[action].label for action in item.actions]
    return item.actions[0], " and ".join(labels)


def check(item_at: ItemAt, item: Alternate) -> None:
    what = item_at.at.get("alternate")
    if len(set(item.actions)) == 1 and what is not None:
        what.say("two actions", "duplicate-name", level="warning")


class AlternateKind(ItemKind[Alternate]):
    """``alternate``."""

    def subject(self, item: Alternate, scenario: Scenario) -> Subject:
        return item.actions[0], None

    def prepare(self, guide: ItemGuide, item: Alternate, scenario: Scenario) -> None:
        guide.asked_actions = item.actions
        guide.kit = tuple((action,) for action in item.actions)

    def settle(self, resample: Resample, marked: Marked) -> None:
        runs = done(resample, marked.plan)
        marked.runs = list(runs)
        pairs = [before.action != after.action for before, after in pairwise(runs)]
        if not pairs:
            marked.why = "no occasion"
            return
        marked.credit = sum(pairs) / len(pairs)
        verdicts: dict[bool, Literal["in order", "out of order"]]
        verdicts = {True: "in order", False: "out of order"}
        marked.verdict = "partly" if 0 < marked.credit < 1 else verdicts[all(pairs)]

    def asks(self, item: Alternate, scenario: Scenario) -> str:
        labels = [scenario.vocabulary.actions[action].label for action in item.actions]
        return say("asked_alternate", first=labels[0], second=labels[1])

    def sentence(self, words: VerdictSentences, marked: Marked) -> str:
        return words.say("alternated", number=len(marked.runs))

    def evidence(self, words: VerdictSentences, marked: Marked) -> tuple[Evidence, ...]:
        return words.runs_evidence(marked.runs)


def done(resample: Resample, plan: ItemPlan) -> list[Run]:
    item = plan.item
    return [run for run in resample.runs_of(item.actions) if run.is_in(item.accepts)]


SENTENCES = {
    "asked_alternate": "{first} and {second} in turns",
    "alternated": "They were done {number} times.",
}


def added(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """Add the kind to the program: a line in each list, its sentences, and the schema anew."""
    put: Callable[[Any, Any, Any], None] = monkeypatch.setitem
    put(CLASSES, "alternate", Alternate)
    put(ITEMS, "alternate", item_form("alternate", Alternate))
    put(READERS, "alternate", Reader(read, name))
    put(CHECKS, Alternate, check)
    put(KINDS, Alternate, AlternateKind())
    for key, sentence in SENTENCES.items():
        put(say.sentences, key, sentence)
    schemas = folder / "schemas"
    shutil.copytree(schemas_dir(), schemas)
    (schemas / "scenario.schema.json").write_text(writing.schema_text("scenario"), "utf-8")
    monkeypatch.setattr(simengine.schemas, "schemas_dir", lambda: schemas)
    assert FILE is writing.FILES["scenario"]
    forget()


def forget() -> None:
    """Let the schemas be read anew."""
    simengine.schemas.validator.cache_clear()
    simengine.schemas._fast.cache_clear()
