"""The debrief's sentences, which stand in ``debrief_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.debrief")
