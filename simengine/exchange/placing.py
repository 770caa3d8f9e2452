"""Write private files beside their place and put them there when all are whole.

Rules of this file:

- Until everything has been written what stood there stays; if the writing fails nothing of it
  is left behind.
"""

from __future__ import annotations

from pathlib import Path
from types import TracebackType
from typing import Self

from simengine.private_files import new_beside, private_folder, take_place
from simengine.problems import InputError, Problem


class Placing:
    """Files for ``folder``: ``place`` gives where to write each; they take their place at the end.

    Raises ``InputError`` where the folder can't be made.
    """

    def __init__(self, folder: Path) -> None:
        try:
            private_folder(folder)
        except OSError as error:
            reason = error.strerror or str(error)
            raise InputError(
                [Problem(str(folder), 0, 0, "", "a folder to write to", reason, "folder")]
            ) from None
        self._folder = folder
        self._written: dict[Path, Path] = {}

    @property
    def files(self) -> list[Path]:
        """The files in their place."""
        return list(self._written)

    def place(self, name: str) -> Path:
        """Return where to write the file that will be ``name``."""
        file = self._folder / name
        self._written[file] = new_beside(file)
        return self._written[file]

    def __enter__(self) -> Self:
        """Return itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Put the files in their place, or take them away if the writing failed."""
        for file, beside in self._written.items():
            if kind is None:
                take_place(beside, file)
            else:
                beside.unlink(missing_ok=True)
