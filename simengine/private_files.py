"""Files that hold people's records or secrets: for their owner alone, whole or not there.

Rules of this file:

- Everything that the program writes about people goes through here: stores, logs, debriefs,
  reports, exports, bundles, backups, keys. Such a file is readable and writable by its owner alone
  (0600) from its first byte on, and a folder made for it is its owner's alone (0700). A folder that
  was there keeps the rights that somebody gave it.
- A file is written beside its place, brought onto the disk, and then takes the place at once: who
  reads it finds the old one or the new one, whenever the power goes. If the writing fails what
  stood there stays, and nothing of the new one is left behind.
- Where a system has no such rights (Windows) the folder of the person's data is what protects them.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

FILE_MODE = 0o600
FOLDER_MODE = 0o700


def write_private(file: Path, content: bytes | str) -> None:
    """Write a private file whole; text is written as UTF-8. Raises ``OSError``."""
    with placed(file) as beside:
        beside.write_bytes(content.encode() if isinstance(content, str) else content)


@contextmanager
def placed(file: Path) -> Iterator[Path]:
    """Give an empty private file to write to; what it then holds takes the place of ``file``.

    Raises ``OSError``.
    """
    beside = new_beside(file)
    try:
        yield beside
        take_place(beside, file)
    finally:
        beside.unlink(missing_ok=True)


def new_beside(file: Path) -> Path:
    """Make an empty private file beside ``file``, in place of one that a crash left there."""
    beside = file.with_name(f".{file.name}.new")
    beside.unlink(missing_ok=True)
    os.close(os.open(beside, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE_MODE))
    return beside


def take_place(beside: Path, file: Path) -> None:
    """Have a file that is whole take the place of ``file``, for good."""
    with beside.open("rb+") as written:
        os.fsync(written.fileno())
    beside.replace(file)
    sync_folder(file.parent)


def private_folder(folder: Path) -> None:
    """Make a folder, and those above it that are missing, for its owner alone.

    Raises ``OSError``.
    """
    for above in reversed([part for part in folder.parents if not part.exists()]):
        above.mkdir(mode=FOLDER_MODE, exist_ok=True)
    folder.mkdir(mode=FOLDER_MODE, exist_ok=True)


def private_file(file: Path) -> None:
    """Make an empty private file where there is none; take from others the rights to one that is.

    Raises ``OSError``.
    """
    os.close(os.open(file, os.O_CREAT | os.O_WRONLY, FILE_MODE))
    make_private(file)


def make_private(file: Path) -> None:
    """Take from others the rights to a file or folder, if it is there and this person's."""
    try:
        known = file.lstat()
    except FileNotFoundError:
        return
    owner = getattr(os, "geteuid", lambda: known.st_uid)()
    shared = file.is_symlink() or known.st_mode & 0o1000  # a folder such as /tmp is everybody's
    if known.st_uid == owner and not shared and known.st_mode & 0o077:
        file.chmod(FOLDER_MODE if file.is_dir() else FILE_MODE)


def opened_private(name: str, flags: int) -> int:
    """Open a file that is private if it is new: the ``opener`` of ``open``."""
    return os.open(name, flags, FILE_MODE)


def sync_folder(folder: Path) -> None:
    """Make a new name in a folder last, where the system can do that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
