"""The whole demo cohort, made once for all tests of a run."""

from __future__ import annotations

from functools import cache

from simengine.cohort_report.demo import DemoCohort, demo_cohort


@cache
def cohort() -> DemoCohort:
    """Return all sessions of the invented hospital."""
    return demo_cohort()
