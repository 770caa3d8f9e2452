"""A browser keeps scripts, styles and fonts, and is told when one has been changed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.routing import Mount
from starlette.testclient import TestClient

from simengine.web.held_files import HeldFiles
from tests.console.consoles import Desk


@pytest.mark.parametrize("file", ["base.css", "console.js", "fonts/SimengineSans-Bold.woff2"])
def test_what_has_not_changed_is_not_sent_again(tmp_path: Path, file: str) -> None:
    browser = Desk(tmp_path).client
    first = browser.get(f"/static/{file}")
    again = browser.get(f"/static/{file}", headers={"if-none-match": first.headers["etag"]})
    assert (first.status_code, again.status_code) == (200, 304)
    assert len(first.content) > 1000
    assert again.content == b""
    # RFC 9111, 5.2.2.4 (the number from memory): kept, and asked for before each use
    assert {first.headers["cache-control"], again.headers["cache-control"]} == {"no-cache"}


def test_what_has_changed_is_read_again(tmp_path: Path) -> None:
    file = tmp_path / "base.css"
    file.write_text("p { color: red }")
    browser = TestClient(Starlette(routes=[Mount("/static", HeldFiles(directory=tmp_path))]))
    first = browser.get("/static/base.css")
    assert first.text == "p { color: red }"
    file.write_text("p { color: black }")
    os.utime(file, (1_900_000_000, 1_900_000_000))
    again = browser.get("/static/base.css", headers={"if-none-match": first.headers["etag"]})
    assert (again.status_code, again.text) == (200, "p { color: black }")
