"""What a test needs from the machine beside Python packages.

A missing tool skips the test on a person's own machine and fails it in CI (`CI=true`), where a
skipped test would pass for a run one.
"""

import os
import shutil
from pathlib import Path
from typing import NoReturn

import pytest


def need(command: str, package: str) -> str:
    """Return the path of a command; `package` is the Debian package that brings it."""
    path = shutil.which(command)
    return path if path is not None else _missing(f"the command {command}", package)


def need_file(path: Path, package: str) -> Path:
    """Return the path of a file that the Debian package `package` brings."""
    return path if path.is_file() else _missing(f"the file {path}", package)


def _missing(what: str, package: str) -> NoReturn:
    reason = f"needs {what}, from Debian's package {package}"
    if os.environ.get("CI") == "true":
        pytest.fail(reason, pytrace=False)
    pytest.skip(reason)
