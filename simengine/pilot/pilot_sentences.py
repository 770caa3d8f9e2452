"""The sentences of a pilot's page, which stand in ``pilot_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.pilot")
