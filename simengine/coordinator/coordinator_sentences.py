"""The coordinator's sentences, which stand in ``coordinator_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.coordinator")
