"""Where debriefs are written, and what is said where they can't be."""

from __future__ import annotations

from pathlib import Path

import pytest

from simengine.debrief import write_debrief
from simengine.problems import InputError
from simengine.scoring import score
from simengine.scoring.kept_card import card_bytes, card_from
from tests.debrief import fixture


def test_what_is_to_take_home_and_the_whole_are_written_for_each_session(tmp_path: Path) -> None:
    [files] = write_debrief([fixture.session()], tmp_path / "new" / "folder")
    assert files.pdf.read_bytes().startswith(b"%PDF-")
    assert files.html.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert files.pdf.stem == files.html.stem == "debrief-term-not-breathing-3f0c9d52"
    assert files.whole.pdf.name == "debrief-term-not-breathing-3f0c9d52-whole.pdf"
    assert "Every item on the marking guide" in files.whole.html.read_text(encoding="utf-8")


def test_a_trainee_gets_one_pair_over_all_sessions(tmp_path: Path) -> None:
    held = [fixture.session(confirmed=True, day=day) for day in (9, 3)]
    [files] = write_debrief(held, tmp_path, trainee="m2kf")
    assert files.pdf.name == "debrief-term-not-breathing-3f0c9d52-for-m2kf.pdf"
    page = files.whole.html.read_text(encoding="utf-8")
    assert "Over several sessions" in page
    assert page.index("1. 3 March 2026") < page.index("2. 9 March 2026")


def test_a_code_that_is_not_in_the_team_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError) as refusal:
        write_debrief([fixture.session()], tmp_path, trainee="nobody")
    assert "expected one of the codes of its team (m2kf, q7xd, w9tb), found 'nobody'" in str(
        refusal.value
    ) or "found 'nobody'" in str(refusal.value)
    assert list(tmp_path.iterdir()) == []


def test_no_session_and_no_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="at least one session"):
        write_debrief([], tmp_path)
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    with pytest.raises(InputError, match="a folder that can be written to"):
        write_debrief([fixture.session()], blocked)


def test_a_debrief_drawn_from_the_card_that_was_kept_is_the_same(tmp_path: Path) -> None:
    session = fixture.session()
    card = card_from(card_bytes(score(session)))
    assert card is not None
    [scored] = write_debrief([session], tmp_path / "scored")
    [drawn] = write_debrief([session], tmp_path / "drawn", card=card)
    for first, other in ((scored, drawn), (scored.whole, drawn.whole)):
        assert first.html.read_bytes() == other.html.read_bytes()
        assert first.pdf.read_bytes() == other.pdf.read_bytes()
