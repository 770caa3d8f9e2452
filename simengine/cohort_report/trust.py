"""How far the figures can be trusted: observers, and the marking guides themselves."""

from __future__ import annotations

from simengine.cohort.evidence import doubles
from simengine.cohort.observer_agreement import ObserverAgreement, observers_agree
from simengine.cohort.reliability import guide_reliability
from simengine.cohort_report.cohort_page import Chapter
from simengine.cohort_report.cohort_sentences import say
from simengine.cohort_report.figure_words import of
from simengine.cohort_report.material import Material
from simengine.quantities.formatting import count
from simengine.report.blocks import Table

LEAST = 10


def agreement(material: Material) -> ObserverAgreement | None:
    """Return how far two observers agree; ``None`` where no session has two logs."""
    pairs = doubles(material.results)
    return observers_agree(pairs) if pairs else None


def observers_in_short(found: ObserverAgreement | None) -> str:
    """Return a sentence for the first page."""
    if found is None:
        return say("observers_in_short_no_session_recorded")
    if found.few or found.verdicts is None:
        return say(
            "observers_in_short_two_observers_recorded", sessions=count(found.sessions, "session")
        )
    return (
        say("observers_in_short_two_observers_agree", value=f"{found.verdicts.value:.2f}")
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
        say("trust_chapter_how_far_trust"),
        (observers_in_short(found),),
        tables=tuple(tables),
        notes=(say("trust_chapter_alpha_says_whether"),),
    )


def _observers(agreed: ObserverAgreement) -> Table:
    rows = [(say("observers_same_verdict"), of(agreed.same_verdict), "steps")]
    for words, kappa in (
        (say("observers_verdicts_cohens_kappa"), agreed.verdicts),
        (say("observers_done_or_not"), agreed.done),
    ):
        if kappa is not None:
            rows.append(
                (
                    words,
                    f"{kappa.value:.2f}{_interval(kappa.low, kappa.high)}",
                    say("observers_steps", n=kappa.n),
                )
            )
    if agreed.times is not None:
        limits = agreed.times
        rows.append(
            (
                say("observers_times_limits_agreement"),
                say(
                    "observers_s_around_s",
                    low=_signed(limits.low),
                    high=_signed(limits.high),
                    bias=_signed(limits.bias),
                ),
                say("observers_steps", n=limits.n),
            )
        )
    if agreed.totals is not None:
        limits = agreed.totals
        rows.append(
            (
                say("observers_totals_limits_agreement"),
                say(
                    "observers_percentage_points_around",
                    low=_signed(100 * limits.low),
                    high=_signed(100 * limits.high),
                    bias=_signed(100 * limits.bias),
                ),
                f"{count(limits.n, 'session')}",
            )
        )
    if agreed.totals_icc is not None:
        icc = agreed.totals_icc
        rows.append(
            (
                say("observers_totals_icc"),
                f"{icc.value:.2f}{_interval(icc.low, icc.high)}",
                f"{count(icc.things, 'session')}",
            )
        )
    return Table(
        say("observers_two_observers", sessions=count(agreed.sessions, "session")),
        (say("observers_what"), say("observers_agreement_interval"), say("observers_rests")),
        tuple(rows),
        lead=say("observers_lead"),
    )


def _guides(material: Material) -> Table | None:
    rows = []
    for sessions in material.scenarios.values():
        reliability = guide_reliability(sessions).reliability
        if reliability is None or reliability.sessions < LEAST:
            continue
        sem = reliability.sem / reliability.items
        rows.append(
            (
                sessions[-1].scenario_title,
                f"{reliability.alpha:.2f}{_interval(reliability.low, reliability.high)}",
                f"{reliability.dependability:.2f}",
                say("guides_percentage_points", sem=f"{100 * sem:.1f}"),
                say(
                    "guides_sessions_items", sessions=reliability.sessions, items=reliability.items
                ),
            )
        )
    if not rows:
        return None
    return Table(
        say("guides_marking_guides"),
        (
            say("guides_scenario"),
            say("guides_alpha_interval"),
            say("guides_dependability"),
            say("guides_standard_error_measurement"),
            say("observers_rests"),
        ),
        tuple(rows),
        lead=say("guides_lead"),
    )


def _interval(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return ""
    ends = [f"{end:.2f}".replace("-0.00", "0.00").replace("-", "−") for end in (low, high)]
    return say("interval_ends", low=ends[0], high=ends[1])


def _signed(value: float) -> str:
    return f"{value:+.1f}".replace("-", "−")
