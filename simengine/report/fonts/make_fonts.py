"""Make the shipped typeface from the Inter family; run only when its source changes.

Rules:
- Source: static OpenType files of Inter (SIL Open Font License 1.1, beside this file as OFL.txt),
  as in Debian's package fonts-inter.
- Figures are tabular in the character map itself, so that every digit has one width in page, PDF
  and plots alike without any of them having to ask for a font feature.
- No contextual alternates: what is written is what is shown ("->" stays "->", "3x4" stays "3x4").
- Every character of the source stays; alternate drawings of the same character go.
- The family has a name of its own, as the licence asks of a changed font whose name is a trade
  mark, and so that a copy of the source installed on a machine is never taken for it.
- Page files (woff2) hold fewer characters: Latin, Greek, punctuation, arrows, figures, shapes.

Usage, with the packages of the test extra: python make_fonts.py /usr/share/fonts/opentype/inter
"""

import sys
from pathlib import Path

from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

FAMILY = "Simengine Sans"
# the heavier style is drawn from the half-bold source, calmer on a page, and called bold, so that
# "bold" finds it exactly in all three places
STYLES = {"Regular": "Regular", "Italic": "Italic", "Bold": "SemiBold"}
KEPT_FEATURES = ["ccmp", "locl", "kern", "mark", "mkmk", "cpsp"]
BOLD_BIT, REGULAR_BIT, MAC_BOLD_BIT = 1 << 5, 1 << 6, 1 << 0
DIGITS = [ord(digit) for digit in "0123456789"]
PAGE_CHARACTERS = [
    *range(0x0020, 0x0250),  # Latin with its extensions
    *range(0x0300, 0x0370),  # combining marks
    *range(0x0370, 0x0400),  # Greek
    *range(0x2000, 0x2070),  # punctuation
    *range(0x2070, 0x20D0),  # raised and lowered figures, currency
    *range(0x2100, 0x2200),  # letter-like signs, fractions, arrows
    *range(0x2200, 0x2300),  # mathematics
    *range(0x25A0, 0x2600),  # geometric shapes
    *range(0x2600, 0x2800),  # signs and ticks
]


def make_tabular(font: TTFont) -> None:
    """Point each digit's character at its one-width drawing, all widths truly the same."""
    one_width = single_substitutions(font, "tnum")
    for table in font["cmap"].tables:
        for code in DIGITS:
            if code in table.cmap:
                # tables may share one map, so a digit can come by twice
                table.cmap[code] = one_width.get(table.cmap[code], table.cmap[code])
    drawn = font.getBestCmap()
    digits = [drawn[code] for code in DIGITS]
    width = max(font["hmtx"][digit][0] for digit in digits)
    for digit in digits:
        # interpolated weights are a few units of 2816 off; more than that would show
        if width - font["hmtx"][digit][0] > 8:
            raise SystemExit(f"{digit} is not a one-width digit: {font['hmtx'][digit][0]}/{width}")
        set_width(font, digit, width)


def set_width(font: TTFont, glyph: str, width: int) -> None:
    """Set an advance in both places that hold it, the metrics table and the CFF outline."""
    outlines = font["CFF "].cff.topDictIndex[0].CharStrings
    before = outlines[glyph]
    # an outline holds its width as the difference from the font's nominal width
    pen = T2CharStringPen(width - before.private.nominalWidthX, None)
    before.draw(pen)
    outlines[glyph] = pen.getCharString(before.private, before.globalSubrs)
    font["hmtx"][glyph] = (width, font["hmtx"][glyph][1])


def single_substitutions(font: TTFont, feature: str) -> dict[str, str]:
    """Return {glyph: its replacement} of one feature that replaces glyph by glyph."""
    table = font["GSUB"].table
    lookups = {
        index
        for record in table.FeatureList.FeatureRecord
        if record.FeatureTag == feature
        for index in record.Feature.LookupListIndex
    }
    substitutes: dict[str, str] = {}
    for index in sorted(lookups):
        for part in table.LookupList.Lookup[index].SubTable:
            substitutes.update(getattr(part, "ExtSubTable", part).mapping)
    return substitutes


