"""A page as Chromium's own accessibility tree has it: what a screen reader is given, and no more.

Rules of this file:

- Names, roles and states are those that Chromium computes (the Accessibility domain of its DevTools
  protocol), and none that a library of tests works out from the document by itself. What the tree
  leaves out is not there, and a name that two things have is no name.
- Nothing is found by a selector, an id or a place on the screen. What is found gets the focus and a
  key, so what can't have the focus can't be used.
- Waiting is waiting for the tree to say something: it is read again once the document has changed.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from playwright.sync_api import Error, Page

IN_TIME_S = 20.0
_NEXT_CHANGE = """() => new Promise((done) => {
  const seen = new MutationObserver(() => { seen.disconnect(); done(); });
  seen.observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
  setTimeout(done, 200);  // a change of focus changes the tree, and no document
})"""
_TEXT = "StaticText"
Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Node:
    """What the tree has of one thing. ``states``: ``pressed``, ``selected``, ``live`` and so on.

    ``backend``: the number by which the browser knows its element; ``None`` where it has none.
    """

    role: str
    name: str
    states: Mapping[str, Any]
    backend: int | None
    within: tuple[Node, ...] = field(repr=False)

    def all(self) -> Iterator[Node]:
        """Go through this and all that is in it, in the order of reading."""
        yield self
        for node in self.within:
            yield from node.all()

    @property
    def words(self) -> str:
        """What is read aloud of this, piece by piece."""
        texts = (node.name.strip() for node in self.all() if node.role == _TEXT)
        return " ".join(text for text in texts if text)

    def having(self, role: str, name: str) -> list[Node]:
        """Return what has this role and name; a name that ends in ``…`` only begins so."""
        return [node for node in self.all() if node.role == role and _is(node.name, name)]


def _is(name: str, wanted: str) -> bool:
    return name.startswith(wanted[:-1]) if wanted.endswith("…") else name == wanted


class AccessibilityTree:
    """Chromium's accessibility tree of a page, which has keys and nothing else."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._chromium = page.context.new_cdp_session(page)
        self._chromium.send("DOM.enable")
        self._chromium.send("Accessibility.enable")

    def read(self) -> Node:
        """Return the whole tree as it stands."""
        nodes = self._chromium.send("Accessibility.getFullAXTree")["nodes"]
        return _node(nodes[0]["nodeId"], {node["nodeId"]: node for node in nodes})

    def wait(
        self, what: str, asks: Callable[[Node], Answer | None], within_s: float = IN_TIME_S
    ) -> Answer:
        """Read the tree until what is asked of it has an answer (is true), and return that.

        ``what`` is what is waited for, in words. Fails with the tree as it stands after
        ``within_s`` (s).
        """
        until = time.monotonic() + within_s
        while True:
            try:
                tree = self.read()
                answer = asks(tree)
                if answer:
                    return answer
                if time.monotonic() > until:
                    break
                self._page.evaluate(_NEXT_CHANGE)
            except Error:  # the page has just given way to the next
                if time.monotonic() > until:
                    raise
                self._page.wait_for_load_state()
        raise AssertionError(f"{what}: not in the tree, which reads\n{tree.words}")

    def only(self, role: str, name: str, among: Sequence[tuple[str, str]] = ()) -> Node:
        """Wait for the one thing of a role and a name, and return it.

        ``among``: roles and names of what it is in, the outermost first.
        """
        where = "".join(f" in {outer} “{named}”" for outer, named in among)

        def only_one(tree: Node) -> Node | None:
            here = tree
            for step in (*among, (role, name)):
                alike = here.having(*step)
                if len(alike) != 1:
                    return None
                here = alike[0]
            return here

        return self.wait(f"one {role} “{name}”{where}", only_one)

    def focus(self, node: Node) -> None:
        """Give something the focus, and wait until the tree says that it has it."""
        assert node.backend is not None, node
        self._chromium.send("DOM.focus", {"backendNodeId": node.backend})
        self.wait(
            f"the focus on {node.role} “{node.name}”",
            lambda tree: any(
                each.backend == node.backend and each.states.get("focused") for each in tree.all()
            ),
        )

    def press(self, role: str, name: str, *among: tuple[str, str], key: str = "Enter") -> None:
        """Come to something by its role and name, and press a key on it."""
        self.focus(self.only(role, name, among))
        self._page.keyboard.press(key)

    def types(self, role: str, name: str, text: str, *among: tuple[str, str]) -> None:
        """Come to a field by its role and name, and type over what stands in it."""
        self.focus(self.only(role, name, among))
        self._page.keyboard.press("ControlOrMeta+A")
        self._page.keyboard.type(text)
        self._page.keyboard.press("Enter")

    def hears(self, words: str, within_s: float = IN_TIME_S) -> None:
        """Wait until a live region says this, as a screen reader reads aloud what changes."""
        self.wait(
            f"“{words}” in a live region",
            lambda tree: any(words in region for region in live_words(tree)),
            within_s,
        )


def live_words(tree: Node) -> list[str]:
    """Return what each live region of a tree says now."""
    return [node.words for node in tree.all() if node.states.get("live") in ("polite", "assertive")]


def _node(id_: str, nodes: Mapping[str, Any]) -> Node:
    """Return a node with all that is in it; what is ignored gives way to what it holds."""
    node = nodes[id_]
    return Node(
        role=node.get("role", {}).get("value", ""),
        name=node.get("name", {}).get("value", ""),
        states={state["name"]: state["value"].get("value") for state in node.get("properties", ())},
        backend=node.get("backendDOMNodeId"),
        within=tuple(_in(node, nodes)),
    )


def _in(node: Mapping[str, Any], nodes: Mapping[str, Any]) -> Iterator[Node]:
    for id_ in node.get("childIds", ()):
        child = nodes.get(id_)
        if child is None:
            continue
        if child["ignored"]:
            yield from _in(child, nodes)
        else:
            yield _node(id_, nodes)
