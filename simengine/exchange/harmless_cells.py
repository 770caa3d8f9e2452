"""Text that a spreadsheet would run as a formula, made harmless.

Rules of this file:

- A text is guarded with an apostrophe before it if it begins with ``=``, ``+``, ``-``, ``@``, a
  tab or a line's end, also after blanks, and so is each further line of it and each part after a
  semicolon or tab, since some settings split a line there.
- A number in a text column ("-5", "+3.2") is left as it is, and numbers in number columns are
  never touched.
- The characters are those of the OWASP page "CSV Injection"; that a further line, a part and
  leading blanks count is our own caution.
"""

from __future__ import annotations

import re
from functools import lru_cache

_STARTS = re.compile("(^|[\t\r\n;])(?=[ \u00a0]*[=+\\-@\t\r\n＝＋－＠])")
_NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?")

RULE = (
    "In CSV an apostrophe stands before a text that a spreadsheet would run as a formula: one that "
    "begins with = + - @, a tab or a line's end, or has such a beginning after a line's end, a tab "
    "or a semicolon. Take it away to have the text. Numbers are never changed; Parquet has every "
    "text as it is."
)


@lru_cache(maxsize=8192)  # ids, titles and words come again in nearly every row
def guarded(text: str) -> str:
    """Return ``text`` so that no spreadsheet runs it."""
    if _NUMBER.fullmatch(text):
        return text
    return _STARTS.sub(r"\1'", text)
