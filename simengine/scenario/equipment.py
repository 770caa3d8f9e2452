"""The catalogue of what a cot has, row by row: what each should be, and what can be wrong with it.

Rules of this file:

- A vocabulary names its catalogue. A scenario plants a fault of it by name, and a practice check
  goes through its rows; neither needs to say again what stands here.
- What a planted fault does in the engine is the scenario's own ``Fault``, which the reader makes of
  the catalogue's words and of what the scenario says otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from simengine.scenario.digest import SHOWN
from simengine.scenario.forms import (
    NAME,
    TEXT,
    WANTED,
    Choice,
    MapOf,
    given,
    name_of,
    texts,
)

ThreatKind = Literal["equipment", "drugs", "staff", "resources", "systems"]
"""What a latent safety threat is about."""


@dataclass(frozen=True, slots=True)
class KnownFault:
    """What can be wrong with a row. ``shows``: what is seen; ``put_right``: what to do about it."""

    name: str
    shows: str
    put_right: str
    why: str


@dataclass(frozen=True, slots=True)
class Row:
    """One thing of the cot that is looked at. ``check``: the action that looks at it.

    ``reads``: the settings whose figures are read and told with it; what each should be a practice
    check reads with a protocol. ``kind``: of what kind a threat is that is met in it.
    """

    name: str
    label: str = field(metadata=given(TEXT, "What people call it.", mark=SHOWN))
    place: str = field(
        metadata=given(name_of("place"), "Where it is on the cot: one of places.", mark=SHOWN)
    )
    should_be: str = field(metadata=given(TEXT, "What it should be, in words.", mark=SHOWN))
    check: str = field(metadata=given(name_of("action"), "The action that looks at it."))
    reads: tuple[str, ...] = field(
        default=(),
        metadata=given(
            MapOf(WANTED, "a map of settings", 1),
            "The dials that are read and told with it, and what each should show.",
            by_hand=True,
        ),
    )
    kind: ThreatKind = field(
        default="equipment",
        metadata=given(
            Choice(get_args(ThreatKind)), "The kind of threat that is met in it.", mark=SHOWN
        ),
    )
    faults: Mapping[str, KnownFault] = field(default_factory=dict, metadata=SHOWN)


@dataclass(frozen=True, slots=True)
class Equipment:
    """What a cot has, in the order in which it is gone through.

    ``places``: where on the cot, name and label. ``source``: of all that stands in it.
    """

    id: str = field(metadata=given(NAME, "The name of this file without .yaml."))
    title: str = field(metadata=given(TEXT, "What people call it.", mark=SHOWN))
    source: str = field(
        metadata=given(TEXT, "Where it is from: the publication, or common practice.", mark=SHOWN)
    )
    places: Mapping[str, str] = field(
        metadata=given(
            texts("a map of places", 1), "Where on the cot, in order: name and label.", mark=SHOWN
        )
    )
    rows: Mapping[str, Row] = field(default_factory=dict)

    def faults(self) -> dict[str, KnownFault]:
        """Return every fault by its name, which occurs once in a catalogue."""
        return {name: fault for row in self.rows.values() for name, fault in row.faults.items()}
