"""The invented cohort as a report needs it."""

from __future__ import annotations

from simengine.cohort_report.demo.demo_cohort import DemoCohort
from simengine.cohort_report.material import Material
from simengine.people.currency import currency
from simengine.people.outcomes import outcomes_in

NOTICE = "Invented: hospital, people, figures and events. Simulated teams played the sessions."


def demo_material(cohort: DemoCohort, *, published: bool = False) -> Material:
    """Return what the report over the whole cohort is made of, as of its last day."""
    hospital = cohort.hospital
    outcomes = [outcomes_in(session.session.events) for session in cohort.sessions]
    evidence = [proof for outcome in outcomes for proof in outcome.evidence()]
    return Material(
        title=hospital.title,
        today=hospital.last_day,
        since=hospital.first_day,
        until=hospital.last_day,
        unit=None,
        results=(*cohort.results, *cohort.second_results),
        roster=cohort.roster,
        standing=currency(cohort.roster, evidence, hospital.last_day),
        signed=frozenset(outcome.session for outcome in outcomes if outcome.decisions),
        threats=cohort.threats,
        published=published,
        notices=(NOTICE,),
    )
