"""The sentences of the set-up pack, which stand in ``setup_pack_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.setup_pack")
