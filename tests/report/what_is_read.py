"""What a person reads of a page or of a view: its words, without its marks, names and addresses.

Rules of this file:

- Of a page: the text between its marks, and what is read aloud or shown of a field (``READ``).
  What a script takes from a page (a view as JSON) is read as a view.
- Of a view: each text with a space in it; a single word may be a name that only a script reads.
- A place that the browser fills (``{value}``) is filled.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

READ = ("alt", "aria-label", "placeholder", "title")
VIEWS = ("data-view", "data-content")
FILLED = re.compile(r"\{(value|age|left)\}")


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if value and name in READ:
                self.texts.append(value)
            elif value and name in VIEWS:
                self.texts.extend(of_view(json.loads(value)))

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def of_page(html: str) -> list[str]:
    """Every text of a page that a person reads or hears."""
    page = _Page()
    page.feed(html)
    return [text for text in (" ".join(text.split()) for text in page.texts) if text]


def of_view(view: Any) -> Iterator[str]:
    """Every text of a view (JSON's maps, lists and values) that a person reads."""
    if isinstance(view, str):
        if " " in view:
            yield FILLED.sub("1", view)
    elif isinstance(view, dict):
        for value in view.values():
            yield from of_view(value)
    elif isinstance(view, list):
        for value in view:
            yield from of_view(value)
