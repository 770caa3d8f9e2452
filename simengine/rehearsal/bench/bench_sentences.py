"""The sentences of the bench, which stand in ``bench_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.rehearsal.bench")
