"""Whether the data folder is its owner's alone, its key is whole, and there is room.

Rules of this file:

- Files are looked at and never opened, but the key and the console's own list of faults.
- Who may read what is known on systems with such rights alone (not on Windows).
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

from simengine.doctor.finding import Finding
from simengine.limits import read_at_most

KEY = "cookie.key"
FAULTS = "console.log"
LEAST_FREE = 100_000_000
"""Bytes: a day's sessions take about one megabyte, and SQLite needs room to write at all."""
_MOST_NAMED = 5
_MOST_READ = 50_000_000


def of_folder(folder: Path) -> Iterator[Finding]:
    """Look at a data folder, which need not be there."""
    if not folder.is_dir():
        if folder.exists():
            do = "choose another folder with --data"
            yield Finding("data folder", "wrong", f"{folder} is a file", do)
        else:
            words = f"{folder} is not there yet; the first console or import makes it"
            yield Finding("data folder", "good", words)
        return
    if not os.access(folder, os.W_OK | os.X_OK):
        do = "start the program as the person whose folder it is, or choose another with --data"
        yield Finding("data folder", "wrong", f"{folder} can't be written to", do)
    yield from _rights(folder)
    yield from _key(folder / KEY)
    yield from _room(folder)
    yield from _faults(folder / FAULTS)


def _rights(folder: Path) -> Iterator[Finding]:
    if not hasattr(os, "geteuid"):
        do = "keep it in a folder of your own account"
        yield Finding("rights", "look", "who may read the files can't be told here", do)
        return
    paths = [folder, *folder.rglob("*")]
    seen = [(path, path.lstat()) for path in paths if not path.is_symlink()]
    open_to_others = [path for path, known in seen if known.st_mode & 0o077]
    others_own = [path for path, known in seen if known.st_uid != os.geteuid()]
    if open_to_others:
        do = f"close it: chmod -R go= '{folder}'"
        words = f"others on this machine may open {_named(open_to_others)}"
        yield Finding("rights", "wrong", words, do)
    if others_own:
        do = "start the program as that person, or give the files to this one (chown)"
        words = f"another account owns {_named(others_own)}"
        yield Finding("rights", "wrong", words, do)
    if not (open_to_others or others_own):
        words = f"all of {folder} is this account's alone"
        yield Finding("rights", "good", words)


def _named(paths: list[Path]) -> str:
    first = ", ".join(str(path) for path in paths[:_MOST_NAMED])
    more = len(paths) - _MOST_NAMED
    return f"{first} and {more:,} more" if more > 0 else first


def _key(file: Path) -> Iterator[Finding]:
    if not file.exists():
        yield Finding("key", "good", "there is no key yet; the first console makes it")
        return
    try:
        content = read_at_most(file, 1000)
    except OSError as error:
        do = "start the program as the person whose folder it is"
        yield Finding("key", "wrong", f"{file} can't be read: {error.strerror}", do)
        return
    if content is not None and re.fullmatch(rb"[0-9a-f]{64}", content.strip()):
        yield Finding("key", "good", f"{file} is whole")
    else:
        do = "start the console: it makes a new one, and each browser has to be let in anew"
        yield Finding("key", "wrong", f"{file} is not whole", do)


def _room(folder: Path) -> Iterator[Finding]:
    free = shutil.disk_usage(folder).free
    kept = sum(path.lstat().st_size for path in folder.rglob("*") if path.is_file())
    space = f"{free / 1e9:,.1f} GB free; the folder has {kept / 1e6:,.0f} MB"
    do = "make room, or move the store: simengine store move"
    if free < LEAST_FREE:
        yield Finding("disk", "wrong", space, do)
    elif free < LEAST_FREE + 2 * kept:
        yield Finding(
            "disk", "look", f"{space}, and an upgrade or a backup needs as much again", do
        )
    else:
        yield Finding("disk", "good", space)


def _faults(file: Path) -> Iterator[Finding]:
    try:
        content = read_at_most(file, _MOST_READ)
    except FileNotFoundError:
        return
    except OSError as error:
        do = "see who owns it"
        yield Finding("faults", "look", f"{file} can't be read: {error.strerror}", do)
        return
    if content is None:
        yield Finding("faults", "look", f"{file} is over 50 MB", "look at its end, then remove it")
        return
    days = re.findall(rb"^([0-9]{4}-[0-9]{2}-[0-9]{2})[^\n]* ERROR ", content, re.MULTILINE)
    if days:
        words = f"the console noted {len(days):,} in {file}, the last on {days[-1].decode()}"
        do = "send that file to whoever looks after the program, then remove it"
        yield Finding("faults", "look", words, do)
