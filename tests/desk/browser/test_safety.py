"""STOP, planted faults, warnings before a worsening, marks of the clock."""

from __future__ import annotations

import re
import signal
from pathlib import Path

from playwright.sync_api import Browser, expect

from simengine.resources import scenarios_dir
from tests.console.consoles import OTHER_COT
from tests.desk.browser.facilitator import Facilitator

# Counts the tones that a page begins, and the pages' own sound still runs.
COUNT_TONES = """
globalThis.tones = 0;
const begin = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (...when) {
    globalThis.tones += 1;
    begin.apply(this, when);
};
"""

HAS_FOCUS = """
document.activeElement === document.body
    ? "" : document.activeElement.id || document.activeElement.innerText
"""


def test_stop_real_patient_blanks_every_screen_at_once_and_keeps_the_record(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    display = facilitator.display()
    page.keyboard.press("Shift+B")
    facilitator.action("clamp_cord").tap()
    page.locator("#stop").tap()
    for screen in (page, display):
        expect(screen.locator("#blank")).to_be_visible()
        expect(screen.locator("#blank")).to_contain_text("STOP: real patient")
    reached = set()
    for _ in range(6):  # keys reach what stands on the screen and nothing that it covers
        page.keyboard.press("d")
        page.keyboard.press("Tab")
        reached.add(page.evaluate(HAS_FOCUS))
    assert reached - {""} == {"open it later", "all sessions"}
    facilitator.all_kept()
    assert facilitator.logged("closed") == [{"why": "safety stop"}]
    assert [action["action"] for action in facilitator.logged("action")] == ["clamp_cord"]
    page.reload()
    expect(page.locator("#blank")).to_be_visible()


def test_stop_with_planted_faults_says_first_and_largest_not_to_use_the_cot(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start("cot-term")
    display = facilitator.display()
    phone = facilitator.device((390, 780))
    phone.goto(f"{facilitator.server.address}/join")
    phone.get_by_role("textbox").fill(page.locator("body").get_attribute("data-recorder") or "")
    phone.get_by_role("radio", name="a second observer's").check()
    phone.get_by_role("button", name="Join").tap()
    expect(phone.locator("#stop")).to_be_hidden()  # a join code ends no session
    expect(display.get_by_text("Do not use this cot")).to_have_count(0)
    facilitator.server.send(signal.SIGSTOP)  # it answers nothing meanwhile
    page.locator("#stop").tap()
    notice = page.locator("#blank .do-not-use")
    expect(notice.get_by_role("heading")).to_have_text("Do not use this cot")
    expect(notice).to_contain_text(OTHER_COT)
    assert notice.locator("li").count() > 3
    sizes = page.evaluate(
        "[...document.querySelectorAll('#blank h2, #blank p, #blank li')]"
        ".filter((one) => one.offsetParent !== null)"
        ".map((one) => [parseFloat(getComputedStyle(one).fontSize), one.tagName])"
    )
    assert max(sizes)[1] == "H2"
    whole = page.locator("#blank").evaluate("(one) => one.scrollHeight <= one.clientHeight")
    assert whole, "all of it stands on the screen"
    facilitator.server.send(signal.SIGCONT)
    facilitator.all_kept()
    expect(display.locator("#blank .do-not-use")).to_contain_text(OTHER_COT)
    expect(phone.locator("main .do-not-use")).to_contain_text(OTHER_COT)
    expect(phone.get_by_role("heading", name="STOP: real patient")).to_be_visible()
    notice.get_by_role("link", name="Return the cot to service").tap()
    expect(page.get_by_role("heading", name="Return the cot to service")).to_be_visible()


def test_stop_blanks_this_screen_even_when_the_server_is_gone(facilitator: Facilitator) -> None:
    page = facilitator.start()
    facilitator.server.end()  # SIGKILL
    page.keyboard.press("!")
    expect(page.locator("#blank")).to_be_visible()


def test_a_session_with_planted_faults_closes_only_when_the_cot_is_back_in_service(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start("cot-term")
    expect(page.locator("#cot")).to_be_hidden()
    page.locator("#states").tap()
    page.get_by_role("button", name="(the end)").first.tap()
    expect(page.locator("#cot")).to_contain_text("closes when the cot is back in service")
    page.keyboard.press("Shift+E")
    assert page.get_by_role("button", name="Yes: it is finished").count() == 0
    page.get_by_role("link", name="Return the cot to service").first.tap()

    page.get_by_role("button", name="On to the second person").tap()
    expect(page.get_by_role("alert")).to_be_visible()
    for box in page.get_by_role("checkbox").all():
        box.check()
    page.get_by_label("Cylinders").fill("oxygen 130 bar, air 140 bar")
    page.get_by_label("Training drugs").fill("all three boxes counted and removed")
    page.get_by_label("Your initials").fill("AB")
    page.get_by_role("button", name="On to the second person").tap()
    page.get_by_role("checkbox").check()
    page.get_by_label("Your own initials").fill("CD")
    page.get_by_role("button", name="The cot is back in service").tap()
    page.locator("#kept").wait_for(state="attached")
    (returned,) = facilitator.logged("returned")
    assert all(returned["faults"].values())
    assert returned["initials"] == ["AB", "CD"]
    expect(page.locator("#cot")).to_be_hidden()
    expect(page.locator("#next")).to_contain_text("The session closes in")
    page.locator("#end").tap()
    page.get_by_role("button", name="Yes: it is finished").tap()
    expect(page.locator("#closed-why")).to_have_text("This session is over: finished.")


def test_a_worsening_is_announced_before_it_comes_and_can_be_held(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    strip = page.locator("#next")
    expect(strip).not_to_have_class("next warn")
    facilitator.move_on(72)  # the scenario worsens 80 s after birth without ventilation
    expect(strip).to_have_class("next warn")
    page.locator("#hold").tap()
    expect(page.locator("#hold")).to_contain_text("Release")
    expect(strip).to_contain_text("due, held")
    states = [state["state"] for state in facilitator.logged("state")]
    assert states[-1] == "limp"
    page.locator("#hold").tap()
    expect(strip).to_contain_text("senior")
    assert facilitator.logged("state")[-1]["state"] == "unventilated"


def test_a_mark_of_the_clock_is_shown_and_sounded_once_and_can_be_muted(
    chromium: Browser, tmp_path: Path
) -> None:
    text = (scenarios_dir() / "term-vigorous.yaml").read_text(encoding="utf-8")
    text = text.replace("id: term-vigorous", "id: told-marks", 1)
    text = text.replace("silent_clock: true", "silent_clock: false", 1)
    own = tmp_path / "scenarios"
    own.mkdir()
    (own / "told-marks.yaml").write_text(text, encoding="utf-8")
    facilitator = Facilitator(chromium, tmp_path / "data", own)
    page = facilitator.page
    page.add_init_script(COUNT_TONES)
    facilitator.start("told-marks")
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    expect(page.locator("#clock-note")).to_contain_text("next mark 1 min")
    facilitator.move_on(57)
    mark = page.locator("#mark")
    expect(mark).to_contain_text("1 min: Apgar score")
    expect(page.locator("#head-clock")).to_have_class("head-clock marked")
    page.wait_for_function("globalThis.tones > 0")
    tones = page.evaluate("globalThis.tones")
    page.get_by_role("button", name="Record it").tap()
    facilitator.all_kept()
    assert facilitator.logged("action")[-1]["action"] == "apgar"

    page.locator("#menu").tap()
    page.get_by_role("button", name="Training tones").tap()
    page.get_by_role("button", name="Close").tap()
    facilitator.move_on(237)
    expect(mark).to_contain_text("5 min")
    assert page.evaluate("globalThis.tones") == tones, "one mark sounds once, and not when muted"
    facilitator.leave()


def test_where_timekeeping_is_scored_no_mark_is_shown_or_sounded(
    facilitator: Facilitator,
) -> None:
    page = facilitator.page
    page.add_init_script(COUNT_TONES)
    facilitator.start("term-not-breathing")
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    facilitator.move_on(58)
    expect(page.locator("#clock")).to_have_text(re.compile(r"^1:(0[2-9]|[1-5]\d)$"))
    expect(page.locator("#mark")).to_be_hidden()
    assert page.evaluate("globalThis.tones") == 0
