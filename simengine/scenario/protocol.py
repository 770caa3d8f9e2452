"""The numbers of one guideline or hospital as plain data, each with its published source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simengine.quantities import Range
from simengine.scenario.digest import APART, SHOWN

Evidence = Literal["read", "quoted", "from memory", "common practice", "computed", "local"]


@dataclass(frozen=True, slots=True)
class ProtocolRow:
    """One row: ``since`` is the first value of the table's ``by`` at which it applies.

    In grams for ``weight``, days for ``gestation``, ms for ``clock``; ``None`` = no lower end.
    ``range`` is in the unit of the value's ``unit``; a bare quantity takes the tolerance of what it
    is used for.
    """

    since: float | None
    range: Range
    source: str = field(metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class Dispute:
    """Guidelines disagree on a value for babies of ``since`` to below ``below`` (days)."""

    since: float
    below: float
    why: str


@dataclass(frozen=True, slots=True)
class ProtocolValue:
    """One number (or table) that differs from place to place, with its published source.

    ``at``: the file and line that it stands in, for messages alone.
    """

    name: str
    label: str = field(metadata=SHOWN)
    unit: str
    by: Literal["gestation", "weight", "clock"] | None
    rows: tuple[ProtocolRow, ...]
    evidence: Evidence = field(metadata=SHOWN)
    note: str = field(default="", metadata=SHOWN)
    disputed: Dispute | None = field(default=None, metadata=SHOWN)
    at: tuple[str, int] = field(default=("", 0), compare=False)


@dataclass(frozen=True, slots=True)
class SignedBy:
    """The local clinician who signed a protocol."""

    name: str
    date: str


@dataclass(frozen=True, slots=True)
class Protocol:
    """The numbers of one guideline or hospital. Unsigned until ``signed_by`` is given.

    ``vocabulary``: whose names it uses for what is unsafe in any baby and for doses; both are read
    with a scenario, and stand there. ``digest``, ``wording``: what it means, and what its words
    are, with all that it extends.
    """

    id: str
    title: str = field(metadata=SHOWN)
    edition: str = field(metadata=SHOWN)
    source: str = field(metadata=SHOWN)
    superseded_by: str | None = field(metadata=SHOWN)
    signed_by: SignedBy | None = field(metadata=SHOWN)
    extends: str | None = field(metadata=APART)
    values: Mapping[str, ProtocolValue]
    digest: str = field(metadata=APART)
    vocabulary: str | None = None
    wording: str = field(default="", metadata=APART)
