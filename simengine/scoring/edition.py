"""The edition of the rules of scoring that this program scores by.

A card or a result that does not say its edition was made by the first.
"""

from __future__ import annotations

EDITION = 2

WORDS = {1: "scoring, first edition", 2: "scoring, second edition"}
"""Why a score is another one, where only the edition is."""
