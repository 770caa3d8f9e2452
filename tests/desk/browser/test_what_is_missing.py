"""What was missed is added on the live screen, with all that an entry of it may say."""

from __future__ import annotations

import re

from tests.desk.browser.facilitator import Facilitator
from tests.desk.browser.test_every_correction import (
    OnTheLiveScreen,
    correct_the_dose,
    last_action,
    set_to,
    type_in,
    view_of,
)

SCENARIO = "term-not-breathing"
MISSED = ("mask_ventilation", "listen_to_heart", "adrenaline")
"""One that is done with settings, one with which a value is told, and one with a dose."""


def at_one_second(place: OnTheLiveScreen, id_: str) -> None:
    typed = place.open(id_).get_by_label("At (minutes:seconds)")
    typed.fill("0:01")
    typed.press("Tab")
    place.kept(id_)


def test_what_is_missing_is_added_with_time_role_way_settings_dose_and_value_told(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start(SCENARIO)
    page.locator("#event").tap()
    facilitator.clock_since_birth(re.compile(r"^0:0[3-9]|^0:[1-5]"))
    view = view_of(facilitator)
    acts, settings = view["actions"], view["settings"]
    page.keyboard.press("Shift+C")
    for name in MISSED:
        page.locator("#dock").get_by_role("button", name=acts[name]["label"], exact=True).tap()
    page.locator("#dock").get_by_role("button", name="−1 s", exact=True).tap()
    page.get_by_role("button", name=re.compile("^Record 3 at")).tap()
    facilitator.setting("gas_flow").tap()
    page.locator("#dock .words button").first.tap()
    facilitator.all_kept()

    place = OnTheLiveScreen(facilitator)
    added = {name: last_action(facilitator, name) for name in MISSED}
    for id_ in added.values():
        place.open(id_).get_by_label("Role", exact=True).select_option("leader")
        place.kept(id_)
        place.open(id_).get_by_label("Way", exact=True).select_option("simulated")
        place.kept(id_)
        at_one_second(place, id_)
    ventilated, listened, given = added.values()
    for name in acts["mask_ventilation"]["settings"]:
        value = set_to(place.open(ventilated), settings[name])
        assert place.kept(ventilated)["settings"][name]["value"] == value, name
    label = f"{acts['listen_to_heart']['spoken']['label']}, as called out"
    bands = place.open(listened).get_by_role("group", name=label).get_by_role("button")
    bands.first.tap()
    assert place.kept(listened)["spoken"]["heart_rate"]["value"] == "below 60"
    correct_the_dose(place, acts["adrenaline"]["dose"], given)

    (turned,) = [event["id"] for event in facilitator.log() if event["kind"] == "set"]
    place.open(turned).get_by_label("Role", exact=True).select_option("leader")
    place.kept(turned)
    at_one_second(place, turned)
    type_in(place.open(turned), settings["gas_flow"]["label"], "9")
    assert place.kept(turned)["value"] == 9

    view = view_of(facilitator)
    tape = {entry["id"]: entry for entry in view["tape"]}
    for id_ in (*added.values(), turned):
        assert tape[id_]["at_ms"] - view["clock"]["zero_ms"] == 1_000
        assert tape[id_]["role"] == "leader"
    assert {tape[id_]["how"] for id_ in added.values()} == {"simulated"}
