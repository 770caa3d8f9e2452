"""What a report is made of: blocks, each text of them already worded.

Rules of this file:

- Plain frozen data and nothing else: web page and PDF are drawn from the same blocks, so that they
  can't differ in what they say. Markup is never in them: what looks like markup is text.
- Every ``str`` is text that a person reads, apart from the fields in ``NOT_TEXT``.
- Parts that nothing is said in are left out by whoever builds a report, with their headings.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, Literal, TypeAlias, TypeVar

from simengine.report.look import Shape


@dataclass(frozen=True, slots=True)
class Sign:
    """A verdict by shape and word."""

    shape: Shape
    word: str


@dataclass(frozen=True, slots=True)
class Fact:
    """A labelled line, such as ``Scenario: …``, with further lines, and whose it is."""

    label: str
    text: str
    more: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading below that of the section it stands in; ``level``: 3 or 4."""

    level: Literal[3, 4]
    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """One paragraph; ``soft``: beside the point, ``strong``: not to be missed."""

    text: str
    tone: Literal["plain", "soft", "strong"] = "plain"


@dataclass(frozen=True, slots=True)
class Bullets:
    """A plain list."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Listing:
    """A heading, a line that leads in, and plain lines; one line alone is a paragraph."""

    title: str
    lead: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table with its headings; each row is as long as ``columns``, its first cell a heading.

    A column of empty cells is room to write in.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lead: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Picture:
    """A figure: ``picture`` names its drawing, ``alt`` says what it shows.

    ``own_page``: it has a page of its own in print, as large as it needs; ``fills``: in print it
    begins a page and takes what the words after it leave of that.
    """

    picture: str
    title: str
    sentences: tuple[str, ...]
    alt: str
    note: str = ""
    own_page: bool = False
    fills: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Labelled lines, one below the other."""

    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Signs:
    """Verdicts side by side."""

    signs: tuple[Sign, ...]


@dataclass(frozen=True, slots=True)
class Signature:
    """A label and a line to write on."""

    label: str


@dataclass(frozen=True, slots=True)
class Link:
    """Words that lead to ``address``, on a page that is answered by a server; text on paper."""

    text: str
    address: str


@dataclass(frozen=True, slots=True)
class Question:
    """A question, and lines for the answer."""

    text: str


@dataclass(frozen=True, slots=True)
class Checklist:
    """Lines to be ticked by hand; ``notes``: each with room for a word."""

    lines: tuple[str, ...]
    notes: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Blocks that stay together: a ``point`` to be made, a ``wash`` behind them, or a ``card``."""

    blocks: tuple[Block, ...]
    form: Literal["point", "wash", "card"]


@dataclass(frozen=True, slots=True)
class Sides:
    """Two columns that belong together, the narrow one first."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """Blocks under a heading; ``breaks``: where a page ends in print."""

    title: str
    blocks: tuple[Block, ...]
    breaks: Literal["", "before", "after"] = ""


@dataclass(frozen=True, slots=True)
class Grid:
    """Short sections two by two, which fill a page in print."""

    sections: tuple[Section, ...]


Block: TypeAlias = (
    Heading
    | Paragraph
    | Bullets
    | Listing
    | Table
    | Picture
    | Facts
    | Signs
    | Signature
    | Link
    | Question
    | Checklist
    | Group
    | Sides
    | Section
    | Grid
)


@dataclass(frozen=True, slots=True)
class Report:
    """A whole report, in reading order. ``day``: year, month and day that it speaks of.

    ``dense``: it is to fit on few pages, and is set smaller in print.
    """

    lang: str
    day: tuple[int, int, int] | None
    banner: str
    title: str
    subtitle: str
    caution: str
    notices: tuple[str, ...]
    blocks: tuple[Block, ...]
    dense: bool = False


NOT_TEXT = frozenset({"lang", "shape", "picture", "tone", "form", "breaks", "item", "address"})
"""Names of fields that are not read by a person (where they hold a ``str``)."""

Data = TypeVar("Data")


def map_text(data: Data, change: Callable[[str], str]) -> Data:
    """Return the same data with every text that a person reads put through ``change``."""
    return _mapped(data, change)  # type: ignore[no-any-return]


def _mapped(data: Any, change: Callable[[str], str]) -> Any:
    if isinstance(data, str):
        return change(data)
    if isinstance(data, tuple):
        return tuple(_mapped(part, change) for part in data)
    if is_dataclass(data) and not isinstance(data, type):
        changed = {
            field.name: _mapped(getattr(data, field.name), change)
            for field in fields(data)
            if not (field.name in NOT_TEXT and isinstance(getattr(data, field.name), str))
        }
        return replace(data, **changed)
    return data


def texts(data: object) -> list[str]:
    """Return every text that a person reads, in order."""
    every_text: list[str] = []

    def keep(text: str) -> str:
        every_text.append(text)
        return text

    map_text(data, keep)
    return [text for text in every_text if text]


def as_data(part: Any) -> Any:
    """Return a report as plain data for a template, each block with its ``kind``."""
    if isinstance(part, tuple):
        return [as_data(element) for element in part]
    if is_dataclass(part) and not isinstance(part, type):
        values = {field.name: as_data(getattr(part, field.name)) for field in fields(part)}
        return {"kind": type(part).__name__, **values}
    return part
