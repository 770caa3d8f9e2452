"""The room's sentences, which stand in ``room_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.room")
