"""The numbers of one guideline or hospital as plain data, each with its published source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from simengine.quantities import Range
from simengine.scenario.digest import APART, SHOWN
from simengine.scenario.forms import (
    FLAG,
    FORMAT,
    NAME,
    OWN_RANGE,
    TEXT,
    UNIT,
    AnyForm,
    Choice,
    Key,
    ListOf,
    MapOf,
    Record,
    Value,
    a_time,
    given,
    keys_of,
    plain_text,
    quantity,
)
from simengine.scenario.key import Avoid

Evidence = Literal["read", "quoted", "from memory", "common practice", "computed", "local"]
By = Literal["gestation", "weight", "clock"]

NEVER_DEDUCT = 0.10
"""What one occurrence of what is unsafe takes from the total, if the protocol does not say."""

EVIDENCE = Choice(
    get_args(Evidence),
    name="evidence",
    about=(
        "How the figure is known: read in the source; quoted by another publication; from memory; "
        "common practice without a source; computed here; the hospital's own."
    ),
)
BY = Choice(get_args(By))
GESTATION = a_time(
    "a gestation such as 39 wk", "32 wk", unit="d", usual="wk", reads="quantity", name="gestation"
)
SINCE = quantity(
    "a gestation, weight or time, such as 28 wk, 1000 g or 2 min", "28 wk", "1000 g", "2 min"
)
DATE = Value(
    "a date such as 2026-01-31", {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}
)


ROW_RANGE = Value(
    "a range such as 21 to 30 %", OWN_RANGE.json, name="row_range", about=OWN_RANGE.about
)


@dataclass(frozen=True, slots=True)
class ProtocolRow:
    """One row: ``since`` is the first value of the table's ``by`` at which it applies.

    In grams for ``weight``, days for ``gestation``, ms for ``clock``; ``None`` = no lower end.
    ``range`` is in the unit of the value's ``unit``; a bare quantity takes the tolerance of what it
    is used for.
    """

    since: float | None = field(
        metadata=given(
            SINCE, "From here on; the first row may lack it.", optional=True, by_hand=True
        )
    )
    range: Range = field(metadata=given(ROW_RANGE, "The value there.", by_hand=True))
    source: str = field(
        metadata=given(
            TEXT,
            "The publication, where it is another than the value's.",
            optional=True,
            by_hand=True,
            mark=SHOWN,
        )
    )


ROW = Record("a row", keys_of(ProtocolRow), name="row")


@dataclass(frozen=True, slots=True)
class Dispute:
    """Guidelines disagree on a value for babies of ``since`` to below ``below`` (days)."""

    since: float = field(metadata=given(GESTATION, "From here on …"))
    below: float = field(metadata=given(GESTATION, "… and below this …"))
    why: str = field(metadata=given(TEXT, "… guidelines disagree, and how."))


DISPUTE = Record("a dispute", keys_of(Dispute))


@dataclass(frozen=True, slots=True)
class ProtocolValue:
    """One number (or table) that differs from place to place, with its published source.

    ``at``: the file and line that it stands in, for messages alone.
    """

    name: str
    label: str = field(
        metadata=given(TEXT, "What people call it; left out: its name.", optional=True, mark=SHOWN)
    )
    unit: str = field(metadata=given(UNIT, by_hand=True))
    by: By | None = field(
        metadata=given(BY, "What chooses the row. Left out: one value.", optional=True)
    )
    rows: tuple[ProtocolRow, ...] = field(
        metadata=given(
            ListOf(ROW, "a list of rows", 1),
            "The last row whose 'since' has been reached applies.",
            optional=True,
        )
    )
    evidence: Evidence = field(metadata=given(EVIDENCE, mark=SHOWN))
    note: str = field(
        default="", metadata=given(TEXT, "What else a reader should know.", mark=SHOWN)
    )
    disputed: Dispute | None = field(
        default=None,
        metadata=given(
            DISPUTE, "check warns where a scenario uses the value for such a baby.", mark=SHOWN
        ),
    )
    at: tuple[str, int] = field(default=("", 0), compare=False)


VALUE = Record(
    "a protocol value",
    {
        **keys_of(ProtocolValue),
        "range": Key(ROW_RANGE, "The one value."),
        "source": Key(TEXT, "The publication; a row may name its own."),
    },
    name="protocol_value",
)


@dataclass(frozen=True, slots=True)
class SignedBy:
    """The local clinician who signed a protocol."""

    name: str = field(metadata=given(TEXT, "The name."))
    date: str = field(metadata=given(DATE, "The day.", by_hand=True))


SIGNED_BY = Record("who signed it", keys_of(SignedBy))
_FOR_GESTATION = Record(
    "{gestation: a range}",
    {
        "gestation": Key(
            plain_text("a range such as below 32 wk", "below 32 wk"),
            "For babies of this gestation.",
            needed=True,
        )
    },
)
_OF_AVOID = keys_of(Avoid)
NEVER = Record(
    "what is unsafe in any baby",
    {
        "avoid": _OF_AVOID["avoid"],
        "title": Key(TEXT, "What people call it.", needed=True, field="title"),
        "why": _OF_AVOID["why"],
        "source": Key(
            TEXT, "The publication, or: common practice, no source.", needed=True, field="source"
        ),
        **{key: _OF_AVOID[key] for key in ("lasting", "while", "once", "at_most")},
        "deduct": _OF_AVOID["deduct"]._replace(default=NEVER_DEDUCT, worked_out=True),
        "stops_pass": Key(
            AnyForm("true, false or {gestation: a range}", FLAG, _FOR_GESTATION),
            "Whether it stops a pass, or for which babies.",
            default=True,
        ),
    },
    name="never",
)
OF_PROTOCOL = "A value of this protocol."


@dataclass(frozen=True, slots=True)
class Protocol:
    """The numbers of one guideline or hospital. Unsigned until ``signed_by`` is given.

    ``vocabulary``: whose names it uses for what is unsafe in any baby and for doses; both are read
    with a scenario, and stand there. ``digest``, ``wording``: what it means, and what its words
    are, with all that it extends.
    """

    id: str = field(metadata=given(NAME, "The name of this file without .yaml."))
    title: str = field(metadata=given(TEXT, "What people call it.", mark=SHOWN))
    edition: str = field(metadata=given(TEXT, "The edition, e.g. '2021'.", mark=SHOWN))
    source: str = field(metadata=given(TEXT, "The publication as a whole.", mark=SHOWN))
    superseded_by: str | None = field(
        metadata=given(TEXT, "The newer edition, where it is known.", optional=True, mark=SHOWN)
    )
    signed_by: SignedBy | None = field(
        metadata=given(SIGNED_BY, "The local clinician.", optional=True, mark=SHOWN)
    )
    extends: str | None = field(
        metadata=given(
            NAME,
            "Another protocol: its values apply where none is given here.",
            optional=True,
            mark=APART,
        )
    )
    values: Mapping[str, ProtocolValue] = field(
        metadata=given(MapOf(VALUE, "a map of values"), "Its figures.", optional=True)
    )
    digest: str = field(metadata=APART)
    cot_check: tuple[str, ...] = field(
        default=(),
        metadata=given(
            ListOf(NAME, "a list of rows of the cot", 1),
            "What a practice check of a cot goes through, in order; left out: every row of the "
            "catalogue.",
            by_hand=True,
            mark=SHOWN,
        ),
    )
    vocabulary: str | None = field(
        default=None,
        metadata=given(NAME, "Whose names 'never', 'doses' and 'strengths' use.", by_hand=True),
    )
    wording: str = field(default="", metadata=APART)


FILE = Record(
    "a protocol",
    {
        "format": Key(FORMAT, needed=True),
        **keys_of(Protocol),
        "status": Key(
            Choice(("unsigned", "signed")),
            "unsigned until a local clinician has put name and date.",
            needed=True,
        ),
        "doses": Key(
            MapOf(
                MapOf(NAME, "a map of routes to values", 1, value_about=OF_PROTOCOL),
                "a map of actions to their routes",
            ),
            "For each action that carries a dose, and each route: the value that holds its range.",
        ),
        "strengths": Key(
            MapOf(NAME, "a map of actions to values", value_about=OF_PROTOCOL),
            "For an action that carries a dose: the value that holds the strength in which it is "
            "given.",
        ),
        "never": Key(
            MapOf(NEVER, "a map of what is unsafe in any baby"),
            "It applies to every scenario under this protocol, unless the scenario waives it with "
            "a reason.",
        ),
    },
    about=(
        "The numbers of one guideline or hospital, each with its source. Copy a file, edit the "
        "numbers, and every scenario's marking guide follows."
    ),
)
"""What a protocol's file holds."""
