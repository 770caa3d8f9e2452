"""A file's name says what it holds: none is the name of three files.

Content is named by its id (`scenarios/vocabulary/newborn.yaml`) or, a play, by what it shows of
each scenario, so that its folder says what it is: those files are not counted.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import simengine

ROOT = Path(simengine.__file__).parents[1]
WRITTEN = {".py", ".yaml", ".js", ".css", ".j2", ".md"}
PRESCRIBED = {"__init__.py", "conftest.py"}
"""Names that Python and pytest prescribe."""


def names() -> Counter[str]:
    file_names = [
        file.name
        for folder in ("simengine", "docs", "benchmarks")
        for file in ROOT.joinpath(folder).rglob("*")
        if file.suffix in WRITTEN
    ]
    file_names += [file.name for file in ROOT.joinpath("tests").rglob("*.py")]
    return Counter(name for name in file_names if name not in PRESCRIBED)


def test_no_name_is_that_of_three_files() -> None:
    basenames = names()
    assert basenames["test_file_names.py"] == 1
    assert {name: times for name, times in basenames.items() if times > 2} == {}
