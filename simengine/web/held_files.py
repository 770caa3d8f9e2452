"""Scripts, styles and fonts, answered from memory.

Rules of this file:

- A page asks for some forty files at once. Each is read when it is first asked for, and again once
  it has been changed.
- A browser keeps them, for nothing of a person is in them, and asks whether they have changed.
"""

from __future__ import annotations

import os
from functools import lru_cache
from pathlib import Path

from starlette.responses import FileResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

_MOST = 256


class HeldFiles(StaticFiles):
    """Static files that are read once; for small ones, each of which is sent as a whole."""

    def file_response(
        self,
        full_path: str | os.PathLike[str],
        stat_result: os.stat_result,
        scope: Scope,
        status_code: int = 200,
    ) -> Response:
        """Answer with a file, or with its being unchanged since the browser had it."""
        answer = super().file_response(full_path, stat_result, scope, status_code)
        answer.headers["cache-control"] = "no-cache"
        if not isinstance(answer, FileResponse):
            return answer
        headers = {name: value for name, value in answer.headers.items() if name != "accept-ranges"}
        body = _read(Path(full_path), stat_result.st_mtime_ns)
        return Response(body, status_code, headers | {"content-length": str(len(body))})


@lru_cache(maxsize=_MOST)
def _read(file: Path, changed_ns: int) -> bytes:
    del changed_ns
    return file.read_bytes()
