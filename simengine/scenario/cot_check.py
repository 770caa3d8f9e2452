"""What a practice check of a cot goes through: rows, and what each dial should show for a baby.

Rules of this file:

- Which rows, and in which order, the protocol says (``cot_check``), since that is local; where it
  says nothing it is every row of the catalogue.
- What a dial should show is read with the protocol, for the baby expected.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from simengine.scenario.equipment import Row
from simengine.scenario.model import Infant
from simengine.scenario.place import Place
from simengine.scenario.protocol import Protocol
from simengine.scenario.read_conditions import Context, read_wanted
from simengine.scenario.read_protocol import source_for
from simengine.scenario.vocabulary import Setting, Vocabulary
from simengine.scenario.wanted import OneOf, Wanted


@dataclass(frozen=True, slots=True)
class Dial:
    """What is read: a setting, what it should be (``None``: nothing is said of this baby), and who
    says so.
    """

    setting: Setting
    wanted: Wanted | None
    source: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One thing to be looked at, with the dials that are read."""

    row: Row
    dials: tuple[Dial, ...]


@dataclass(frozen=True, slots=True)
class CotCheck:
    """The rows to be gone through, in order. ``places``: where on the cot, name and label."""

    protocol: Protocol
    infant: Infant
    rows: tuple[CheckRow, ...]
    places: Mapping[str, str]
    source: str
    caution: str


def read_cot_check(cot: Place, context: Context) -> CotCheck:
    """Return what is gone through; ``cot``: the catalogue as written. Problems go to its book."""
    protocol, infant, equipment = context.protocol, context.infant, context.vocabulary.equipment
    assert protocol is not None
    assert infant is not None
    assert equipment is not None
    rows = cot.get("rows")
    return CotCheck(
        protocol,
        infant,
        tuple(
            CheckRow(equipment.rows[name], _dials(rows, equipment.rows[name], context))
            for name in protocol.cot_check or equipment.rows
            if name in equipment.rows
        ),
        equipment.places,
        equipment.source,
        context.vocabulary.caution,
    )


def _dials(rows: Place | None, row: Row, context: Context) -> tuple[Dial, ...]:
    at = rows.get(row.name) if rows is not None else None
    reads = at.get("reads") if at is not None else None
    dials = []
    for name in row.reads:
        setting, wanted = context.vocabulary.settings[name], None
        should = reads.get(name) if reads is not None else None
        if should is not None:
            wanted = read_wanted(should, setting, context)
        dials.append(Dial(setting, wanted, _source(wanted, context)))
    return tuple(dials)


def _source(wanted: Wanted | None, context: Context) -> str:
    assert context.vocabulary.equipment is not None
    named = wanted.protocol if wanted is not None and not isinstance(wanted, OneOf) else None
    if named is None or context.protocol is None or context.infant is None:
        return context.vocabulary.equipment.source
    return source_for(context.protocol.values[named], context.infant)


def check_rows(protocol: Place, vocabulary: Vocabulary) -> None:
    """Say of each row in a protocol's ``cot_check`` that the vocabulary's catalogue has not."""
    listed, cot = protocol.get("cot_check"), vocabulary.equipment
    for item in listed.elements("a list of rows of the cot") if listed is not None else ():
        item.name(cot.rows if cot is not None else (), f"a row of the cot of '{vocabulary.id}'")
