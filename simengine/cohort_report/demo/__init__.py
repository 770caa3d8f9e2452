"""An invented hospital, whose staff and sessions show what a cohort report says."""

from __future__ import annotations

from simengine.cohort_report.demo.demo_cohort import DemoCohort, demo_cohort

__all__ = ["DemoCohort", "demo_cohort"]
