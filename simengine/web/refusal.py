"""A request that is refused, in words for a person."""

from __future__ import annotations


class RefusalError(Exception):
    """A request that is refused: status, and words for a person."""

    def __init__(self, status: int, title: str, *words: str) -> None:
        self.status = status
        self.title = title
        self.words = words
        super().__init__(title)
