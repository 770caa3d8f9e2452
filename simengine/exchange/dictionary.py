"""The data dictionary that goes with every export: what each column means.

Rules of this file:

- It is made from the columns themselves and has a row for each, after the rules that hold for
  all tables (``table`` is ``*`` there).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simengine.columns import Column, Table
from simengine.exchange.harmless_cells import RULE

HEADER = ("table", "column", "type", "unit", "may be empty", "allowed values", "meaning")

_TYPES = {
    "yes or no": ("true", "false"),
    "day": ("as 2026-01-31",),
    "instant": ("as 2026-01-31T09:30:00Z, UTC",),
}

GENERAL = (
    (
        "training only",
        "These are records of simulations for training. They say nothing of care given to a real "
        "baby, and no figure here is advice for one.",
    ),
    (
        "codes",
        "People are codes. Their names are in no export; the coordinator's roster has them.",
    ),
    ("empty cells", "Empty means not known or does not apply; 0 is a figure."),
    ("formulas", RULE),
    ("files", "CSV is UTF-8 with a byte order mark, commas, and decimal points (RFC 4180)."),
)


OWN = (
    (
        "small groups",
        "This is the coordinator's own export: it holds every session, also of units with fewer "
        "than five people. It stays in the house. What is to be published is written with "
        "--published, which hides them.",
    ),
)
"""The rule of the export that is not to be published."""


def dictionary_rows(
    tables: Sequence[Table[object]], more: Sequence[tuple[str, str]]
) -> Iterator[tuple[str, ...]]:
    """Yield the rows below ``HEADER``. ``more``: further rules, as (name, words)."""
    for name, words in (*GENERAL, *more):
        yield ("*", name, "", "", "", "", words)
    for table in tables:
        yield (table.name, "*", "", "", "", "", table.meaning)
        for column in table.columns:
            yield (
                table.name,
                column.name,
                column.type,
                column.unit,
                "yes" if column.optional else "no",
                allowed_words(column),
                column.meaning,
            )


def allowed_words(column: Column[object]) -> str:
    """Return what a column's cells may be, in words; empty where anything of its type may come."""
    return " | ".join(column.allowed or _TYPES.get(column.type, ()))
