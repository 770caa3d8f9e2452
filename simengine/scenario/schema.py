"""Holding a file's tree against its JSON Schema, before it is read.

Rules of this file:

- The form of a file (which keys there are, what is a map or a list) is the schema's business; what
  names and units mean is the reader's. Each fault is told by one of them.
- What the schema says of a single value waits: if the reader has something to say at the same
  place, that is nearer to the point ("write '30 s'"), and the schema keeps silent.
"""

from __future__ import annotations

from simengine.problems import Problem
from simengine.scenario.place import Book, Place, found_words, path_words
from simengine.scenario.positions import Mapping, Node, Scalar, Sequence, is_nothing, typed
from simengine.schemas import SchemaName, complaints


def check_schema(name: SchemaName, root: Place) -> tuple[Problem, ...]:
    """Note what is wrong with the form of a file; return what waits for ``settle``."""
    waiting: list[Problem] = []
    complained = list(complaints(name, typed(root.node)))
    meant = {
        (complaint.path, complaint.hint)
        for complaint in complained
        if complaint.code == "unknown-key"
    }
    for complaint in complained:
        node = _node_at(root.node, complaint.path)
        path = complaint.path
        place = node
        if complaint.key is not None and isinstance(node, Mapping):
            place = node.keys[complaint.key]
            if complaint.code == "name-form":
                path = (*path, complaint.key)
        root.book.unsound((*root.path, *path))
        missing = complaint.expected.removeprefix("the key ")
        if (complaint.path, f"did you mean {missing}?") in meant:
            root.book.told.add(id(node))
            continue
        problem = Problem(
            root.book.file,
            place.line,
            place.column,
            path_words(path),
            complaint.expected,
            complaint.found or found_words(node),
            complaint.code,
            hint=complaint.hint,
        )
        if isinstance(node, Scalar) and not is_nothing(node):
            waiting.append(problem)
            continue
        if complaint.key is None:
            root.book.told.add(id(node))
        root.book.problems.append(problem)
    return tuple(waiting)


def settle(book: Book) -> None:
    """Note what the schema said of values about which the reader said nothing."""
    places = {(problem.line, problem.column) for problem in book.problems}
    for problem in book.waiting:
        if (problem.line, problem.column) not in places:
            places.add((problem.line, problem.column))
            book.problems.append(problem)


def _node_at(node: Node, path: tuple[str | int, ...]) -> Node:
    for step in path:
        match node, step:
            case Mapping(), str():
                node = node.items[step]
            case Sequence(), int():
                node = node.items[step]
    return node
