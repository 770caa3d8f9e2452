"""The sentences of rehearsing alone, which stand in ``rehearsal_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.rehearsal")
