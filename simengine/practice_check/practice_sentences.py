"""The sentences of the practice check, which stand in ``sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.practice_check")
