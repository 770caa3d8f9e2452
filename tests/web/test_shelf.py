"""The first page stands whatever lies in the folders, and loads nothing within a request."""

from __future__ import annotations

import os
import shutil
from html import unescape
from pathlib import Path

import pytest

from simengine.resources import scenarios_dir
from simengine.web import check_files, shelf
from simengine.web.shelf import Shelf
from tests.console.consoles import Desk
from tests.shipped import SCENARIOS

TERM = "term-not-breathing"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of scenarios of one's own, empty as yet."""
    made = tmp_path / "scenarios"
    made.mkdir()
    return made


def own(folder: Path, name: str, *change: str) -> Path:
    """A copy of a shipped scenario under another name and title."""
    text = (scenarios_dir() / f"{TERM}.yaml").read_text(encoding="utf-8")
    text = text.replace(f"id: {TERM}", f"id: {name}", 1)
    text = text.replace("title: Term newborn who is not breathing", f"title: Own {name}", 1)
    if change:
        assert change[0] in text
        text = text.replace(change[0], change[1], 1)
    file = folder / f"{name}.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def test_whatever_lies_in_the_folder_the_page_offers_the_rest_and_says_what_is_wrong(
    tmp_path: Path, folder: Path
) -> None:
    own(folder, "good")
    own(folder, "hole", "\nkey:\n", "\nkey:\n  - expect:\n")
    own(folder, "listed", "\nkey:\n", "\nkey:\n  - {expect: [dry], from: birth, ideal: 30 s}\n")
    (folder / "bytes.yaml").write_bytes(os.urandom(5000))
    (folder / "deep.yaml").write_text("states: " + "[" * 5000)
    (folder / "empty.yaml").touch()
    (folder / "folder.yaml").mkdir()
    (folder / "nowhere.yaml").symlink_to(tmp_path / "nothing")
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe.yaml")
    (folder / "protocols").mkdir()
    (folder / "protocols" / "none.yaml").write_text("values: {a: {rows: []}}\n")
    desk = Desk(tmp_path / "data", (folder,))
    with desk.client:
        desk.sign_in()
        page = unescape(desk.first_page())
        assert 'value="good"' in page
        for name in SCENARIOS:
            assert f'value="{name}"' in page
        for name in ("hole", "listed", "bytes", "deep", "empty", "protocols/none"):
            assert f"{folder / name}.yaml" in page, name
            assert f'value="{name}"' not in page
        assert "went wrong inside" not in page
        assert desk.client.get("/cohort/drills").status_code in (200, 403)


def test_no_file_is_loaded_within_a_request(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def load(*_: object, **__: object) -> None:
        raise AssertionError("loaded within a request")

    monkeypatch.setattr(shelf, "load_scenario", load)
    desk = Desk(tmp_path / "data")
    with desk.client:
        assert f'value="{TERM}"' in desk.sign_in().first_page()


def test_a_console_started_again_has_all_at_once(tmp_path: Path, folder: Path) -> None:
    own(folder, "good")
    own(folder, "hole", "\nkey:\n", "\nkey:\n  - expect:\n")
    index = tmp_path / "data" / "scenarios.index"
    desk = Desk(tmp_path / "data", (folder,))
    with desk.client:
        desk.sign_in().first_page()
    again = Shelf((folder,), index).look()
    assert again.checking == 0
    assert {scenario.id for scenario in again.scenarios} == {"good", *SCENARIOS}
    assert any("hole.yaml" in problem for problem in again.broken)


@pytest.mark.parametrize("damage", [b"", b"{", b"[]", b'{"a": {}}', b'{"a": 3}', b"\xff"])
def test_an_index_that_is_damaged_is_made_anew(tmp_path: Path, damage: bytes) -> None:
    index = tmp_path / "scenarios.index"
    index.write_bytes(damage)
    on_shelf = Shelf((), index).look()
    assert on_shelf.scenarios == ()
    assert on_shelf.checking > len(SCENARIOS)


def test_a_file_that_changes_is_checked_again_and_so_are_all_under_a_changed_protocol(
    tmp_path: Path, folder: Path
) -> None:
    file = own(folder, "good")
    shutil.copytree(scenarios_dir() / "protocols", folder / "protocols")
    desk = Desk(tmp_path / "data", (folder,))
    with desk.client:
        desk.sign_in()
        assert "Own good" in desk.first_page()
        file.write_text(file.read_text(encoding="utf-8").replace("Own good", "Own better", 1))
        assert desk.hub.shelf.look().checking == 1
        page = desk.first_page()
        assert "Own better" in page
        assert "Own good" not in page
        protocol = folder / "protocols" / "ercnls-2021.yaml"
        protocol.write_bytes(protocol.read_bytes() + b"valuess: 1\n")
        page = desk.first_page()
        assert 'value="good"' not in page
        assert "ercnls-2021.yaml" in page


def test_a_file_that_brings_the_reader_down_keeps_no_other_from_being_chosen(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise KeyError("dry")

    monkeypatch.setattr(check_files, "load_scenario", fail)
    row = check_files.row("scenario", Path("a.yaml"), ())
    assert row["problems"] == ["a.yaml: something went wrong inside the program as it was read"]
    assert "KeyError" in row["trace"]


def test_copies_that_share_a_title_are_told_apart(tmp_path: Path, folder: Path) -> None:
    own(folder, "copy", "title: Own copy", "title: Term newborn who is not breathing")
    own(folder, "other")
    desk = Desk(tmp_path / "data", (folder,))
    with desk.client:
        desk.sign_in()
        page = unescape(desk.first_page())
        assert "Term newborn who is not breathing (copy)" in page
        assert f"Term newborn who is not breathing ({TERM})" in page
        assert "Own other (other)" not in page
