"""A whole session by touch, from the choice of a scenario to the debrief."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from simengine.cli.main import main
from tests.desk.browser.facilitator import Facilitator


def test_a_session_is_run_by_touch_from_prebrief_to_debrief(facilitator: Facilitator) -> None:
    page = facilitator.start()
    expect(page.locator("#band")).to_contain_text("unsigned")
    page.locator("#event").tap()
    expect(page.locator("#clock-note")).to_contain_text("since birth")

    facilitator.action("clamp_cord").tap()
    facilitator.action("listen_to_heart").tap()
    page.get_by_role("button", name=re.compile("^Called out")).tap()
    facilitator.action("mask_ventilation").tap()
    expect(facilitator.action("mask_ventilation")).to_have_attribute("aria-pressed", "true")
    peak = page.get_by_label("Peak pressure (PIP): higher")
    for _ in range(5):
        peak.tap()
    facilitator.setting("oxygen").tap()
    page.get_by_label("Oxygen: lower").tap()
    page.locator("#dock").get_by_role("button", name="−1 s").tap()
    facilitator.all_kept()

    actions = facilitator.logged("action")
    assert [act["action"] for act in actions] == [
        "clamp_cord",
        "listen_to_heart",
        "mask_ventilation",
    ]
    assert [act["phase"] for act in actions] == ["done", "done", "start"]
    assert [act["role"] for act in actions] == ["leader", "circulation", "airway"]
    assert actions[2]["settings"]["peak_pressure"] == {"value": 30, "unit": "cmH2O"}
    fields = [amend["fields"] for amend in facilitator.amends()]
    assert fields[0]["spoken"]["heart_rate"]["unit"] == "/min"
    assert fields[1] == {"settings": {"peak_pressure": {"value": 35, "unit": "cmH2O"}}}
    (oxygen,) = facilitator.logged("set")
    assert (oxygen["setting"], oxygen["value"], oxygen["unit"]) == ("oxygen", 29, "%")

    # "−1 s" came after the oxygen, so it moved that
    moved = facilitator.amends()[-1]
    (change,) = [event for event in facilitator.log() if event["kind"] == "set"]
    assert moved["id"] == change["id"]
    assert moved["fields"]["at_ms"] == change["at_ms"] - 1000

    facilitator.action("mask_ventilation").tap()
    expect(facilitator.action("mask_ventilation")).to_have_attribute("aria-pressed", "false")
    page.locator("#end").tap()
    page.get_by_role("button", name="Yes: it is finished").tap()
    expect(page.locator("#closed-why")).to_have_text("This session is over: finished.")
    assert facilitator.logged("closed") == [{"why": "finished"}]

    with page.expect_download() as download:
        page.get_by_role("link", name="Log file").tap()
    assert download.value.suggested_filename.endswith(".session.jsonl")
    answer = page.request.get(f"{facilitator.server.address}/s/{facilitator.session}/debrief.pdf")
    assert answer.body().startswith(b"%PDF-")
    page.get_by_role("link", name="Open the debrief").tap()
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    story = page.inner_text("body")
    for act in ("lowered oxygen from 30 to 29 %", "clamped the cord", "listened to the heart"):
        assert act in story


def test_a_note_counts_from_its_first_letter(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    page.keyboard.press("Shift+N")
    words = page.get_by_role("textbox", name="Words")
    words.press("H")
    begun = page.evaluate("performance.timeOrigin + performance.now()")
    page.wait_for_function(
        "since => performance.timeOrigin + performance.now() - since > 400", arg=begun
    )
    words.press_sequentially("ands cold")
    page.get_by_role("button", name="As a note to yourself").tap()
    facilitator.all_kept()
    (note,) = [event for event in facilitator.log() if event["data"].get("text") == "Hands cold"]
    assert note["noted_ms"] - note["at_ms"] >= 400


def test_a_touch_counts_from_the_moment_the_finger_came_down(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    button = facilitator.action("call_for_help")
    button.hover()
    page.mouse.down()
    down = page.evaluate("performance.timeOrigin + performance.now()")
    page.wait_for_function(
        "since => performance.timeOrigin + performance.now() - since > 400", arg=down
    )
    page.mouse.up()
    facilitator.all_kept()
    (event,) = [logged for logged in facilitator.log() if logged["kind"] == "action"]
    assert event["noted_ms"] - event["at_ms"] >= 400


def test_a_correction_by_hand_moves_an_entry_and_gives_it_role_and_way(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    facilitator.action("call_for_help").tap()
    facilitator.all_kept()
    page.locator("#record").tap()
    page.locator("#dock .entries button", has_text="Call for help").tap()
    page.locator("#dock").get_by_role("button", name="−5 s", exact=True).tap()
    page.locator("#dock").get_by_label("Role").select_option("circulation")
    page.locator("#dock").get_by_label("Way").select_option("said")
    page.get_by_role("button", name="Close").tap()
    facilitator.all_kept()
    (action,) = [event for event in facilitator.log() if event["kind"] == "action"]
    page.locator("#undo").tap()
    facilitator.all_kept()
    fields = {}
    for amend in facilitator.amends():
        fields.update(amend.get("fields", {}))
    assert fields["role"] == "circulation"
    assert fields["how"] == "said"
    assert fields["at_ms"] == max(0, action["at_ms"] - 5000)
    assert facilitator.amends()[-1]["withdrawn"] is True


def test_people_join_swap_roles_double_up_and_leave(facilitator: Facilitator) -> None:
    page = facilitator.start()

    def people() -> None:
        page.locator("#menu").tap()
        page.get_by_role("button", name="People and roles").tap()

    people()
    page.get_by_label("Code of whoever joins").fill("K-300")
    page.get_by_label("In the role").select_option("circulation")
    page.get_by_role("button", name="Joins").tap()
    lane = page.get_by_role("region", name="Circulation", exact=False).first
    expect(lane.locator(".who")).to_contain_text("K-300")
    people()
    row = page.get_by_role("group", name="K-300")
    row.get_by_label("Also takes").select_option("airway")
    expect(page.get_by_role("region", name="Airway and breathing").locator(".who")).to_contain_text(
        "K-300"
    )
    people()
    page.get_by_role("group", name="K-300").get_by_label("Moves to").select_option("leader")
    expect(page.get_by_role("region", name="Leader").locator(".who")).to_contain_text("K-300")
    people()
    page.get_by_role("group", name="N-104").get_by_role("button", name="Leaves").tap()
    expect(page.get_by_role("region", name="Leader").locator(".who")).not_to_contain_text("N-104")
    kinds = [event["kind"] for event in facilitator.log()]
    assert [kind for kind in kinds if kind in ("joined", "role", "left")] == [
        "joined",
        "role",
        "role",
        "left",
    ]


def test_a_figure_beyond_what_is_plausible_is_asked_about_before_it_counts(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    facilitator.setting("gas_flow").tap()
    page.get_by_label("Gas flow", exact=True).fill("80")
    page.keyboard.press("Tab")
    expect(page.get_by_role("alert")).to_contain_text("Outside 0 to 20 L/min.")
    assert facilitator.logged("set") == []
    page.get_by_role("button", name="Keep 80").tap()
    page.get_by_role("button", name="Close").tap()
    expect(facilitator.setting("gas_flow")).to_contain_text("80 L/min")
    facilitator.all_kept()
    (flow,) = facilitator.logged("set")
    assert (flow["value"], flow["unit"]) == (80, "L/min")


def test_what_somebody_types_is_shown_as_text_and_never_runs(facilitator: Facilitator) -> None:
    page = facilitator.start()
    words = "<img src=x onerror=\"document.title='run'\"> & 'quotes'"
    page.locator("#cues").tap()
    page.get_by_label("Words", exact=True).fill(words)
    page.get_by_role("button", name="As a note to yourself").tap()
    facilitator.all_kept()
    page.locator("#record").tap()
    expect(page.locator("#dock")).to_contain_text(words)
    assert page.locator("img[src=x]").count() == 0
    assert page.title() != "run"


def test_the_log_of_a_session_at_the_console_verifies(
    facilitator: Facilitator, capsys: pytest.CaptureFixture[str]
) -> None:
    page = facilitator.start()
    page.locator("#event").tap()
    facilitator.action("mask_ventilation").tap()
    expect(page.locator("#next")).to_contain_text("Senior colleague takes over")  # chest_still
    page.locator("#end").tap()
    page.get_by_role("button", name="Yes: stopped early").tap()
    expect(page.locator("#closed")).to_be_visible()
    file = facilitator.data / "taken.session.jsonl"
    answer = page.request.get(f"{facilitator.server.address}/s/{facilitator.session}/log")
    file.write_bytes(answer.body())
    assert main(["verify", str(file)]) == 0
    assert "the chain is whole" in capsys.readouterr().out
    assert [state["cause"] for state in facilitator.logged("state")][1:] == ["rule", "rule"]


def test_letters_of_keys_are_shown_once_a_key_was_pressed_and_never_for_touches_or_typed_words(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    letters = page.locator("kbd:visible")
    page.locator("#event").tap()
    facilitator.action("mask_ventilation").tap()
    page.get_by_role("button", name="Close").tap()
    page.locator("#search").tap()
    page.locator("#dock input").first.tap()
    page.keyboard.type("oximeter")  # as the screen's own keyboard does
    expect(letters).to_have_count(0)
    page.get_by_role("button", name="Close").tap()
    page.locator("#menu").tap()
    expect(page.locator("#dock")).to_be_visible()
    expect(letters).to_have_count(0)
    page.get_by_role("button", name="Close").tap()
    page.keyboard.press("F9")  # does nothing else
    expect(facilitator.action("mask_ventilation").locator("kbd")).to_be_visible()
    expect(page.locator("#pause kbd")).to_be_visible()
    page.locator("#menu").tap()
    page.locator("#dock button").filter(has_text="Keys").last.tap()  # switches them off
    expect(page.locator(".tiles kbd:visible")).to_have_count(0)
