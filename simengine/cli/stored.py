"""Open the store that a command works on, and say in a sentence what is in the way.

Rules of this file:

- Only what brings something in makes a new store; any other command says that there is none, so
  that a mistyped folder is not taken for an empty one.
- A store that a console has open is read and written beside it.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simengine.store import Store


def add_store(parser: argparse.ArgumentParser) -> None:
    """Add the argument that says where the store is."""
    parser.add_argument(
        "--data",
        metavar="FOLDER_OR_ADDRESS",
        help="where sessions are kept: a folder, or a database's address such as "
        "postgresql://host/name (default: this person's own data folder)",
    )


def add_scenario_folders(parser: argparse.ArgumentParser) -> None:
    """Add the argument that says where scenarios are."""
    parser.add_argument(
        "--scenarios",
        metavar="FOLDER",
        type=Path,
        action="append",
        default=[],
        help="a folder with more scenarios (default: scenarios/ here, then the shipped ones)",
    )


def scenario_folders(args: argparse.Namespace) -> list[Path]:
    """Return the folders that scenarios are looked for in, before the shipped ones."""
    return [*args.scenarios, Path("scenarios")]


def there_is_a_store(args: argparse.Namespace) -> bool:
    """Whether ``--data`` names a place that may hold something; a database always may."""
    from simengine.store.place import FILE

    where = where_of(args)
    return isinstance(where, str) or (where / FILE).is_file()


@contextmanager
def open_store(
    args: argparse.Namespace, *, new: bool = False, alone: bool = False
) -> Iterator[Store]:
    """Open the store that ``--data`` names, as long as the context lasts.

    ``new``: make it if there is none. ``alone``: only while no console has it open. Ends the
    program with status 1 and a sentence where the store can't do what is asked.
    """
    from simengine.problems import InputError, Problem
    from simengine.store import Store
    from simengine.store.place import place_of

    with in_a_sentence(args):
        where = where_of(args)
        file = place_of(where).file
        if file is not None and not file.is_file() and not new:
            problem = Problem(
                str(where),
                0,
                0,
                "",
                "a folder in which sessions are kept",
                "none",
                "no-store",
                hint="name it with --data, or bring sessions in with simengine import",
            )
            raise InputError([problem])
        with Store.open(where, alone=alone) as store:
            yield store


@contextmanager
def in_a_sentence(args: argparse.Namespace) -> Iterator[None]:
    """End the program with status 1 and a sentence where a store can't do what is asked."""
    from simengine.store import StoreError

    try:
        yield
    except StoreError as error:
        print(f"simengine {args.verb}: {error}", file=sys.stderr)
        raise SystemExit(1) from None


def where_of(args: argparse.Namespace) -> Path | str:
    """Return the folder or the database's address that ``--data`` names."""
    from simengine.store.data_folder import data_folder

    if args.data and "://" in args.data:
        return str(args.data)
    return data_folder(Path(args.data) if args.data else None)
