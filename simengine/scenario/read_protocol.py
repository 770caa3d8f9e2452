"""A protocol file's tree → ``Protocol``; and one value of it for one infant.

Rules of this file:

- A protocol that ``extends`` another has all of its values; a value given again replaces the
  whole value of that name.
- A value is chosen by the last row whose ``since`` has been reached. A table by minute stays a
  table (``Steps``): its row changes as the session goes on.
- A value with a mistake in it has no rows, and nothing is held against it.
- A bare quantity in a row takes the tolerance of what it is used for.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import inf
from typing import Literal

from simengine.quantities import (
    QuantityError,
    Range,
    format_quantity,
    format_range,
    parse_range,
)
from simengine.scenario.model import Infant
from simengine.scenario.place import Place, text_of
from simengine.scenario.protocol import By, Dispute, Protocol, ProtocolRow, ProtocolValue, SignedBy
from simengine.scenario.read_fields import PLAIN, Scope, read_fields, read_unit
from simengine.scenario.wanted import Steps

Side = Literal["inside", "below", "above"]

_PLAIN = Scope({}, PLAIN)


class NoValueError(ValueError):
    """A protocol has no value of this kind for this infant; the words are for people."""

    def __init__(self, expected: str, code: str, hint: str = "") -> None:
        self.expected = expected
        self.code = code
        self.hint = hint
        super().__init__(expected)


def read_protocol(root: Place, base: Protocol | None) -> Protocol:
    """Read a protocol; ``base`` is the one that it extends. Problems go to ``root.book``."""
    given = root.get("values")
    own = (
        {}
        if given is None
        else {
            name: _value(name, value, given.key(name).node.line)
            for name, value in given.entries("a map of values")
        }
    )
    values = dict(base.values if base is not None else {}) | own
    vocabulary = root.get("vocabulary")
    below = base.vocabulary if base is not None else None
    listed = root.get("cot_check")
    return Protocol(
        **read_fields(Protocol, root, _PLAIN),
        signed_by=_signed_by(root),
        values=values,
        vocabulary=vocabulary.text("the id of a vocabulary") if vocabulary is not None else below,
        cot_check=(
            tuple(item.text("a row of the cot") for item in listed.elements("a list of rows"))
            if listed is not None
            else (base.cot_check if base is not None else ())
        ),
        digest="",
    )


def value_for(
    protocol: Protocol,
    name: str,
    infant: Infant | None,
    unit: str,
    tolerance: float = 0.0,
    side: Side = "inside",
) -> Range | Steps:
    """Return a protocol value for an infant (``None``: for some infant), in ``unit``.

    ``tolerance`` (in ``unit``) is for bare quantities. ``side``: ``below`` is what lies under the
    low end, ``above`` what lies over the high end. Raises ``NoValueError``.
    """
    value = protocol.values[name]
    if not value.rows:
        raise NoValueError(f"a value that can be read ('{name}' has mistakes)", "no-row")
    try:
        ranges = [
            (row.since, _sided(parse_range(row.range.text, unit, tolerance), side, unit, name))
            for row in value.rows
        ]
    except QuantityError as error:
        raise NoValueError(
            f"a protocol value in {unit}", "wrong-dimension", f"'{name}' is in {value.unit}"
        ) from error
    if value.by == "clock":
        return Steps(tuple((int(since or 0), range_) for since, range_ in ranges), name)
    if value.by is None or infant is None:
        return ranges[-1][1]
    reached = infant.gestation_days if value.by == "gestation" else infant.weight_g
    if reached <= 0:
        return ranges[-1][1]  # the file lacks it, and is told so where it stands
    ranges_reached = [wanted for since, wanted in ranges if since is None or since <= reached]
    if not ranges_reached:
        first = min(row.since for row in value.rows if row.since is not None)
        begins = f"{first / 7:g} wk" if value.by == "gestation" else f"{first:g} g"
        raise NoValueError(
            f"a protocol value for this baby ('{name}' begins at {begins})", "no-row"
        )
    return ranges_reached[-1]


def scaled(
    wanted: Range, unit: str, times: float, plus: float, beyond: float | None, name: str
) -> Range:
    """Return a figure of the protocol ``times`` as large and ``plus`` more, in ``unit``.

    ``beyond`` (%): what lies above this share of its high end. Raises ``NoValueError`` if it has
    none.
    """
    low, high = wanted.low * times + plus, wanted.high * times + plus
    low_open, high_open = wanted.low_open, wanted.high_open
    if beyond is not None:
        if high == inf:
            raise NoValueError(f"a value with a high end ('{name}' has none)", "no-end")
        low, high, low_open, high_open = high * beyond / 100, inf, True, False
    made = Range(low, high, low_open, high_open, protocol=name)
    if wanted.bare and beyond is None:
        return replace(made, text=format_quantity((low + high) / 2, unit), bare=True)
    return replace(made, text=format_range(made, unit))


def source_for(value: ProtocolValue, infant: Infant) -> str:
    """Return where a value is from, for this infant; all sources of a table by minute."""
    rows = list(value.rows)
    if value.by in ("gestation", "weight"):
        reached = infant.gestation_days if value.by == "gestation" else infant.weight_g
        rows = [row for row in rows if row.since is None or row.since <= reached][-1:]
    sources = "; ".join(dict.fromkeys(row.source for row in rows))
    unread = {"from memory": "from memory", "quoted": "quoted by another publication"}
    how = unread.get(value.evidence, "")
    return f"{sources} ({how})" if how and how.split()[0] not in sources.lower() else sources


def _sided(wanted: Range, side: Side, unit: str, name: str) -> Range:
    if side == "below":
        if wanted.low == -inf:
            raise NoValueError(f"a value with a low end ('{name}' has none)", "no-end")
        made = Range(high=wanted.low, high_open=not wanted.low_open)
    elif side == "above":
        if wanted.high == inf:
            raise NoValueError(f"a value with a high end ('{name}' has none)", "no-end")
        made = Range(low=wanted.high, low_open=not wanted.high_open)
    else:
        return replace(wanted, protocol=name)
    return Range(made.low, made.high, made.low_open, made.high_open, format_range(made, unit), name)


def _signed_by(root: Place) -> SignedBy | None:
    status, signed = root.need("status"), root.get("signed_by")
    word = status.word(("unsigned", "signed")) if status is not None else "unsigned"
    if word == "unsigned":
        if signed is not None:
            root.key("signed_by").say("'signed_by' only with 'status: signed'", "signed", found="")
        return None
    if signed is None:
        if status is not None:
            status.say("'signed_by' with name and date beside 'status: signed'", "signed")
        return None
    when = signed.need("date")
    day = text_of(when)
    if when is not None and day:
        try:
            date.fromisoformat(day)
        except ValueError:
            when.say("a date such as 2026-01-31", "date")
    return SignedBy(**read_fields(SignedBy, signed, _PLAIN), date=day)


def _value(name: str, place: Place, line: int) -> ProtocolValue:
    unit = read_unit(place.need("unit"))
    given = read_fields(ProtocolValue, place, _PLAIN)
    by: By | None = given["by"]
    source = place.get("source")
    whole, rows_at = place.get("range"), place.get("rows")
    if place.is_map() and (whole is None) == (rows_at is None):
        which = "neither" if whole is None else "both"
        place.say("either 'range' or 'rows'", "range-or-rows", found=which)
    publication = text_of(source)
    rows: tuple[ProtocolRow, ...] = ()
    if whole is not None:
        if by is not None and rows_at is None:
            place.say(f"'rows' with 'by: {by}'", "range-or-rows", found="'range'")
        rows = (_row(whole, None, unit, publication),)
    elif rows_at is not None:
        if by is None:
            place.say(
                "'by' beside 'rows' (gestation, weight or clock)", "missing-key", found="none"
            )
        rows = _rows(rows_at, by, unit, publication)
    if source is None and place.is_map() and not (rows and all(row.source for row in rows)):
        place.need("source")
    label = given.pop("label") or name.replace("_", " ")
    return ProtocolValue(
        **given,
        name=name,
        label=label,
        unit=unit or "",
        rows=rows if place.is_sound() else (),
        disputed=_dispute(place.get("disputed")),
        at=(place.book.file, line),
    )


def _dispute(place: Place | None) -> Dispute | None:
    if place is None:
        return None
    dispute = Dispute(**read_fields(Dispute, place, _PLAIN))
    if not place.is_sound():
        return None
    below = place.get("below")
    if below is not None and dispute.below <= dispute.since:
        below.say("a gestation above 'since'", "reversed-range")
    return dispute


def _rows(place: Place, by: By | None, unit: str | None, source: str) -> tuple[ProtocolRow, ...]:
    rows: list[ProtocolRow] = []
    for number, item in enumerate(place.elements("a list of rows")):
        since_at, own, wanted = item.get("since"), item.get("source"), item.need("range")
        since = _since(since_at, by)
        if since_at is None and number > 0:
            item.say("'since' in each row after the first", "missing-key", found="none")
        if since is not None and rows and rows[-1].since is not None and since <= rows[-1].since:
            assert since_at is not None
            since_at.say("rows in rising order of 'since'", "row-order")
        if wanted is not None:
            rows.append(_row(wanted, since, unit, own.text() if own is not None else source))
    return tuple(rows)


def _since(place: Place | None, by: By | None) -> float | None:
    if place is None or by is None:
        return None
    if by == "clock":
        return place.duration()
    return place.quantity("d", "wk") if by == "gestation" else place.quantity("g", "kg")


def _row(place: Place, since: float | None, unit: str | None, source: str) -> ProtocolRow:
    wanted = place.range(unit) if unit else None
    return ProtocolRow(since=since, range=wanted or Range(), source=source)
