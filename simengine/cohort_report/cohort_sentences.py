"""The sentences of the cohort report, which stand in ``sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.cohort_report")
