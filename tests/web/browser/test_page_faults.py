"""The checks of a page in the browser find what they are there to find."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.desk.browser.page_faults import faults

_PAGE = """<!DOCTYPE html><html lang="en"><title>A page</title>
<style>
    :root {{ --ink: #1b2733; --ground: #fbfaf6; {day} }}
    :root[data-theme="night"] {{ --ink: #eef1f3; --ground: #11171d; {night} }}
    body {{ color: var(--ink); background: var(--ground); }}
</style>
<main><h1>A page</h1><p>Some words, <span style="opacity: {opacity}">and some more</span>.</p>
{more}</main></html>"""


@pytest.mark.parametrize(
    ("planted", "found"),
    [
        ({}, []),
        ({"day": "--ink: #aaaaaa"}, ["day, color-contrast"]),
        ({"night": "--ink: rgb(60 60 60 / 90%)"}, ["night, color-contrast"]),
        ({"opacity": 0.4}, ["day, color-contrast", "night, color-contrast"]),
        ({"more": "<input>"}, ["day, label"]),
        (
            {"day": "--link: #3b4753", "night": "--link: #ccd1d3",
             "more": "<p>Words and <a href='/' style='color: var(--link); text-decoration: none'>"
                     "a link</a></p>"},
            ["day, link-in-text-block", "night, link-in-text-block"],
        ),
    ],
)  # fmt: skip
def test_axe_finds_what_is_wrong_by_day_and_by_night(
    chromium: Browser, planted: dict[str, object], found: list[str]
) -> None:
    page = chromium.new_page()
    try:
        fields = {"day": "", "night": "", "opacity": 1, "more": "", **planted}
        page.set_content(_PAGE.format(**fields))
        assert [", ".join(fault.split(": ")[0].split(", ")[:2]) for fault in faults(page)] == found
    finally:
        page.close()
