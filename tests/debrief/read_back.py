"""Read the two outputs back, as text and as structure, for comparison with the page model.

Rules:
- Text of a PDF is read by poppler, in the order in which it is drawn: curves and letters that are
  drawn as shapes take a reader in Python most of its time. What runs out of the page is not read.
- The structure of a PDF is read by pypdf.
"""

from __future__ import annotations

import re
import subprocess
from html.parser import HTMLParser
from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject

from tests.need import need

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


def pdf_pages(pdf: bytes) -> list[str]:
    """Return the squeezed text of each page."""
    reader = [need("pdftotext", "poppler-utils"), "-raw", "-enc", "UTF-8", "-", "-"]
    read = subprocess.run(reader, input=pdf, stdout=subprocess.PIPE, check=True)
    *pages, after = read.stdout.decode("utf-8").split("\f")
    assert not after, "each page ends with a form feed"
    return [squeezed(page) for page in pages]


def pdf_text(pdf: bytes, *, head: str = "", foot: str = "") -> str:
    """Return the squeezed text of all pages, without the running ``head`` and ``foot``."""
    running = re.compile(rf"{re.escape(squeezed(foot))}\d+/\d+$")
    return "".join(running.sub("", page.removeprefix(squeezed(head))) for page in pdf_pages(pdf))


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
