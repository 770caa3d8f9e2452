"""What docs/security.md and docs/privacy.md promise is shown by tests that there are."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "docs" / name for name in ("security.md", "privacy.md", "server.md")]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_test_that_is_named_is_there(page: Path) -> None:
    named = re.findall(r"tests/[\w/]+\.py(?:::\w+)?", page.read_text(encoding="utf-8"))
    assert named
    for name in named:
        file, _, test = name.partition("::")
        assert (ROOT / file).is_file(), name
        if test:
            assert f"def {test}(" in (ROOT / file).read_text(encoding="utf-8"), name


def test_every_promise_of_the_first_table_names_a_test() -> None:
    text = PAGES[0].read_text(encoding="utf-8")
    table = text.partition("## Promises")[2].partition("\n## ")[0]
    rows = [line for line in table.splitlines() if line.startswith("| ")][1:]
    assert len(rows) >= 12
    assert [row for row in rows if "tests/" not in row] == []
