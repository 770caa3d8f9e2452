"""YAML text → a tree that knows where each key and value stands.

Rules of this file:

- Scalars are kept as the text written; whether that is a number is for whoever asks.
  So ``on``, ``no`` and ``1:30`` stay what they are, and ``1.10`` is not ``1.1``.
- Keys are text and stand once in a map. Tags, several documents and merge keys are refused.
- What could exhaust memory ends in a problem: file size, nesting, nodes (aliases count as often
  as they are used).
- libyaml reads the text where PyYAML has it, else PyYAML's own reader, with the same results.
- Nobody changes a tree, so the texts that were read last are not read again: every scenario brings
  the same vocabulary and protocol.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from simengine.limits import ACCENTS, LEVELS, YAML_BYTES, YAML_NODES, megabytes
from simengine.problems import Problem
from simengine.schemas import is_overloaded

_EVENTS: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(slots=True, eq=False)
class Scalar:
    """A single value. ``plain``: written without quotes."""

    line: int
    column: int
    text: str
    plain: bool


@dataclass(slots=True, eq=False)
class Sequence:
    """A list."""

    line: int
    column: int
    items: list[Node] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Mapping:
    """A map. ``keys`` are the scalars that the keys were written as."""

    line: int
    column: int
    items: dict[str, Node] = field(default_factory=dict)
    keys: dict[str, Scalar] = field(default_factory=dict)


Node = Scalar | Sequence | Mapping


@dataclass(frozen=True, slots=True)
class Document:
    """What a file holds: ``root`` is ``None`` if it can't be read at all."""

    file: str
    root: Node | None
    problems: tuple[Problem, ...]


