"""The sentences of the cohort report, which stand in ``cohort_report_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.cohort_report")
