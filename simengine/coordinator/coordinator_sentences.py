"""The coordinator's sentences, which stand in ``sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.coordinator")
