"""How far two observers agree: over the sessions that two recorded, and one session side by side.

Rules of this file:

- Neither observer is right. Few sessions are called few, and then no figure stands alone.
- The latest ``LATEST`` sessions are looked at, so that the page does not grow with the store.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from simengine.cohort.agreement import Agreement
from simengine.cohort.evidence import doubles
from simengine.cohort.measured_twice import Intraclass, Limits
from simengine.cohort.observer_agreement import ObserverAgreement, observers_agree
from simengine.cohort.records import SessionResult
from simengine.cohort.two_observers import WITHIN_S, Compared, Sighting, compare_logs
from simengine.coordinator.coordinator_sentences import say
from simengine.coordinator.unit_contexts import AgreementPage, AgreementRow, PairRow, SightingRow
from simengine.coordinator.who_may_read import EDUCATORS_TOO, teacher
from simengine.problems import InputError
from simengine.quantities.formatting import clock, count, percent_span
from simengine.session import Event, fold
from simengine.session.from_file import scenario_for
from simengine.store import StoreError
from simengine.store.lists import newest_results
from simengine.web.app_state import state_of
from simengine.web.local_time import local_day
from simengine.web.note_read import note_read
from simengine.web.pages import page
from simengine.web.paging import ROWS, page_number, pages_of
from simengine.web.refusal import RefusalError

PATH = "/cohort/agreement"
LATEST = 500
_MS = 1000


async def agreement(request: Request) -> Response:
    """``GET /cohort/agreement``."""
    teacher(request)
    store = state_of(request).store
    number = page_number(request)

    def look() -> tuple[list[tuple[SessionResult, SessionResult]], ObserverAgreement]:
        pairs = doubles(newest_results(store, limit=LATEST))
        return pairs, observers_agree(pairs)

    pairs, agreed = await asyncio.to_thread(look)
    pages = pages_of(PATH, {}, number, len(pairs))
    first = max(0, pages.first - 1)
    data = AgreementPage(
        here=PATH,
        readers=EDUCATORS_TOO,
        title=say("agreement_title"),
        lead=say("agreement_lead", latest=LATEST, twice=count(len(pairs), "was", "were")),
        few=_few(agreed),
        rows=rows_of(agreed) if pairs else (),
        observers=(),
        sightings=(),
        pairs=tuple(_pair(*pair) for pair in reversed(pairs))[first : first + ROWS],
        pages=pages,
    )
    return page(request, "cohort/agreement.html.j2", data)


async def side_by_side(request: Request) -> Response:
    """``GET /cohort/agreement/ONE/OTHER``: two logs of one session."""
    visitor = teacher(request)
    state = state_of(request)
    ids = [request.path_params[which] for which in ("one", "other")]
    results = [state.store.result(id_) for id_ in ids]
    first, other = results
    if first is None or other is None or not doubles([first, other]):
        raise RefusalError(
            404, "No such pair", "These are not two observers' records of the same session."
        )
    everybody = [
        code for result in (first, other) for held in result.team.values() for code in held
    ]
    note_read(request, visitor, "two records side by side", everybody)
    folders = state.shelf.folders
    try:
        logs = [state.store.events(id_) for id_ in ids]
        compared = await asyncio.to_thread(_compared, logs, folders)
    except (InputError, StoreError) as error:
        raise RefusalError(409, "They can't be compared", str(error)) from error
    agreed = observers_agree([(first, other)])
    data = AgreementPage(
        here=PATH,
        readers=EDUCATORS_TOO,
        title=say("agreement_pair_title", scenario=first.scenario_title),
        lead=say("agreement_pair_lead", day=local_day(first.wall), within=f"{WITHIN_S:.0f} s"),
        few=say("agreement_pair_few"),
        rows=(*_seen_rows(compared), *rows_of(agreed)),
        observers=(_by(first), _by(other)),
        sightings=sightings_of(compared),
        pairs=(),
        pages=None,
    )
    return page(request, "cohort/agreement.html.j2", data)


def rows_of(found: ObserverAgreement) -> tuple[AgreementRow, ...]:
    """Return the figures, each with its interval and what it rests on."""
    rows = []
    if found.same_verdict is not None:
        share = found.same_verdict
        value = f"{share.count} of {share.of}"
        if not share.few:
            value += f" ({percent_span(share.low, share.high)})"
        rows.append(AgreementRow(say("agreement_same"), value, say("agreement_same_words")))
    rows += _kappa("Verdicts", found.verdicts, "Cohen's kappa")
    rows += _kappa("Done or not", found.done, "Cohen's kappa")
    rows += _limits("Times", found.times, "s", 1, "steps")
    rows += _icc("Times", found.times_icc, "steps")
    rows += _limits("Totals", found.totals, "percentage points", 100, "sessions")
    rows += _icc("Totals", found.totals_icc, "sessions")
    return tuple(rows)


def sightings_of(compared: Compared) -> tuple[SightingRow, ...]:
    """Return what each observer wrote down, in order of time."""
    rows = [
        (
            first.at_s,
            SightingRow(
                first.label, _at(first), _at(second), f"{abs(first.at_s - second.at_s):.1f} s"
            ),
        )
        for first, second in compared.pairs
    ]
    alone = say("agreement_alone")
    rows += [
        (sighting.at_s, SightingRow(sighting.label, _at(sighting), "–", alone))
        for sighting in compared.only_one
    ]
    rows += [
        (sighting.at_s, SightingRow(sighting.label, "–", _at(sighting), alone))
        for sighting in compared.only_other
    ]
    return tuple(row for _, row in sorted(rows, key=lambda pair: pair[0]))


def _compared(logs: Sequence[Sequence[Event]], folders: Sequence[Path]) -> Compared:
    first, other = (fold(scenario_for(events[0].data, folders)[0], events) for events in logs)
    return compare_logs(first, other)


def _few(agreed: ObserverAgreement) -> str:
    if not agreed.sessions:
        return ""
    if agreed.few:
        return say("agreement_few", sessions=count(agreed.sessions, "session"))
    return ""


def _seen_rows(compared: Compared) -> tuple[AgreementRow, ...]:
    both, alone = len(compared.pairs), len(compared.only_one) + len(compared.only_other)
    value = say("agreement_both_value", both=both, all=both + alone)
    rows = [AgreementRow(say("agreement_both"), value, say("agreement_both_words"))]
    rows += _limits(say("agreement_times_both"), compared.times, "s", 1, "entries")
    return tuple(rows)


def _kappa(what: str, agreed: Agreement | None, name: str) -> list[AgreementRow]:
    if agreed is None:
        return []
    value = say("attempt_few") if agreed.few else f"{agreed.value:.2f}"
    if not agreed.few and agreed.low is not None and agreed.high is not None:
        value += f" ({agreed.low:.2f} to {agreed.high:.2f})"
    words = say("agreement_kappa_words", steps=count(agreed.n, "step"))
    return [AgreementRow(f"{what}, {name}", _minus(value), words)]


def _icc(what: str, icc: Intraclass | None, things: str) -> list[AgreementRow]:
    if icc is None:
        return []
    value = f"{icc.value:.2f} ({icc.low:.2f} to {icc.high:.2f})"
    return [
        AgreementRow(
            f"{what}, ICC(2,1)",
            say("attempt_few") if icc.few else _minus(value),
            say("agreement_icc_words", number=icc.things, things=things),
        )
    ]


def _limits(
    what: str, limits: Limits | None, unit: str, factor: float, things: str
) -> list[AgreementRow]:
    if limits is None:
        return []
    low, high, bias = (factor * bound for bound in (limits.low, limits.high, limits.bias))
    value = f"{low:+.1f} to {high:+.1f} {unit}, around {bias:+.1f}"
    return [
        AgreementRow(
            say("agreement_limits", what=what),
            say("attempt_few") if limits.few else _minus(value),
            say("agreement_limits_words", number=limits.n, things=things),
        )
    ]


def _pair(first: SessionResult, other: SessionResult) -> PairRow:
    return PairRow(
        local_day(first.wall),
        first.scenario_title,
        f"{_by(first)} and {_by(other)}",
        f"{PATH}/{first.session}/{other.session}",
    )


def _by(result: SessionResult) -> str:
    return ", ".join(result.by) or "nobody named"


def _at(sighting: Sighting) -> str:
    return clock(round(sighting.at_s * _MS))


def _minus(text: str) -> str:
    return text.replace("-", "−")
