"""How wide text is: the advance widths of the shipped typeface, and wrapping by them.

Rules of this file:

- Widths are in thousandths of the size, measured from the shipped font files (a test compares);
  reading a font as each diagram is drawn would cost more than the drawing.
- A letter that is not in the table counts as a wide one, so that text never runs out of its box.
"""

from __future__ import annotations

from typing import Literal

Style = Literal["regular", "bold"]

WIDE = 1000

_REGULAR = {
    185: "’",
    199: "‘",
    220: "′",
    222: "'",
    237: "ijlìíîïīĭįıĵĺļł",
    264: "IÌÍÎÏĪĬĮİ",
    266: "¦",
    267: "¸ſ",
    276: ".:··",
    278: "!¡ĩ",
    280: ",;",
    281: " \xa0",
    305: "ľ",
    313: "¹",
    315: "ŀ",
    327: "|",
    357: "/\\",
    358: "›",
    361: "f",
    362: "()[]{}",
    364: "tţťŧ",
    372: "rŕŗř",
    381: "“”",
    403: '"',
    405: "″",
    420: "²₂",
    430: "³",
    443: "Ĩ",
    449: "ª¯º",
    452: "_",
    455: "°",
    460: "-\xad",
    469: "^",
    474: "ĳ",
    497: "`´",
    500: "*–",
    507: "?¿",
    523: "sśŝşš",
    540: "x«¬»",
    541: "zźżž",
    543: "JĴ",
    544: "kķ",
    548: "¥",
    551: "§",
    557: "vyýÿŷ",
    558: "c¢çćĉċč",
    562: "LĹĻĽĿŁ•",
    564: "aàáâãäåāăą",
    580: "ð",
    581: "uùúûüũūŭůűų",
    582: "eèéêëēĕėęě",
    585: "nñńņňŋ",
    587: "F",
    591: "h¨ĥħ",
    597: "oòóôõöøōŏő",
    598: "EÈÉÊËĒĔĖĘĚ",
    599: "¶",
    609: "gpqßþĝğġģ",
    621: "bdđ",
    622: "µ",
    625: "ZŹŻŽ",
    631: "#£Þĸ",
    635: "P",
    638: "$SŚŜŞŠ",
    639: "&RŔŖŘ",
    642: "TXŢŤŦ",
    648: "0123456789",
    651: "B",
    652: "KĶ",
    659: "+<=>~±×÷−≥≤±×",
    665: "YÝŶŸ",
    670: "®",
    676: "AVÀÁÂÃÄÅĀĂĄ",
    677: "ď",
    719: "DÐĎĐ",
    723: "¤",
    727: "CÇĆĈĊČ",
    740: "HĤ",
    741: "UÙÚÛÜŨŪŬŮŰŲ",
    743: "GĜĞĠĢ",
    753: "NÑŃŅŇŊ",
    761: "OQÒÓÔÕÖØŌŎŐ",
    777: "Ħ",
    807: "Ĳ",
    812: "%wŵ",
    821: "…",
    869: "m",
    884: "¼",
    889: "M",
    915: "©",
    925: "æ",
    926: "½",
    936: "@",
    949: "W¾Ŵ",
    953: "Œ",
    955: "→←↑↓↗↘",
    990: "Æœ",
    1000: "—",
}
_BOLD = {
    213: "'",
    214: "’",
    228: "‘",
    248: " \xa0",
    259: "′",
    261: "ijlìíîïīĭıĵĺļł",
    266: "į",
    275: "IÌÍÎÏĪĬĮİ",
    282: "ſ",
    285: "ĩ",
    290: ".:··",
    295: ",;",
    309: "!¡",
    318: "¹",
    319: "¦",
    339: "¸",
    352: "ľ",
    358: "|",
    377: "f",
    379: "/\\",
    380: "tŀţŧ",
    381: "›",
    393: "()[]{}",
    396: '"',
    397: "rŕŗř",
    404: "ť",
    407: "”",
    408: "“",
    423: "²₂",
    438: "³",
    448: "Ĩ",
    458: "°",
    461: "″",
    466: "-\xad",
    468: "_",
    473: "º",
    474: "ª",
    481: "^",
    496: "•",
    497: "`´",
    500: "–",
    521: "ĳ",
    526: "¯",
    543: "*",
    544: "?¿",
    549: "sśŝşš",
    553: "¨",
    561: "JĴ",
    562: "xzźżž",
    564: "¥",
    566: "L¬ĹĻĽ",
    569: "kķ",
    574: "Ŀ",
    575: "aàáâãäåāăą",
    576: "vyýÿŷ",
    577: "c¢çćĉċč",
    578: "Ł",
    579: "§",
    586: "F",
    593: "eèéêëðēĕėęě",
    597: "«",
    599: "»",
    606: "¶",
    608: "EouÈÉÊËòóôõöøùúûüĒĔĖĘĚōŏőũūŭůűų",
    610: "nñńņň",
    612: "þ",
    613: "hĥħ",
    616: "ŋ",
    625: "gpqĝğġģ",
    630: "bdđ",
    643: "#P",
    646: "ß",
    649: "$SŚŜŞŠ",
    651: "RŔŖŘ",
    652: "µ",
    653: "ZŹŻŽ",
    657: "BÞĸ",
    658: "£",
    660: "TŢŤŦ",
    663: "&",
    666: "®",
    670: "0123456789",
    673: "+<=>~±×÷−≥≤±×",
    677: "KĶ",
    690: "X",
    705: "YÝŶŸ",
    716: "ď",
    724: "ADVÀÁÂÃÄÅÐĀĂĄĎĐ",
    734: "UÙÚÛÜŨŪŬŮŰŲ",
    741: "NÑŃŅŇŊ",
    744: "CHÇĆĈĊČĤ",
    751: "¤",
    755: "GĜĞĠĢ",
    775: "OÒÓÔÕÖØŌŎŐ",
    776: "Q",
    799: "Ħ",
    806: "…",
    836: "Ĳ",
    837: "wŵ",
    844: "%",
    881: "¼",
    898: "m",
    906: "M",
    915: "©",
    917: "æ",
    919: "½",
    955: "→←↑↓↗↘",
    960: "¾",
    981: "œ",
    996: "Œ",
    999: "@",
    1000: "—",
    1007: "WŴ",
    1017: "Æ",
}

_WIDTHS: dict[Style, dict[str, int]] = {
    "regular": {letter: width for width, letters in _REGULAR.items() for letter in letters},
    "bold": {letter: width for width, letters in _BOLD.items() for letter in letters},
}


def text_width(text: str, size: float, style: Style = "regular") -> float:
    """Return the width of a line of text, in the unit of ``size``."""
    widths = _WIDTHS[style]
    return sum(widths.get(letter, WIDE) for letter in text) * size / 1000


def wrapped(text: str, width: float, size: float, style: Style = "regular") -> list[str]:
    """Break text at spaces into lines no wider than ``width``; a word wider than that is cut.

    A no-break space keeps its words together.
    """
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        for part in _cut(word, width, size, style):
            longer = f"{line} {part}" if line else part
            if line and text_width(longer, size, style) > width:
                lines.append(line)
                line = part
            else:
                line = longer
    return [*lines, line] if line else lines


def _cut(word: str, width: float, size: float, style: Style) -> list[str]:
    parts = [""]
    for letter in word:
        if parts[-1] and text_width(parts[-1] + letter, size, style) > width:
            parts.append("")
        parts[-1] += letter
    return parts
