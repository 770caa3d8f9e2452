"""The sentences of the certificate of attendance, which stand in ``certificate_sentences.yaml``."""

from simengine.catalogue import Catalogue

say = Catalogue("simengine.certificate")
