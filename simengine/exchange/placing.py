"""Write files beside their place and put them there when all are whole.

Rules of this file:

- Until everything has been written what stood there stays; if the writing fails nothing of it
  is left behind.
"""

from __future__ import annotations

from pathlib import Path
from types import TracebackType
from typing import Self

from simengine.problems import InputError, Problem


class Placing:
    """Files for ``folder``: ``place`` gives where to write each; they take their place at the end.

    Raises ``InputError`` where the folder can't be made.
    """

    def __init__(self, folder: Path) -> None:
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            reason = error.strerror or str(error)
            raise InputError(
                [Problem(str(folder), 0, 0, "", "a folder to write to", reason, "folder")]
            ) from None
        self._folder = folder
        self._names: list[str] = []

    @property
    def files(self) -> list[Path]:
        """The files in their place."""
        return [self._folder / name for name in self._names]

    def place(self, name: str) -> Path:
        """Return where to write the file that will be ``name``."""
        self._names.append(name)
        return self._beside(name)

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
        for name in self._names:
            if kind is None:
                self._beside(name).replace(self._folder / name)
            else:
                self._beside(name).unlink(missing_ok=True)

    def _beside(self, name: str) -> Path:
        return self._folder / f".{name}.new"
