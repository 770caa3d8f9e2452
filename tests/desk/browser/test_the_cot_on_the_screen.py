"""The faults of a cot on the console: found and put right by a touch each, read on their dials."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.desk.browser.facilitator import Facilitator
from tests.desk.browser.page_faults import picture


def test_a_fault_is_found_and_put_right_by_a_touch_each_with_its_dial_and_its_cylinder(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start("cot-after-use")
    page.locator("#event").tap()
    fault = page.locator('.tiles [data-fault="flow_left_running"]')
    expect(fault).to_contain_text("Gas left running, at 8 L/min")
    flow = page.locator('.tiles [data-sets="gas_flow"]')
    expect(flow).to_contain_text("8 L/min")
    picture(page, "cot-after-use")
    fault.tap()
    expect(fault).to_contain_text("found")
    fault.tap()
    expect(fault).to_contain_text("put right")
    expect(flow).to_contain_text("0 L/min")
    low = page.locator('.tiles [data-fault="oxygen_cylinder_low"]')
    expect(low).to_contain_text("60 bar")
    low.tap()
    low.tap()
    expect(low).to_contain_text("put right")
    # the suction still runs on it: 8 L/min of 460 L, less a tenth, 51 min (by hand)
    expect(page.locator("#supplies")).to_contain_text("Oxygen cylinder: 230 bar, 51 min to its")
    facilitator.all_kept()
    marks = [event["data"]["status"] for event in facilitator.log() if event["kind"] == "fault"]
    assert marks == ["found", "mended", "found", "mended"]


def test_a_gauge_that_is_read_is_entered_in_its_own_unit(facilitator: Facilitator) -> None:
    page = facilitator.start("cot-after-use")
    page.locator("#event").tap()
    page.locator('.tiles [data-acts="check_oxygen_cylinder"]').tap()
    dock = page.locator("#dock")
    expect(dock).to_contain_text("Oxygen cylinder gauge")
    picture(page, "gauge-read")
