"""Both outputs say what the page says, all of it; they are safe, whole and accessible."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from io import BytesIO
from itertools import cycle
from pathlib import Path

import pytest
from pypdf import PdfReader

from simengine.debrief.build_debrief import debrief_page
from simengine.debrief.debrief_page import DebriefPage, take_home_of, whole_of
from simengine.debrief.picture.compose import HALF_A_PAGE, draw
from simengine.debrief.picture.trend import draw_trend
from simengine.debrief.scene import Scene
from simengine.debrief.scene_builder import in_brief, scene_of
from simengine.debrief.trend import held
from simengine.report.blocks import Picture, map_text, texts
from simengine.report.drawing import svg
from simengine.report.html import render_html
from simengine.report.pdf import NOT_ACCESSIBLE, render_pdf
from simengine.report.printable import clean
from simengine.scoring.people import everybody
from tests.debrief import fixture
from tests.debrief.laid_out import NAMES, laid, picture
from tests.debrief.read_back import Read, pdf_alts, pdf_pages, pdf_text, squeezed
from tests.pdfua.judge import pdfua_failures

HOSTILE = (
    '<script>alert("x")</script> <b onclick="x">',
    "&amp; {{ 7 * 7 }} {% raw %}",
    '#read("/etc/passwd") $x^2$ *bold* _it_',
    "@ref \\u{41} //comment `code` <label>",
    "w" * 60,
    "\u202eevil\u202c \u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
    "\U0001f600 \x00\x07 e\u0301 \u2028 end",
)


@cache
def made(name: str) -> tuple[DebriefPage, dict[str, bytes]]:
    """Return a page with its pictures: of a shipped session, or one of the other kinds."""
    if name in NAMES:
        return laid(name).page, {"session": picture(name), "brief": brief(laid(name).scene)}
    if name == "personal with a trend":
        held_before = [fixture.session(confirmed=True, day=day) for day in (3, 9)]
        now = fixture.session(confirmed=True, day=17)
        cards = [fixture.card(each) for each in (*held_before, now)]
        scene = scene_of(now, cards[-1])
        earlier = list(zip(held_before, cards[:-1], strict=True))
        page = debrief_page(now, cards[-1], scene, trainee="m2kf", earlier=earlier)
        points = [
            held(each, card, "m2kf") for each, card in zip((*held_before, now), cards, strict=True)
        ]
        pictures = {"session": svg(draw(scene)), "brief": brief(scene)}
        return page, {**pictures, "trend": svg(draw_trend(points))}
    if name == "rehearsed":
        session = fixture.session(purpose="rehearsal", arrives=fixture.ARRIVES)
    else:
        session = fixture.session(purpose="summative" if name == "assessed" else "formative")
    card = fixture.card(session, purpose=session.purpose)
    scene = scene_of(session, card)
    page = debrief_page(session, card, scene)
    if name == "hostile":
        turn = cycle(HOSTILE)
        page = map_text(page, lambda text: clean(f"{text} {next(turn)}"))
    return page, {"session": svg(draw(scene)), "brief": brief(scene)}


def brief(scene: Scene) -> bytes:
    return svg(draw(in_brief(scene), HALF_A_PAGE))


KINDS = (*NAMES, "personal with a trend", "assessed", "every verdict", "rehearsed", "hostile")


LAYOUTS = {"whole": whole_of, "to take home": take_home_of}


@cache
def html_of(name: str, layout: str = "whole") -> str:
    page, pictures = made(name)
    return render_html(LAYOUTS[layout](page), pictures)


@cache
def pdf_of(name: str, layout: str = "whole") -> bytes:
    page, pictures = made(name)
    return render_pdf(LAYOUTS[layout](page), pictures)


@cache
def paper_of(name: str, layout: str = "whole") -> str:
    report = LAYOUTS[layout](made(name)[0])
    return pdf_text(pdf_of(name, layout), head=report.banner, foot=report.title)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("name", KINDS)
def test_every_text_of_the_page_stands_in_both_outputs(name: str, layout: str) -> None:
    page, _ = made(name)
    read = Read(html_of(name, layout))
    web = squeezed("".join(read.text)) + "".join(squeezed(alt) for alt in read.alts)
    paper = paper_of(name, layout) + "".join(
        squeezed(alt) for alt in pdf_alts(pdf_of(name, layout))
    )
    wanted = texts(LAYOUTS[layout](page))
    assert len(wanted) > (100 if layout == "whole" else 20)
    assert [text for text in wanted if squeezed(text) not in web] == []
    if name == "hostile":
        # cells broken over two pages are read back line by line: here each word must stand
        wanted = [word for text in wanted for word in re.split(r"[\s\u200b]+", text)]
    assert [text for text in wanted if squeezed(text) not in paper] == []


@pytest.mark.parametrize("layout", LAYOUTS)
def test_both_outputs_say_why_curves_answer_later_where_what_is_turned_comes_late(
    layout: str,
) -> None:
    words = squeezed(
        "While gas flows, a change of oxygen comes to the baby gradually, within 25 to 40 s: the "
        "curves answer later than the dial."
    )
    assert words in squeezed("".join(Read(html_of("rehearsed", layout)).text))
    assert words in paper_of("rehearsed", layout)
    assert words not in squeezed("".join(Read(html_of("every verdict", layout)).text))


@pytest.mark.parametrize("name", KINDS)
def test_the_pdf_is_accessible_by_an_independent_judge(name: str, tmp_path: Path) -> None:
    # ISO 14289-1 (PDF/UA-1) as veraPDF's own rules read it
    for layout in LAYOUTS:
        file = tmp_path / f"{layout}.pdf"
        file.write_bytes(pdf_of(name, layout))
        assert pdfua_failures(file) == []


@pytest.mark.parametrize("name", [*NAMES, "personal with a trend", "assessed", "rehearsed"])
def test_what_is_to_take_home_is_two_pages(name: str) -> None:
    assert len(PdfReader(BytesIO(pdf_of(name, "to take home"))).pages) == 2


@pytest.mark.parametrize("name", NAMES)
def test_no_score_is_on_the_pages_to_take_home(name: str) -> None:
    """A percentage stands there only as the value of something at the cot."""
    vocabulary = laid(name).session.scenario.vocabulary
    nouns = [part.noun for part in vocabulary.settings.values() if part.unit == "%"]
    nouns += [part.noun for part in vocabulary.observations.values() if part.unit == "%"]
    at_the_cot = [noun.removeprefix("the ").lower() for noun in nouns]
    at_the_cot += ["glucose", "gauge", "heater"]
    written = {clean(item.why) for item in laid(name).session.scenario.key}
    session, card, scene = laid(name).session, laid(name).card, laid(name).scene
    someone = everybody(session)[0]
    personal = debrief_page(session, card, scene, trainee=someone)
    for page in (laid(name).page, personal):
        for block in take_home_of(page).blocks:
            if isinstance(block, Picture):
                continue
            for text in texts(block):
                at_cot = text in written or any(word in text.lower() for word in at_the_cot)
                assert "%" not in text or at_cot, text


@pytest.mark.parametrize("name", KINDS)
def test_the_web_page_is_whole_and_needs_nothing_from_outside(name: str) -> None:
    read = Read(html_of(name))
    assert read.faults == []
    tags = [tag for tag, _ in read.tags]
    assert "script" not in tags
    assert "link" not in tags
    for tag, known in read.tags:
        source = known.get("src") or known.get("href") or ""
        assert source.startswith(("data:", "#")) or not source, (tag, source[:60])
    named = re.findall(r"url\(\s*[\"']?([^\"')\s]{0,5})", html_of(name))
    assert set(named) == {"data:"}
    assert "@import" not in html_of(name)


@pytest.mark.parametrize("name", KINDS)
def test_the_web_page_can_be_read_by_ear(name: str) -> None:
    # WCAG 2.2: 3.1.1 language, 1.1.1 alternatives, 1.3.1 headings and tables, 2.4.2 title
    read = Read(html_of(name))
    elements = dict(read.tags)
    assert elements["html"]["lang"] == "en-GB"
    assert "title" in elements
    assert all(len(alt) > 40 for alt in read.alts)
    assert read.headings[0] == 1
    assert read.headings.count(1) == 1
    assert all(
        after <= before + 1 for before, after in zip(read.headings, read.headings[1:], strict=False)
    )
    assert all(known.get("scope") for tag, known in read.tags if tag == "th")
    assert "viewport" in [known.get("name") for tag, known in read.tags if tag == "meta"]


def test_text_of_people_never_becomes_markup() -> None:
    read = Read(html_of("hostile"))
    assert "script" not in [tag for tag, _ in read.tags]
    text = "".join(read.text)
    assert "{{ 7 * 7 }}" in text
    paper = paper_of("hostile")
    assert squeezed('#read("/etc/passwd")') in paper
    assert "root:" not in paper


def test_no_unbroken_word_runs_out_of_the_page() -> None:
    longest = max(
        len(word) for text in texts(made("hostile")[0]) for word in re.split(r"[\s\u200b]", text)
    )
    # 64 is a digest in hexadecimal; it too has places to break
    assert longest <= 24


def test_pictures_and_pages_repeat_byte_for_byte() -> None:
    page, pictures = made("every verdict")
    assert render_html(whole_of(page), pictures) == html_of("every verdict")
    assert render_pdf(whole_of(page), pictures) == pdf_of("every verdict")


def test_a_character_without_a_drawing_does_not_lose_the_debrief() -> None:
    page, pictures = made("every verdict")
    odd = replace(page, subtitle="\u6f22")
    assert squeezed(NOT_ACCESSIBLE) in pdf_text(render_pdf(whole_of(odd), pictures))
    assert squeezed(NOT_ACCESSIBLE) not in paper_of("every verdict")


def test_the_banner_stands_on_every_page_of_the_pdf() -> None:
    pages = pdf_pages(pdf_of("every verdict"))
    assert len(pages) > 5
    for page in pages:
        assert squeezed("Simulation: training only") in page
