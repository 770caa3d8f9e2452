"""By night a page has other colours and is the same in all else.

What is found of a page by day holds by night too, then, unless it is about colours: the checks in
the browser (`tests/desk/browser/page_faults.py`) rest on that.
"""

from __future__ import annotations

import re
from pathlib import Path

import simengine

PACKAGE = Path(simengine.__file__).parent
THEME = re.compile(r"data-theme|prefers-color-scheme")
COLOUR = re.compile(r"#[0-9a-f]{6}|rgb\([\d /%]+\)")


def test_what_the_night_sets_are_colours_alone() -> None:
    rules = [
        (sheet.name, *rule.groups())
        for sheet in PACKAGE.glob("*/static/*.css")
        for rule in re.finditer(r"([^{}]+)\{([^{}]*)", sheet.read_text(encoding="utf-8"))
        if THEME.search(rule[1])
    ]
    ((sheet, _, night),) = rules
    assert sheet == "base.css"
    for declaration in filter(None, map(str.strip, night.split(";"))):
        name, _, value = declaration.partition(": ")
        if (name, value) != ("color-scheme", "dark"):
            assert name.startswith("--")
            assert COLOUR.fullmatch(value), declaration


def test_no_script_asks_for_the_theme_but_what_turns_it_and_the_menu_that_tells_which_it_is() -> (
    None
):
    asking = {
        script.name
        for script in PACKAGE.glob("*/static/*.js")
        if re.search(r"dataset\.theme|data-theme|prefers-color", script.read_text(encoding="utf-8"))
    }
    assert asking == {"theme.js", "menu.js"}
