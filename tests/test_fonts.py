"""One typeface serves page, PDF and plots, so each must be able to read it and to align figures."""

from pathlib import Path
from typing import Literal

import pytest
from fontTools.ttLib import TTFont
from matplotlib import font_manager

from simengine.font_metrics import can_draw, width
from simengine.resources import fonts_dir

FULL = sorted(fonts_dir().glob("*.otf"))
PAGE = sorted(fonts_dir().glob("*.woff2"))
DIGITS = "0123456789"
# what the reports write beside letters: arrows, comparisons, units, marks of a verdict
SYMBOLS = "→←↑↓↗↘±≥≤≈≠−₂²½·•–—…×÷°µμ%‰′″‘’“”✓✗●○◆◇▲△▼▽■□⚠\u00a0\u2009\u2011"
NAMES = "ÀÉÎÕÜßÆØÅåłŁçŞğžŽőńëïÿñ ΑΒΓαβγΔΩ"
OTHER_SCRIPTS = "Жшщій"


def test_three_styles_are_shipped_for_print_and_for_the_page_with_their_licence() -> None:
    styles = ["SimengineSans-Bold", "SimengineSans-Italic", "SimengineSans-Regular"]
    assert [font.stem for font in FULL] == styles
    assert [font.stem for font in PAGE] == styles
    assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts_dir() / "OFL.txt").read_text()


def test_all_the_fonts_together_stay_small() -> None:
    assert sum(font.stat().st_size for font in [*FULL, *PAGE]) < 1_500_000  # bytes


@pytest.mark.parametrize("path", [*FULL, *PAGE], ids=lambda path: path.name)
def test_every_digit_has_one_width(path: Path) -> None:
    font = TTFont(path)
    drawn = font.getBestCmap()
    assert len({font["hmtx"][drawn[ord(digit)]][0] for digit in DIGITS}) == 1


@pytest.mark.parametrize("path", FULL, ids=lambda path: path.name)
def test_print_and_plots_can_draw_names_and_symbols(path: Path) -> None:
    drawn = TTFont(path).getBestCmap()
    wanted = SYMBOLS + NAMES + OTHER_SCRIPTS
    assert [char for char in wanted if ord(char) not in drawn] == []


@pytest.mark.parametrize("path", PAGE, ids=lambda path: path.name)
def test_the_page_can_draw_names_and_symbols(path: Path) -> None:
    drawn = TTFont(path).getBestCmap()
    assert [char for char in SYMBOLS + NAMES if ord(char) not in drawn] == []


@pytest.mark.parametrize(
    ("weight", "style", "name"),
    [
        ("normal", "normal", "SimengineSans-Regular.otf"),
        ("bold", "normal", "SimengineSans-Bold.otf"),
        ("normal", "italic", "SimengineSans-Italic.otf"),
    ],
)
def test_plots_find_each_style_by_its_plain_name(
    weight: str, style: Literal["normal", "italic"], name: str
) -> None:
    manager = font_manager.FontManager()
    for path in FULL:
        manager.addfont(path)
    wanted = font_manager.FontProperties(family="Simengine Sans", weight=weight, style=style)
    file = manager.findfont(wanted, fallback_to_default=False)
    assert Path(file).name == name


def test_the_table_of_widths_holds_what_every_full_font_draws_and_how_wide() -> None:
    fonts = [TTFont(file) for file in FULL]
    drawn = set.intersection(*(set(font.getBestCmap()) for font in fonts))
    assert {code for code in range(0x110000) if can_draw(chr(code))} == drawn
    for font, bold in ((fonts[0], True), (fonts[2], False)):
        characters, units = font.getBestCmap(), font["head"].unitsPerEm
        for code in drawn:
            advance = font["hmtx"][characters[code]][0] / units
            # the hundredth that is added for kerning
            assert width(chr(code), 100.0, bold=bold) == pytest.approx(101.0 * advance)
