import shutil
from pathlib import Path

import pytest

from simengine.resources import scenarios_dir


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A whole log in a folder of its own."""
    shipped = scenarios_dir() / "sessions" / "term-not-breathing-steady.session.jsonl"
    return Path(shutil.copy(shipped, tmp_path / "a.session.jsonl"))


@pytest.fixture
def scenario(tmp_path: Path) -> Path:
    """A scenario file of one's own, in another folder than the log."""
    folder = tmp_path / "own"
    folder.mkdir()
    return Path(shutil.copy(scenarios_dir() / "term-not-breathing.yaml", folder))
