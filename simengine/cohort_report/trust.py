"""How far the figures can be trusted: observers, and the marking guides themselves."""

from __future__ import annotations

from simengine.cohort.evidence import doubles
from simengine.cohort.observer_agreement import ObserverAgreement, observers_agree
from simengine.cohort.reliability import guide_reliability
from simengine.cohort_report.material import Material
from simengine.cohort_report.page import Chapter
from simengine.cohort_report.said import of
from simengine.quantities.wording import count
from simengine.report.blocks import Table

LEAST = 10


def agreement(material: Material) -> ObserverAgreement | None:
    """Return how far two observers agree; ``None`` where no session has two logs."""
    pairs = doubles(material.results)
    return observers_agree(pairs) if pairs else None


def observers_in_short(found: ObserverAgreement | None) -> str:
    """Return a sentence for the first page."""
    if found is None:
        return "No session was recorded by two observers, so their agreement is not known."
    if found.few or found.verdicts is None:
        return (
            f"Two observers recorded {count(found.sessions, 'session')}: too few to tell how far "
            "they agree."
        )
    return (
        f"Two observers agree on verdicts with kappa {found.verdicts.value:.2f}"
        + _interval(found.verdicts.low, found.verdicts.high)
        + f" ({count(found.sessions, 'session')})."
    )


def trust_chapter(material: Material, found: ObserverAgreement | None) -> Chapter:
    """Return the agreement of observers and the reliability of each marking guide."""
    tables = []
    if found is not None and not found.few:
        tables.append(_observers(found))
    guides = _guides(material)
    if guides is not None:
        tables.append(guides)
    return Chapter(
        "How far to trust the figures",
        (observers_in_short(found),),
        tables=tuple(tables),
        notes=(
            "Alpha says whether the items of a guide agree within a session, from 0 to 1; it says "
            "nothing of another day or scenario. More scenarios help more than more observers do.",
        ),
    )


def _observers(found: ObserverAgreement) -> Table:
    rows = [("Same verdict", of(found.same_verdict), "steps")]
    for words, one in (
        ("Verdicts, Cohen's kappa", found.verdicts),
        ("Done or not, Cohen's kappa", found.done),
    ):
        if one is not None:
            rows.append((words, f"{one.value:.2f}{_interval(one.low, one.high)}", f"{one.n} steps"))
    if found.times is not None:
        limits = found.times
        rows.append(
            (
                "Times, limits of agreement",
                f"{_signed(limits.low)} to {_signed(limits.high)} s "
                f"around {_signed(limits.bias)} s",
                f"{limits.n} steps",
            )
        )
    if found.totals is not None:
        limits = found.totals
        rows.append(
            (
                "Totals, limits of agreement",
                f"{_signed(100 * limits.low)} to {_signed(100 * limits.high)} percentage points "
                f"around {_signed(100 * limits.bias)}",
                f"{count(limits.n, 'session')}",
            )
        )
    if found.totals_icc is not None:
        icc = found.totals_icc
        rows.append(
            (
                "Totals, ICC(2,1)",
                f"{icc.value:.2f}{_interval(icc.low, icc.high)}",
                f"{count(icc.things, 'session')}",
            )
        )
    return Table(
        f"Two observers, {count(found.sessions, 'session')}",
        ("What", "Agreement (95 % interval)", "Rests on"),
        tuple(rows),
        lead="Kappa: 1 is perfect, 0 is what chance gives. Differences are the first log's less "
        "the other's.",
    )


def _guides(material: Material) -> Table | None:
    rows = []
    for sessions in material.scenarios.values():
        found = guide_reliability(sessions).reliability
        if found is None or found.sessions < LEAST:
            continue
        sem = found.sem / found.items
        rows.append(
            (
                sessions[-1].scenario_title,
                f"{found.alpha:.2f}{_interval(found.low, found.high)}",
                f"{found.dependability:.2f}",
                f"{100 * sem:.1f} percentage points",
                f"{found.sessions} sessions, {found.items} items",
            )
        )
    if not rows:
        return None
    return Table(
        "Marking guides",
        (
            "Scenario",
            "Alpha (95 % interval)",
            "Dependability",
            "Standard error of measurement",
            "Rests on",
        ),
        tuple(rows),
        lead="Items that were not reached in every session are left out, and all weigh the same.",
    )


def _interval(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return ""
    ends = [f"{end:.2f}".replace("-0.00", "0.00").replace("-", "−") for end in (low, high)]
    return f" ({ends[0]} to {ends[1]})"


def _signed(value: float) -> str:
    return f"{value:+.1f}".replace("-", "−")
