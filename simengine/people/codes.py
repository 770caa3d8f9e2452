"""Trainee codes: what stands for a person wherever a name is not needed.

Rules of this file:

- A code that the program makes is random, read aloud without doubt (no 0/O, 1/I/L) and never one
  that is taken. Eight letters of 31 are 39 bits: nobody guesses a colleague's.
- A code of the hospital's own has 4 to 16 letters, digits, ``-`` or ``_``, and at least one letter:
  a bare staff number tells everybody at the hospital who it is.
- The code that takes an erased person's place in a record begins with ``erased-`` and is made anew
  for each session, so that nothing ties two of them together.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable, Collection

LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"
ERASED = "erased-"

_LENGTH = 8
_OWN = re.compile(r"(?=.*[A-Za-z])[A-Za-z0-9][A-Za-z0-9_-]{3,15}")

Choose = Callable[[str], str]
"""Picks one letter of a text; ``secrets.choice`` but in tests."""


def new_code(taken: Collection[str], choose: Choose = secrets.choice) -> str:
    """Return a random code that is not in ``taken``."""
    while True:
        code = "".join(choose(LETTERS) for _ in range(_LENGTH))
        if code not in taken and is_code(code):
            return code


def erased_code(taken: Collection[str], choose: Choose = secrets.choice) -> str:
    """Return what takes the place of an erased person's code in one session."""
    while True:
        code = ERASED + "".join(choose(LETTERS) for _ in range(_LENGTH))
        if code not in taken:
            return code


def is_erased(code: str) -> bool:
    """Whether ``code`` stands for somebody who was erased."""
    return code.startswith(ERASED)


def is_code(text: str) -> bool:
    """Whether ``text`` can be a trainee's code."""
    return _OWN.fullmatch(text) is not None and not is_erased(text)
