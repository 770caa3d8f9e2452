"""The console's sentences, which stand in ``desk_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.desk")
