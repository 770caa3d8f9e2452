"""How far observers agree over the sessions that two of them recorded.

Rules of this file:

- Compared is what each log earned under the same guide: item by item the verdict, whether the step
  was done at all, and when; session by session the total.
- One observer marks all items of a session, so that they go together: intervals are over sessions,
  not over items. Under ``FEW`` sessions they are few, whatever the number of items.
- The items' own shares have intervals that hold all at once, since the least agreed are picked.
- Verdicts are compared by Cohen's kappa without weights, done or not by his kappa of two
  categories, times by limits of agreement, totals by limits of agreement and ICC(2,1).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from simengine.cohort.agreement import Agreement, cohen_kappa, cross_table
from simengine.cohort.clusters import Clusters, Shares
from simengine.cohort.measured_twice import (
    Intraclass,
    Limits,
    intraclass,
    limits_of_agreement,
)
from simengine.cohort.records import ItemResult, SessionResult
from simengine.cohort.shares import CONFIDENCE, Share, together, wilson
from simengine.cohort.too_few import is_too_few

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
        return is_too_few(self.sessions)


def observers_agree(pairs: Doubles) -> ObserverAgreement:
    """Return the agreement over sessions with two logs (``evidence.doubles``)."""
    both = list(pairs)
    by_session = [list(_matched(first, other)) for first, other in both]
    matched = [items for some in by_session for items in some]
    timed = [
        (first.time_s, other.time_s)
        for first, other in matched
        if first.time_s is not None and other.time_s is not None
    ]
    totals = [
        (first.total, other.total)
        for first, other in both
        if first.total is not None and other.total is not None
    ]
    verdicts = [[(first.verdict, other.verdict) for first, other in some] for some in by_session]
    done = [
        [
            (_done(first), _done(other))
            for first, other in some
            if first.kind in TIMED and (first.applied or other.applied)
        ]
        for some in by_session
    ]
    words = {word for some in verdicts for pair in some for word in pair}
    return ObserverAgreement(
        len(both),
        _same(verdicts),
        _kappa(verdicts, sorted(words)),
        _kappa(done, DONE),
        limits_of_agreement(*_apart(timed)),
        _icc(timed),
        limits_of_agreement(*_apart(totals)),
        _icc(totals),
        _by_item(matched),
    )


def _matched(first: SessionResult, other: SessionResult) -> Iterable[tuple[ItemResult, ItemResult]]:
    """Yield the items that both logs were marked by."""
    others = {item.id: item for item in other.items}
    return ((item, others[item.id]) for item in first.items if item.id in others)


def _done(item: ItemResult) -> str:
    return DONE[0] if item.time_s is not None else DONE[1]


def _apart(pairs: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    return [first for first, _ in pairs], [other for _, other in pairs]


def _same(verdicts: Sequence[Sequence[tuple[str, str]]]) -> Share | None:
    """Return the share of items with the same verdict, its interval over sessions."""
    same = [
        (number, verdict == other)
        for number, some in enumerate(verdicts)
        for verdict, other in some
    ]
    clusters = Clusters(Shares(date.min, (str(number),), "") for number, _ in same)
    worth = clusters.worth([float(agree) for _, agree in same], CONFIDENCE) if same else None
    return wilson(sum(agree for _, agree in same), len(same), CONFIDENCE, worth)


def _kappa(sessions: Sequence[Sequence[tuple[str, str]]], words: Iterable[str]) -> Agreement | None:
    names = tuple(words)
    tables = [
        cross_table([first for first, _ in some], [other for _, other in some], names)
        for some in sessions
        if some
    ]
    return cohen_kappa(sum(tables), sessions=tables) if tables else None


def _icc(pairs: list[tuple[float, float]]) -> Intraclass | None:
    by_form = intraclass(pairs) if pairs else None
    return None if by_form is None else by_form["2,1"]


def _by_item(matched: list[tuple[ItemResult, ItemResult]]) -> tuple[ItemAgreement, ...]:
    count: dict[str, tuple[str, int, int]] = {}
    for first, other in matched:
        _, same, of = count.get(first.id, ("", 0, 0))
        count[first.id] = (first.title, same + (first.verdict == other.verdict), of + 1)
    out = []
    for name, (title, same, of) in count.items():
        share = wilson(same, of, together(len(count)))
        assert share is not None
        out.append(ItemAgreement(name, title, share))
    return tuple(sorted(out, key=lambda item: (item.same.share, item.id)))
