"""What can be printed: cleaning, cutting, wrapping and measuring of text."""

from __future__ import annotations

from functools import cache

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from simengine.font_metrics import fitted, width, wrapped
from simengine.report.printable import NOT_IN_FONT, clean
from simengine.resources import fonts_dir


@cache
def drawn_by(style: str) -> frozenset[int]:
    with TTFont(fonts_dir() / f"SimengineSans-{style}.otf") as file:
        return frozenset(file.getBestCmap())


@given(st.text())
def test_cleaned_text_can_be_drawn_in_both_styles(text: str) -> None:
    # the fonts' own tables, read by another library than the one that cleans
    for style in ("Regular", "Bold"):
        assert all(ord(char) in drawn_by(style) or char == "\u200b" for char in clean(text))


@given(st.text())
def test_cleaning_twice_is_cleaning_once_but_for_break_places(text: str) -> None:
    once = clean(text)
    assert clean(once).replace("\u200b", "") == once.replace("\u200b", "")


def test_signs_of_the_trade_stay_and_what_nobody_can_print_is_a_square() -> None:
    assert clean("SpO₂ ≥ 85 %, 30 ± 2 cmH₂O → · – …") == "SpO₂ ≥ 85 %, 30 ± 2 cmH₂O → · – …"
    assert clean("e\u0301") == "é"
    assert clean("a\u202eb\u2066c\x00d\ne") == "abcd e"
    assert clean("\U0001f600") == NOT_IN_FONT


@given(st.text(alphabet="abc WÅ", min_size=1, max_size=80), st.floats(20, 300))
def test_cut_and_wrapped_lines_fit(text: str, room: float) -> None:
    assert width(fitted(text, room, 8.0), 8.0) <= room
    assert all(width(line, 8.0) <= room for line in wrapped(text, room, 8.0))


@pytest.mark.parametrize("digit", "0123456789")
def test_figures_have_one_width(digit: str) -> None:
    assert width(digit * 10, 8.0) == pytest.approx(width("0" * 10, 8.0), abs=0.01)