def keep_only(font: TTFont, characters: list[int]) -> None:
    """Drop what is not needed to draw the characters."""
    options = Options()
    options.layout_features = KEPT_FEATURES
    options.name_IDs = ["*"]
    options.notdef_outline = True
    options.hinting = False
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=characters)
    subsetter.subset(font)


def rename(font: TTFont, style: str) -> None:
    """Give the changed font a name of its own; its copyright and licence stay."""
    names = font["name"]
    version = names.getDebugName(5)
    names.names = [record for record in names.names if record.nameID in (0, 13, 14)]
    post_script = f"{FAMILY.replace(' ', '')}-{style}"
    texts = {
        1: FAMILY,
        2: style,
        3: f"{post_script}; made from Inter, {version}",
        4: f"{FAMILY} {style}",
        5: version,
        6: post_script,
        10: "Made from Inter: tabular figures, no contextual alternates.",
    }
    for number, text in texts.items():
        names.setName(text, number, 3, 1, 0x409)
    # a CFF font carries its names a second time
    outlines = font["CFF "].cff
    outlines.fontNames = [post_script]
    outlines.topDictIndex[0].FamilyName = FAMILY
    outlines.topDictIndex[0].FullName = texts[4]
    if style == "Bold":
        font["OS/2"].usWeightClass = 700
        font["OS/2"].fsSelection = font["OS/2"].fsSelection & ~REGULAR_BIT | BOLD_BIT
        font["head"].macStyle |= MAC_BOLD_BIT
        outlines.topDictIndex[0].Weight = "Bold"


def make(source: Path, style: str, target: Path, characters: list[int] | None) -> None:
    """Write one style of the family; `characters` None keeps every character of the source."""
    font = TTFont(source, recalcTimestamp=False)
    make_tabular(font)
    keep_only(font, characters or list(font.getBestCmap()))
    rename(font, style)
    font.flavor = "woff2" if target.suffix == ".woff2" else None
    font.save(target)
    sys.stdout.write(f"{target.name}: {target.stat().st_size // 1024} KiB\n")


def list_widths(here: Path) -> None:
    """Write which characters all the full fonts of a folder draw, and how wide: ``20-21 792 800``.

    Code points in hexadecimal, then the advance in units of the font, regular and bold.
    """
    fonts = {file.stem.rpartition("-")[2]: TTFont(file) for file in here.glob("*.otf")}
    drawn = {style: font.getBestCmap() for style, font in fonts.items()}
    runs: list[tuple[int, int, tuple[int, ...]]] = []
    for code in sorted(set.intersection(*(set(chars) for chars in drawn.values()))):
        advances = tuple(fonts[s]["hmtx"][drawn[s][code]][0] for s in ("Regular", "Bold"))
        if runs and runs[-1][1:] == (code - 1, advances):
            runs[-1] = (runs[-1][0], code, advances)
        else:
            runs.append((code, code, advances))
    lines = [
        f"{first:X}{f'-{last:X}' if last > first else ''} {regular} {bold}"
        for first, last, (regular, bold) in runs
    ]
    (here / "widths.txt").write_text("\n".join(lines) + "\n", encoding="ascii")


def main() -> None:
    """Write every style as a full font and as a page font, beside this file, and their widths."""
    source, here = Path(sys.argv[1]), Path(__file__).parent
    for style, drawn_from in STYLES.items():
        stem = f"{FAMILY.replace(' ', '')}-{style}"
        original = source / f"Inter-{drawn_from}.otf"
        make(original, style, here / f"{stem}.otf", None)
        make(original, style, here / f"{stem}.woff2", PAGE_CHARACTERS)
    list_widths(here)


if __name__ == "__main__":
    main()
