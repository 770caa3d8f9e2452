"""Long lists a page at a time, so that no page grows with the store."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from starlette.requests import Request

ROWS = 50
LISTED = 100
"""How many names stand in a list to choose from; of more, one is typed."""


@dataclass(frozen=True, slots=True)
class Pages:
    """Which rows a page shows, of how many where that is known; addresses of the pages before and
    after, or empty.
    """

    first: int
    last: int
    total: int | None
    before: str
    after: str


def page_number(request: Request) -> int:
    """Return which page is asked for, from 1; what is no number is the first."""
    typed = request.query_params.get("page", "1")
    return max(1, int(typed)) if typed.isascii() and typed.isdigit() and len(typed) < 8 else 1


def pages_of(path: str, asked: Mapping[str, str], number: int, total: int) -> Pages:
    """Return the pages round number ``number`` of ``total`` rows, the last where it is beyond.

    ``asked``: the filters, which stay in the addresses; empty ones are left out.
    """
    number = min(number, max(1, -(-total // ROWS)))
    first = (number - 1) * ROWS + 1 if total else 0
    last = min(total, number * ROWS)
    return Pages(
        first,
        last,
        total,
        _address(path, asked, number - 1) if number > 1 else "",
        _address(path, asked, number + 1) if last < total else "",
    )


def pages_onward(path: str, asked: Mapping[str, str], number: int, found: int) -> Pages:
    """Return the pages round number ``number`` of a list that nobody counted.

    ``found``: how many rows there are from the page's first on, counted up to ``ROWS`` + 1.
    """
    first = (number - 1) * ROWS
    return Pages(
        first + 1 if found else 0,
        first + min(found, ROWS),
        None,
        _address(path, asked, number - 1) if number > 1 else "",
        _address(path, asked, number + 1) if found > ROWS else "",
    )


def _address(path: str, kept: Mapping[str, str], number: int) -> str:
    query = {name: value for name, value in kept.items() if value}
    return f"{path}?{urlencode({**query, 'page': str(number)})}"
