"""The sentences of the practice check, which stand in ``practice_check_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.practice_check")