_CONTROL = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_NOTHING = frozenset(("", "~", "null", "Null", "NULL"))
_TRUTH = {"true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False}
_INT = re.compile(r"[-+]?[0-9]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")


def is_nothing(node: Node) -> bool:
    """Whether a value was left out (``key:`` with nothing behind it, ``~``, ``null``)."""
    return isinstance(node, Scalar) and node.plain and node.text in _NOTHING


def typed(node: Node) -> Any:
    """Return the tree as JSON values, plain scalars read by the core schema of YAML 1.2.

    Octal and hexadecimal numbers, infinities and what is not a number stay text.
    """
    if isinstance(node, Mapping):
        return {key: typed(value) for key, value in node.items.items()}
    if isinstance(node, Sequence):
        return [typed(item) for item in node.items]
    text = node.text
    if not node.plain:
        return text
    if text in _NOTHING:
        return None
    if text in _TRUTH:
        return _TRUTH[text]
    if text[0].isalpha():
        return text
    if _INT.fullmatch(text):
        return int(text[:20])
    if _FLOAT.fullmatch(text):
        return float(text)
    return text


def as_written(node: Node) -> Any:
    """Return the tree as JSON values in which each scalar is the text written, unless left out."""
    if isinstance(node, Mapping):
        return {key: as_written(value) for key, value in node.items.items()}
    if isinstance(node, Sequence):
        return [as_written(item) for item in node.items]
    return None if is_nothing(node) else node.text


def read_yaml(path: Path, name: str | None = None) -> Document:
    """Read a file. ``name`` is what problems call it (default: the path as given)."""
    file = name if name is not None else str(path)
    try:
        if path.exists() and not path.is_file():
            obstacle = "a folder" if path.is_dir() else "something that is no file"
            return _unreadable(file, "a YAML file", obstacle, "not-a-file")
        with path.open("rb") as stream:
            data = stream.read(YAML_BYTES + 1)
    except FileNotFoundError:
        return _unreadable(file, "a YAML file", "no file of this name", "no-file")
    except OSError as error:
        obstacle = (error.strerror or "an error while reading").lower()
        return _unreadable(file, "a file that can be read", obstacle, "unreadable")
    return parse_yaml(data, file)


def parse_yaml(data: bytes, file: str) -> Document:
    """Read YAML from bytes; ``file`` is what problems call it."""
    if len(data) > YAML_BYTES:
        return _unreadable(
            file, f"a file of at most {megabytes(YAML_BYTES)}", "a larger one", "too-large"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - (data.rfind(b"\n", 0, error.start) + 1) + 1
        culprit = f"the byte 0x{data[error.start]:02x}"
        problem = Problem(file, line, column, "", "text in UTF-8", culprit, "not-utf8")
        return Document(file, None, (problem,))
    if not text.strip():
        return _unreadable(file, "a YAML file", "an empty one", "empty-file")
    control = _CONTROL.search(text)
    if control is not None:
        line = text.count("\n", 0, control.start()) + 1
        column = control.start() - text.rfind("\n", 0, control.start())
        culprit = f"a control character (U+{ord(control[0]):04X})"
        problem = Problem(file, line, column, "", "printable text", culprit, "control-character")
        return Document(file, None, (problem,))
    return _read(file, text)


@lru_cache(maxsize=32)
def _read(file: str, text: str) -> Document:
    return _Reader(file, text).read()


def _unreadable(file: str, expected: str, found: str, code: str) -> Document:
    return Document(file, None, (Problem(file, 0, 0, "", expected, found, code),))


class _Stop(Exception):  # noqa: N818
    """Reading can't go on; the problem has been noted."""


class _Reader:
    """Builds the tree from the parser's events, so that limits hold before anything grows."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.text = text
        self.problems: list[Problem] = []
        self.anchors: dict[str, Node] = {}
        self.sizes: dict[int, int] = {}
        self.nodes = 0

    def read(self) -> Document:
        root: Node | None = None
        loader = None
        try:
            loader = _EVENTS(self.text)
            root = self._document(loader)
        except yaml.YAMLError as error:
            self._syntax(error)
        except _Stop:
            root = None
        finally:
            if loader is not None:
                loader.dispose()
        return Document(self.file, root, tuple(self.problems))

    def _document(self, loader: Any) -> Node | None:
        events: Iterator[Any] = iter(loader.get_event, None)
        root: Node | None = None
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    self._at(event, "one document", "a second one after '---'", "documents")
                    raise _Stop
            elif isinstance(event, yaml.NodeEvent):
                root = self._node(event, events, 1)
        if root is None:
            self.problems.append(
                Problem(self.file, 0, 0, "", "a YAML file", "nothing but comments", "empty-file")
            )
        return root

    def _node(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        mark, kind = event.start_mark, type(event)
        line, column = mark.line + 1, mark.column + 1
        if kind is yaml.AliasEvent:
            return self._alias(event)
        self._grow(event, 1)
        before = self.nodes
        if depth > LEVELS:
            self._at(event, f"at most {LEVELS} levels", "deeper nesting", "too-deep")
            raise _Stop
        if event.tag is not None and event.tag != "!":
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            self._at(event, "a value without a tag", f"'{tag}'", "tag")
            raise _Stop
        node: Node
        if kind is yaml.ScalarEvent:
            if is_overloaded(event.value):
                excess = f"more than {ACCENTS} accents on one letter"
                self._at(event, "text", excess, "accents")
                raise _Stop
            node = Scalar(line, column, event.value, not event.style)
        elif kind is yaml.SequenceStartEvent:
            node = Sequence(line, column)
            for inner in events:
                if type(inner) is yaml.SequenceEndEvent:
                    break
                node.items.append(self._node(inner, events, depth + 1))
        else:
            node = Mapping(line, column)
            for inner in events:
                if type(inner) is yaml.MappingEndEvent:
                    break
                self._pair(node, inner, events, depth)
        if event.anchor is not None:
            self.anchors[event.anchor] = node
            self.sizes[id(node)] = self.nodes - before + 1
        return node

    def _pair(self, owner: Mapping, event: Any, events: Iterator[Any], depth: int) -> None:
        key = self._node(event, events, depth + 1)
        value = self._node(next(events), events, depth + 1)
        if not isinstance(key, Scalar):
            self._at(event, "a name before the colon", "a list or map", "key-form")
        elif key.text == "<<" and key.plain:
            self._at(event, "each key written out", "a merge key '<<'", "merge-key")
        elif key.text in owner.items:
            first = owner.keys[key.text].line
            self._at(
                event,
                "each key once",
                f"'{key.text}' a second time",
                "duplicate-key",
                f"the first is on line {first}",
            )
        else:
            owner.items[key.text] = value
            owner.keys[key.text] = key

    def _alias(self, event: Any) -> Node:
        node = self.anchors.get(event.anchor)
        if node is None:
            self._at(event, "an alias of an anchor above", f"'*{event.anchor}'", "alias")
            raise _Stop
        self._grow(event, self.sizes[id(node)])
        return node

    def _grow(self, event: Any, count: int) -> None:
        self.nodes += count
        if self.nodes > YAML_NODES:
            self._at(event, f"at most {YAML_NODES:,} values".replace(",", " "), "more", "too-many")
            raise _Stop

    def _at(self, event: Any, expected: str, found: str, code: str, hint: str = "") -> None:
        mark = event.start_mark
        self.problems.append(
            Problem(self.file, mark.line + 1, mark.column + 1, "", expected, found, code, hint=hint)
        )

    def _syntax(self, error: yaml.YAMLError) -> None:
        words = (
            f"{getattr(error, 'context', None) or ''} {getattr(error, 'problem', None) or error}"
        )
        mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
        if "scanning a quoted scalar" in words or "could not find expected ':'" in words:
            mark = getattr(error, "context_mark", None) or mark
        line, column = (mark.line + 1, mark.column + 1) if mark is not None else (0, 0)
        lines = self.text.splitlines()
        # The reader points behind the end where something is left open: show the last line.
        while line > len(lines) or (0 < line <= len(lines) and not lines[line - 1].strip()):
            line, column = line - 1, 1
        where = lines[line - 1] if 0 < line <= len(lines) else ""
        expected, instead, hint = _syntax_words(words, where, lines[: line - 1])
        self.problems.append(
            Problem(self.file, line, column, "", expected, instead, "yaml-syntax", hint=hint)
        )


def _syntax_words(words: str, where: str, above: list[str]) -> tuple[str, str, str]:
    """Say a syntax error in an educator's words: (expected, found, hint)."""
    text = f"'{where.strip()[:60]}'" if where.strip() else "the end of the file"
    if re.match(r"\s*\t", where) or "'\\t'" in words:
        return "spaces before the text", "a tab", "use two spaces for each level"
    if "mapping values are not allowed" in words:
        before = next((line for line in reversed(above) if line.strip()), "")
        if where.count(": ") < 2 and _indent(where) > _indent(before):
            return "a line that begins below its neighbours", text, "check the indentation"
        return "one 'key: value' on a line", text, "quote a text that holds ': '"
    if "expected ',' or" in words:
        # Read without libyaml, a text in brackets ends at a question mark.
        hint = "quote a text that holds '?'" if "?" in where else "a bracket or comma is missing"
        return "',' or the closing bracket", text, hint
    if "maximum nesting depth" in words:
        return f"at most {LEVELS} levels", "deeper nesting", ""
    if "while scanning a quoted scalar" in words:
        return "a closing quotation mark", text, ""
    if "could not find expected ':'" in words:
        return "'key: value'", text, "the colon is missing"
    if "did not find expected key" in words or "expected <block end>" in words:
        return "a line that begins below its neighbours", text, "check the indentation"
    if "'-' indicator" in words or "block sequence entries are not allowed" in words:
        return "a list below its key", text, "check the indentation"
    if "cannot start any token" in words:
        return "text that begins with a letter, digit or quote", text, "quote it"
    return "YAML", text, ""


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))
