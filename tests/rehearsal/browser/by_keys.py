"""Chromium's accessibility tree of a page that is walked by Tab, Shift+Tab and arrow keys alone.

Rules of this file:

- The page is pressed keys, and asked where the focus is; nothing in it is given the focus.
- Tab goes from one thing to the next; to one of several tabs or radio buttons go the arrows.
- The focus is never hidden, not by its middle nor by its corners (WCAG 2.2, 2.4.11 Focus Not
  Obscured), and it never goes away with what it was on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.rehearsal.browser.accessibility_tree import AccessibilityTree, Node

_LOOK = """async function (...things) {
  const hidden = () => {
    const here = document.activeElement;
    if (here === document.body) return [];
    const { left, top, right, bottom } = here.getBoundingClientRect();
    const inset = 6;  // within rounded corners
    return [
      [(left + right) / 2, (top + bottom) / 2],
      ...[left + inset, right - inset].flatMap((x) => [[x, top + inset], [x, bottom - inset]]),
    ].filter(([x, y]) => {
      const there = document.elementFromPoint(x, y);
      return !there || !(here.contains(there) || there.contains(here));
    }).map(([x, y]) => `${here.outerHTML.slice(0, 120)} at ${x}, ${y}`);
  };
  for (let frame = 0; frame < 2 && hidden().length; frame++) {  // what has just changed is laid out
    await new Promise(requestAnimationFrame);
  }
  const here = document.activeElement;
  const after = Node.DOCUMENT_POSITION_FOLLOWING;
  return {
    at: things.indexOf(here),
    behind: Boolean(things[0] && things[0].compareDocumentPosition(here) & after),
    nowhere: here === document.body,
    hidden: hidden(),
    page: performance.timeOrigin,
  };
}"""
_ARROWS = {"tab": ("ArrowLeft", "ArrowRight"), "radio": ("ArrowUp", "ArrowDown")}


class ByKeys(AccessibilityTree):
    """Chromium's accessibility tree of a page, in which keys go from thing to thing."""

    def __init__(self, page: Page) -> None:
        super().__init__(page)
        self._page_of_focus = 0.0

    def focus(self, node: Node) -> None:
        """Come to something by keys, from where the focus is.

        Fails where keys never come to it, where the focus is hidden on the way, and where it has
        gone away since with what it was on.
        """
        tree = self.read()
        alike = _alike(tree, node)
        objects = [self._object_of(each) for each in alike]
        here = self._where(objects)
        lost = here["nowhere"] and here["page"] == self._page_of_focus
        assert not lost, f"on the way to {node} the focus is nowhere on the page"
        at = self._walk("Shift+Tab" if here["behind"] else "Tab", objects, _stops(tree))
        if node.role in _ARROWS:
            before, after = _ARROWS[node.role]
            wanted = [each.backend for each in alike].index(node.backend)
            self._walk(before if wanted < at else after, [objects[wanted]], len(alike))
        self._page_of_focus = here["page"]

    def leaves(self, key: str) -> int:
        """Press Tab or Shift+Tab until the focus has left the page; return the stops until then."""
        tree = self.read()
        whole = [self._object_of(tree)]
        for stop in range(_stops(tree) + 1):
            self._page.keyboard.press(key)
            if self._where(whole)["nowhere"]:
                self._page_of_focus = 0.0
                return stop
        pytest.fail(f"{key} never leaves the page")

    def _walk(self, key: str, objects: Sequence[str], stops: int) -> int:
        """Press a key until one of some things has the focus, at most twice round; return which."""
        for _ in range(2 * stops + 2):
            at: int = self._where(objects)["at"]
            if at >= 0:
                return at
            self._page.keyboard.press(key)
        pytest.fail(f"{key} never comes there")

    def _object_of(self, node: Node) -> str:
        """Return by what the browser's language knows something of the tree."""
        there = self._chromium.send("DOM.resolveNode", {"backendNodeId": node.backend})
        return str(there["object"]["objectId"])

    def _where(self, objects: Sequence[str]) -> dict[str, Any]:
        """Return where the focus is, and which of some things has it; fail if that is hidden."""
        question = {
            "functionDeclaration": _LOOK,
            "objectId": objects[0],
            "arguments": [{"objectId": each} for each in objects],
            "awaitPromise": True,
            "returnByValue": True,
        }
        answer = self._chromium.send("Runtime.callFunctionOn", question)
        here: dict[str, Any] = answer["result"]["value"]
        assert here["hidden"] == []
        return here


def _alike(tree: Node, node: Node) -> list[Node]:
    """Return what arrows go to and fro among: something's tabs or radio buttons, else it alone."""
    if node.role not in _ARROWS:
        return [node]
    groups = [
        [each for each in group.all() if each.role == node.role]
        for group in tree.all()
        if group.role in ("tablist", "group", "radiogroup")
    ]
    *_, innermost = (
        group for group in groups if any(each.backend == node.backend for each in group)
    )
    return innermost


def _stops(tree: Node) -> int:
    """Return how many things of a page can have the focus."""
    return sum(bool(each.states.get("focusable")) for each in tree.all())
