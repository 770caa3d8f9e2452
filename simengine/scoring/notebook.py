"""How a score card shows itself in a notebook: a line, a table of its items, and for pandas.

Rules of this file:

- A person reads credits and totals in per cent; the table for pandas has fractions of 1.
- pandas is imported as a table is asked for: ``pip install simengine[notebook]`` brings it.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from simengine.quantities.formatting import count, percent, percent_span

if TYPE_CHECKING:
    import pandas as pd

    from simengine.scoring.card import ItemScore, ScoreCard

COLUMNS = (
    *("title", "kind", "importance", "weight", "applied", "credit", "verdict", "with_cue"),
    *("role", "objective", "phase", "flip"),
)
"""Fields of an item that its row in a table has."""

_HEADINGS = ("Item", "Importance", "Verdict", "Credit", "Role")


def summary(card: ScoreCard) -> str:
    """Return the card in a line."""
    total = "no total" if card.total is None else f"total {percent(card.total)}"
    span = "" if card.interval is None else f" ({percent_span(*card.interval)})"
    outcome = card.outcome or "no outcome"
    return f"<ScoreCard {total}{span}, {outcome}: {count(len(card.items), 'item')}>"


def item_table(card: ScoreCard) -> str:
    """Return the card as an HTML table, a row for each item."""
    head = "".join(f'<th scope="col">{heading}</th>' for heading in _HEADINGS)
    rows = "".join(_row(item) for item in card.items)
    provisional = "" if card.confirmed else " The record is not confirmed yet."
    caption = (
        f"{summary(card)[1:-1].removeprefix('ScoreCard ').capitalize()}.{provisional} "
        "Training only: nothing here is advice for a real baby."
    )
    return (
        f'<table><caption style="text-align:left">{escape(caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    )


def items_frame(card: ScoreCard) -> pd.DataFrame:
    """Return the items as a table, ``id`` as its index; credits are fractions of 1."""
    try:
        import pandas
    except ImportError as error:
        raise ImportError("a table needs pandas: pip install simengine[notebook]") from error
    rows = [[getattr(item, name) for name in COLUMNS] for item in card.items]
    index = pandas.Index([item.id for item in card.items], name="id")
    frame = pandas.DataFrame(rows, columns=list(COLUMNS), index=index)
    return frame.astype({"credit": "float64", "flip": "float64"})


def _row(item: ItemScore) -> str:
    cue = ", with a cue" if item.with_cue else ""
    close = ", too close to call" if item.too_close else ""
    cells = (item.importance, f"{item.verdict}{cue}{close}", percent(item.credit), item.role or "")
    rest = "".join(f"<td>{escape(cell)}</td>" for cell in cells)
    title = escape(item.sentence)
    return f'<tr title="{title}"><th scope="row">{escape(item.title)}</th>{rest}</tr>'
