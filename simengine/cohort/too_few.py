"""What is too few to tell anything from: fewer than ``FEW`` of anything."""

from __future__ import annotations

FEW = 5


def is_too_few(number: int) -> bool:
    """Whether ``number`` sessions, attempts or people are too few to tell anything from."""
    return number < FEW
