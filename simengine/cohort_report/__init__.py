"""The cohort report: four questions answered on one page, and what stands behind them."""

from simengine.cohort_report.write_report import write_cohort

__all__ = ["write_cohort"]
