"""Read the two outputs back, as text and as structure, for comparison with the page model."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject

VOID = frozenset({"meta", "link", "img", "br", "hr", "input"})


def squeezed(text: str) -> str:
    """Return text without the spaces that lines, columns and break places put in or take out."""
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


class Read(HTMLParser):
    """A web page's visible text, alternative texts, elements in order, and nesting faults."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.text: list[str] = []
        self.alts: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.headings: list[int] = []
        self.open: list[str] = []
        self.faults: list[str] = []
        self.feed(page)
        self.close()
        self.faults += [f"<{tag}> is never closed" for tag in self.open]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        self.tags.append((tag, known))
        if tag == "img":
            self.alts.append(known.get("alt") or "")
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self.open[-1:] or 'nothing'}")
        else:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in ("style", "title"):
            self.text.append(data)


def pdf_text(pdf: bytes, *, head: str = "", foot: str = "") -> str:
    """Return the squeezed text of all pages, without the running ``head`` and ``foot``."""
    out = []
    for page in PdfReader(BytesIO(pdf)).pages:
        text = squeezed(page.extract_text()).removeprefix(squeezed(head))
        out.append(re.sub(rf"{re.escape(squeezed(foot))}\d+/\d+$", "", text))
    return "".join(out)


def pdf_alts(pdf: bytes) -> list[str]:
    """Return the alternative texts in a tagged PDF's structure."""
    alts: list[str] = []

    def walk(node: object) -> None:
        if isinstance(node, ArrayObject):
            for part in node:
                walk(part.get_object())
        elif isinstance(node, DictionaryObject):
            if "/Alt" in node:
                alts.append(str(node["/Alt"]))
            if "/K" in node:
                walk(node["/K"].get_object())

    root = PdfReader(BytesIO(pdf)).trailer["/Root"]
    assert isinstance(root, DictionaryObject)
    walk(root["/StructTreeRoot"].get_object())
    return alts
