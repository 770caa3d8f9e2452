"""Nothing is lost: the server killed, the network cut, the page loaded again, an answer lost.

Rules:
- What comes between a page and the server is laid before the page is opened: laid under an open
  page, the browser may let what is pressed next past it. The same goes for a network that is cut:
  nothing is pressed before a question of the page has failed.
"""

from __future__ import annotations

from playwright.sync_api import Route, expect

from tests.console.forked import ForkedServer
from tests.desk.browser.facilitator import Facilitator

# A page waits for an answer as long as that takes, however slow the machine is: none is sent again
# because it was late.
PATIENT = "AbortSignal.timeout = () => new AbortController().signal"

# Asks until no answer comes.
UNTIL_CUT = """async () => {
    for (;;) try { await fetch("/time"); } catch { return; }
}"""


def _doings(facilitator: Facilitator) -> list[str]:
    return [act["action"] for act in facilitator.logged("action")]


def test_a_server_that_is_killed_and_started_again_goes_on_with_the_session(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    display = facilitator.display()
    page.keyboard.press("Shift+B")
    page.keyboard.press("d")
    facilitator.all_kept()
    port = int(facilitator.server.address.rpartition(":")[2])
    facilitator.server.end()  # SIGKILL

    page.keyboard.press("v")
    page.keyboard.press("f")
    expect(page.locator("#kept")).to_contain_text("2 waiting")
    expect(page.locator("#link")).to_contain_text("entries are kept on this device, 2 waiting")
    expect(facilitator.action("mask_ventilation")).to_have_attribute("aria-pressed", "true")
    expect(display.locator("#link")).to_be_visible()

    facilitator.server = ForkedServer(facilitator.data, port)
    facilitator.all_kept()
    expect(page.locator("#link")).to_be_hidden()
    expect(display.locator("#link")).to_be_hidden()
    assert _doings(facilitator) == ["dry", "mask_ventilation", "name_roles"]
    late = [event for event in facilitator.log() if event["kind"] == "action"][1]
    assert late["noted_ms"] > late["at_ms"], "it keeps the instant of the touch"
    zero = next(event for event in facilitator.log() if event["kind"] == "event")["at_ms"]
    assert late["at_ms"] > zero, "the clock has not begun again"


def test_a_network_that_is_cut_keeps_entries_on_the_device_until_it_is_back(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    page.context.set_offline(True)
    page.evaluate(UNTIL_CUT)
    page.keyboard.press("d")
    page.keyboard.press("f")
    page.keyboard.press("+")
    expect(page.locator("#kept")).to_contain_text("3 waiting")
    expect(page.locator("#link")).to_be_visible()
    page.context.set_offline(False)
    facilitator.all_kept()
    expect(page.locator("#link")).to_be_hidden()
    assert _doings(facilitator) == ["dry", "name_roles", "call_for_help"]


def test_a_page_that_is_loaded_again_still_sends_what_waited(facilitator: Facilitator) -> None:
    away = False

    def answer(route: Route) -> None:
        if away:
            route.fulfill(status=503, body="away")
        else:
            route.continue_()

    facilitator.page.route("**/events", answer)
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    facilitator.all_kept()
    away = True
    page.keyboard.press("d")
    page.keyboard.press("f")
    expect(page.locator("#kept")).to_contain_text("2 waiting")
    page.reload()
    expect(page.locator("#kept")).to_contain_text("2 waiting")
    away = False
    facilitator.all_kept()
    assert _doings(facilitator) == ["dry", "name_roles"]


def test_an_answer_that_is_lost_makes_the_device_send_again_and_the_server_take_it_once(
    facilitator: Facilitator,
) -> None:
    facilitator.page.add_init_script(PATIENT)
    sent: list[str] = []

    def lose_the_answer(route: Route) -> None:
        sent.append(route.request.post_data or "")
        if len(sent) > 1:
            route.continue_()
            return
        assert route.fetch().ok
        route.abort()

    facilitator.page.route("**/events", lose_the_answer)
    page = facilitator.start()
    page.keyboard.press("d")
    expect(page.locator("#kept")).to_contain_text("waiting")
    facilitator.all_kept()
    assert len(sent) == 2
    assert sent[0] == sent[1]
    assert _doings(facilitator) == ["dry"]


def test_two_recorders_see_what_the_other_records_on_one_clock(facilitator: Facilitator) -> None:
    page = facilitator.start()
    page.keyboard.press("Shift+B")
    code = page.locator("body").get_attribute("data-recorder")
    other = facilitator.device()
    other.goto(f"{facilitator.server.address}/join")
    other.get_by_role("textbox", name="Code").fill(code or "")
    other.get_by_label("a second observer's").check()
    other.get_by_role("button", name="Join").tap()
    other.locator(".act").first.wait_for()

    facilitator.action("mask_ventilation").tap()
    theirs = facilitator.action("mask_ventilation", other)
    expect(theirs).to_have_attribute("aria-pressed", "true")
    facilitator.action("listen_to_heart", other).tap()
    expect(page.get_by_role("button", name="Heart rate by stethoscope", exact=True)).to_be_visible()
    facilitator.all_kept(other)
    facilitator.all_kept()
    first, second = [event for event in facilitator.log() if event["kind"] == "action"]
    assert first["by"] != second["by"]

    # Undo takes back what was recorded on this device, and not the other's last entry.
    page.keyboard.press("z")
    facilitator.all_kept()
    assert facilitator.amends()[-1]["id"] == first["id"]
    expect(theirs).to_have_attribute("aria-pressed", "false")


def test_what_is_refused_for_good_is_put_aside_and_shown_until_a_person_lets_it_go(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    deep = "[" * 600 + "]" * 600
    page.evaluate(
        """async (deep) => {
            const { newId } = await import("/static/post.js");
            const id = newId();
            const entry = { id, kind: "note", at_ms: 5, device_now: 1, data: {
                text: "too deep", more: JSON.parse(deep) } };
            const session = location.pathname.split("/")[2];
            localStorage.setItem(`simengine.outbox.${session}.0.0.${id}`, JSON.stringify(entry));
        }""",
        deep,
    )
    page.reload()
    refused = page.get_by_role("button", name="1 refused")
    refused.tap()
    panel = page.locator("#dock")
    expect(panel).to_contain_text("Note: too deep")
    expect(panel).to_contain_text("levels deep")
    sent: list[str] = []
    page.on(
        "request",
        lambda request: (
            sent.append(request.post_data or "") if request.url.endswith("/events") else None
        ),
    )
    page.reload()  # it is kept, and never sent again by itself
    facilitator.action("dry").tap()
    facilitator.all_kept()
    assert any('"dry"' in entries for entries in sent)
    assert not any("too deep" in entries for entries in sent)
    refused.tap()
    panel.get_by_role("button", name="Discard it").tap()
    expect(panel).to_contain_text("Nothing was refused")
    expect(page.locator("#aside")).to_be_hidden()
    assert "too deep" not in [note["text"] for note in facilitator.logged("note")]


def test_an_entry_at_which_the_server_fails_holds_up_no_other_and_is_put_aside(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    result = page.evaluate(
        """async () => {
            const { Outbox } = await import("/static/outbox.js");
            const { postEntries } = await import("/static/post.js");
            const sent = [];
            globalThis.fetch = async (_, { body }) => {
                const { events } = JSON.parse(body);
                sent.push(events.map(({ id }) => id).join());
                if (events.some(({ id }) => id === "bad")) return new Response("", { status: 500 });
                const taken = events.map(({ id }) => id);
                return new Response(JSON.stringify({ taken, refused: [], version: 1 }));
            };
            const box = new Outbox("test", null, (entries) => postEntries("", entries),
                () => {}, () => {});
            globalThis.setTimeout = (run) => queueMicrotask(run);
            for (const id of ["bad", "good"]) {
                box.add({ id, kind: "note", data: {}, at_ms: 0, device_now: 1 });
            }
            while (box.waiting.length > 0) await new Promise((go) => requestAnimationFrame(go));
            const [{ entry, why }] = box.aside;
            return { sent, aside: entry.id, why, trouble: box.trouble };
        }"""
    )
    assert result["aside"] == "bad"
    assert "5 times" in result["why"]
    assert result["sent"].count("good") == 1
    assert result["sent"].index("good") < len(result["sent"]) - 1


def test_an_entry_that_is_refused_is_told_and_does_not_hold_up_the_others(
    facilitator: Facilitator,
) -> None:
    page = facilitator.start()
    page.evaluate(
        """async () => {
            const { Outbox } = await import("/static/outbox.js");
            const { postEntries } = await import("/static/post.js");
            globalThis.told = [];
            const box = new Outbox("test", null,
                (entries) => postEntries(document.body.dataset.events, entries),
                () => {}, (entry, why) => globalThis.told.push([entry.id, why]));
            const one = (id, kind, data) => box.add({ id, kind, data, at_ms: 5, device_now: 1 });
            one("00000000-0000-4000-8000-000000000001", "note", {});
            one("00000000-0000-4000-8000-000000000002", "note", { text: "kept" });
            globalThis.box = box;
        }"""
    )
    page.wait_for_function("() => globalThis.box.waiting.length === 0")
    answers = page.evaluate("globalThis.told")
    assert [answer[0] for answer in answers] == ["00000000-0000-4000-8000-000000000001"]
    assert "text" in answers[0][1]
    assert {"text": "kept"} in facilitator.logged("note")
