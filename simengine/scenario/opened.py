"""Reading a YAML file and holding it against its schema, whatever kind of file it is."""

from __future__ import annotations

from pathlib import Path

from simengine.problems import InputError
from simengine.scenario.place import Book, Place
from simengine.scenario.positions import Document, read_yaml
from simengine.scenario.schema import check_schema, settle
from simengine.schemas import SchemaName


def opened(
    schema: SchemaName, path: Path, document: Document | None = None
) -> tuple[Place | None, Book]:
    """Read a file and hold it against its schema; what that leaves waiting goes to the book.

    ``document``: the file, if it has been read already. The place is ``None`` if the file can't
    be read any further.
    """
    document = document or read_yaml(path)
    book = Book(document.file, list(document.problems))
    if document.root is None:
        return None, book
    root = Place(book, document.root)
    book.waiting = check_schema(schema, root)
    if not root.is_map():
        settle(book)
    return (root if root.is_map() else None), book


def opened_or_error(schema: SchemaName, path: Path) -> Place:
    """Read a file and hold it against its schema. Raises ``InputError`` if it is no map."""
    root, book = opened(schema, path)
    if root is None:
        raise InputError(book.problems)
    return root


def finish(root: Place) -> None:
    """End reading a file that ``opened_or_error`` began. Raises ``InputError`` with every error."""
    settle(root.book)
    if root.book.has_errors():
        raise InputError(root.book.problems)
