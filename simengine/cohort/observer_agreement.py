"""How far observers agree over the sessions that two of them recorded.

Rules of this file:

- Compared is what each log earned under the same guide: item by item the verdict, whether the step
  was done at all, and when; session by session the total.
- Items of one session are taken as independent, though one observer made them all: the intervals
  are a little too narrow. Under ``FEW`` sessions they are few, whatever the number of items.
- Verdicts are compared by Cohen's kappa without weights, done or not by his kappa of two
  categories, times by limits of agreement, totals by limits of agreement and ICC(2,1).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from simengine.cohort.agreement import Agreement, cohen_kappa, cross_table
from simengine.cohort.evidence import is_few
from simengine.cohort.measured_twice import (
    Intraclass,
    Limits,
    intraclass,
    limits_of_agreement,
)
from simengine.cohort.records import ItemResult, SessionResult
from simengine.cohort.shares import Share, wilson

Doubles = Iterable[tuple[SessionResult, SessionResult]]

TIMED = ("expect", "respond")
DONE = ("done", "not done")


@dataclass(frozen=True, slots=True)
class ItemAgreement:
    """In how many of the sessions the observers gave an item the same verdict."""

    id: str
    title: str
    same: Share


@dataclass(frozen=True, slots=True)
class ObserverAgreement:
    """Agreement over ``sessions`` sessions with two logs each.

    ``verdicts`` and ``done``: kappas; ``same_verdict``: the plain share. ``times``: seconds, the
    first log's less the other's, ``times_icc`` their ICC(2,1); ``totals``: fractions of 1.
    ``items``: the least agreed first. ``None`` where it can't be told.
    """

    sessions: int
    same_verdict: Share | None
    verdicts: Agreement | None
    done: Agreement | None
    times: Limits | None
    times_icc: Intraclass | None
    totals: Limits | None
    totals_icc: Intraclass | None
    items: tuple[ItemAgreement, ...]

    @property
    def few(self) -> bool:
        """Whether it rests on too few sessions to tell."""
        return is_few(self.sessions)


def observers_agree(pairs: Doubles) -> ObserverAgreement:
    """Return the agreement over sessions with two logs (``evidence.doubles``)."""
    both = list(pairs)
    matched = [items for one, other in both for items in _matched(one, other)]
    timed = [
        (one.time_s, other.time_s)
        for one, other in matched
        if one.time_s is not None and other.time_s is not None
    ]
    totals = [
        (one.total, other.total)
        for one, other in both
        if one.total is not None and other.total is not None
    ]
    verdicts = [(one.verdict, other.verdict) for one, other in matched]
    done = [
        (_done(one), _done(other))
        for one, other in matched
        if one.kind in TIMED and (one.applied or other.applied)
    ]
    return ObserverAgreement(
        len(both),
        wilson(sum(one == other for one, other in verdicts), len(verdicts)),
        _kappa(verdicts, sorted({word for pair in verdicts for word in pair})),
        _kappa(done, DONE),
        limits_of_agreement(*_apart(timed)),
        _icc(timed),
        limits_of_agreement(*_apart(totals)),
        _icc(totals),
        _by_item(matched),
    )


def _matched(one: SessionResult, other: SessionResult) -> Iterable[tuple[ItemResult, ItemResult]]:
    """Yield the items that both logs were marked by."""
    others = {item.id: item for item in other.items}
    return ((item, others[item.id]) for item in one.items if item.id in others)


def _done(item: ItemResult) -> str:
    return DONE[0] if item.time_s is not None else DONE[1]


def _apart(pairs: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    return [one for one, _ in pairs], [other for _, other in pairs]


def _kappa(pairs: list[tuple[str, str]], words: Iterable[str]) -> Agreement | None:
    if not pairs:
        return None
    one, other = [first for first, _ in pairs], [second for _, second in pairs]
    return cohen_kappa(cross_table(one, other, tuple(words)))


def _icc(pairs: list[tuple[float, float]]) -> Intraclass | None:
    found = intraclass(pairs) if pairs else None
    return None if found is None else found["2,1"]


def _by_item(matched: list[tuple[ItemResult, ItemResult]]) -> tuple[ItemAgreement, ...]:
    count: dict[str, tuple[str, int, int]] = {}
    for one, other in matched:
        _, same, of = count.get(one.id, ("", 0, 0))
        count[one.id] = (one.title, same + (one.verdict == other.verdict), of + 1)
    out = []
    for name, (title, same, of) in count.items():
        share = wilson(same, of)
        assert share is not None
        out.append(ItemAgreement(name, title, share))
    return tuple(sorted(out, key=lambda one: (one.same.share, one.id)))
