"""The sentences of the score card: one table of templates, each with a key and named places.

Rules of this file:

- No code of scoring holds a sentence that a person reads; it names a key and fills its places.
- The table is ``scoring_sentences.yaml`` beside this file. A clinician can read and change all of
  it.
"""

from __future__ import annotations

from simengine.catalogue import Catalogue

say = Catalogue("simengine.scoring")
