"""The server as a process: killed, stopped, with screens that come, go and stall."""

from __future__ import annotations

import json
import signal
import socket
import time
import uuid
from pathlib import Path

import pytest

from tests.console.consoles import IN_TIME_S, Browser, Listener, Server, ask_for_stream, entry


def started(server: Server, scenario: str = "term-not-breathing") -> tuple[Browser, str]:
    browser = server.browser()
    browser.open(server.link)
    return browser, browser.start(scenario)


def log_ms(browser: Browser, session: str) -> int:
    """The log's time now, as a screen works it out."""
    opened = browser.view(session)["now"]["opened_at_ms"]
    return int(browser.client.get("/time").json()["now_ms"]) - int(opened)


def test_a_killed_server_started_again_carries_on(where: Path | str) -> None:
    first = Server(where)
    try:
        browser, session = started(first)
        born = entry("event", 0, {"name": "birth"})
        dried = entry("action", 0, {"action": "dry", "phase": "done"})
        assert browser.send(session, born, dried)["refused"] == []
        before = browser.view(session)
        first.process.send_signal(signal.SIGKILL)
        first.process.wait(IN_TIME_S)
    finally:
        first.end()
    second = Server(where)
    try:
        again = second.browser(like=browser)
        after = again.view(session)
        # The same browser is still signed in, the same state and record are there, and the clock
        # has gone on from where it was.
        assert after["state"] == before["state"] == "limp"
        assert [each["id"] for each in after["tape"]] == [each["id"] for each in before["tape"]]
        assert after["now"]["opened_at_ms"] == before["now"]["opened_at_ms"]
        assert after["now"]["log_ms"] > before["now"]["log_ms"]
        assert after["clock"]["zero_ms"] == before["clock"]["zero_ms"]
        # What was sent and perhaps not answered before the kill is sent again, and taken once.
        assert again.send(session, born, dried)["taken"] == [born["id"], dried["id"]]
        ids = [line["id"] for line in again.log(session)]
        assert len(ids) == len(set(ids))
    finally:
        second.end()


def test_sigterm_with_screens_attached_ends_within_three_seconds(server: Server) -> None:
    browser, session = started(server)
    display = browser.client.get(f"/s/{session}").text.split("/d/")[1][:8]
    cookies = dict(browser.client.cookies)
    listeners = [
        Listener(server.address, f"/s/{session}/stream", cookies),
        Listener(server.address, f"/d/{display}/stream"),
    ]
    for listener in listeners:
        listener.view()
    server.process.send_signal(signal.SIGTERM)
    server.process.wait(timeout=3)
    for listener in listeners:
        assert listener.has_ended()
        listener.close()


def test_ctrl_c_stops_it_without_a_fault(server: Server) -> None:
    server.process.send_signal(signal.SIGINT)
    assert server.process.wait(timeout=IN_TIME_S) == 0


def test_an_entry_is_shown_on_every_screen(server: Server) -> None:
    browser, session = started(server)
    page = browser.client.get(f"/s/{session}").text
    display = page.split("/d/")[1][:8]
    console = Listener(server.address, f"/s/{session}/stream", dict(browser.client.cookies))
    bedside = Listener(server.address, f"/d/{display}/stream")
    birth = entry("event", 0, {"name": "birth"})
    version = browser.send(session, birth)["version"]
    shown = console.view(lambda view: view["version"] >= version)
    assert birth["id"] in [each["id"] for each in shown["tape"]]
    seen = bedside.view(lambda view: view["version"] >= version)
    assert seen["clock"]["zero_ms"] is not None
    sent = json.dumps(seen)
    for secret in ("tape", "lanes", "expected", "people", "why"):
        assert f'"{secret}"' not in sent
    console.close()
    bedside.close()


def test_a_screen_that_has_gone_is_let_go(server: Server) -> None:
    browser, session = started(server)
    display = browser.client.get(f"/s/{session}").text.split("/d/")[1][:8]
    console = Listener(server.address, f"/s/{session}/stream", dict(browser.client.cookies))
    assert console.view()["screens"] == 0
    raw = ask_for_stream(server.address, f"/d/{display}/stream", {})
    assert console.view(lambda view: view["screens"] == 1)
    raw.close()
    # Nothing is recorded meanwhile: the server learns it from the connection alone.
    assert console.view(lambda view: view["screens"] == 0)
    console.close()


def test_a_stalled_screen_slows_no_other(server: Server) -> None:
    browser, session = started(server)
    cookies = dict(browser.client.cookies)
    stalled = ask_for_stream(server.address, f"/s/{session}/stream", cookies, buffer=4096)
    live = Listener(server.address, f"/s/{session}/stream", cookies)
    # The stalled one reads nothing while far more is sent than its buffers hold.
    for number in range(40):
        text = f"{number} " + "x" * 1500
        answer = browser.send(session, entry("note", 0, {"text": text}))
        shown = live.view(lambda view, least=answer["version"]: view["version"] >= least)
        assert shown["tape"][-1]["words"]
    stalled.close()
    live.close()


def test_devices_estimate_the_clock(server: Server) -> None:
    browser = server.browser()
    before = time.time() * 1000
    now_ms = browser.client.get("/time").json()["now_ms"]
    after = time.time() * 1000
    assert before - 50 <= now_ms <= after + 50


def test_a_lost_browser_has_a_way_back_in_by_whoever_started_the_console(server: Server) -> None:
    lost, session = started(server)
    first = server.link
    page = server.browser().client.get("/")
    assert page.status_code == 403
    assert "presses Enter in the window in which it runs" in page.text
    server.press_enter()
    assert server.link != first
    back = server.browser()
    assert back.client.get(first).status_code == 403
    back.open(server.link)
    assert back.send(session, entry("note", 0, {"text": "back"}))["refused"] == []
    lost.view(session)  # who was in stays in


def test_idle_connections_keep_no_entry_and_no_page_out(server: Server) -> None:
    browser, session = started(server)
    host, _, port = server.address.removeprefix("http://").partition(":")
    idle = [socket.create_connection((host, int(port)), timeout=IN_TIME_S) for _ in range(570)]
    for connection in idle[::2]:
        connection.sendall(b"GET / HTTP/1.1\r\n")  # and nothing more
    try:
        fresh = server.browser(like=browser)
        assert fresh.send(session, entry("note", 0, {"text": "heard"}))["refused"] == []
        assert fresh.client.get("/").status_code == 200
        # those that waited longest gave way
        assert idle[0].recv(1) == b""
    except ConnectionResetError:
        pass  # gave way, too
    finally:
        for connection in idle:
            connection.close()


def test_streams_keep_no_entry_out(server: Server) -> None:
    browser, session = started(server)
    display = browser.client.get(f"/s/{session}").text.split("/d/")[1][:8]
    many = [ask_for_stream(server.address, f"/d/{display}/stream", {}) for _ in range(200)]
    try:
        fresh = server.browser(like=browser)
        assert fresh.send(session, entry("note", 0, {"text": "heard"}))["refused"] == []
    finally:
        for connection in many:
            connection.close()


def test_a_second_console_on_the_same_folder_is_refused_in_words(
    server: Server, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from simengine.cli.main import main

    assert main(["console", "--port", "0", "--no-browser", "--data", str(tmp_path / "data")]) == 1
    assert "another console is using the folder" in capsys.readouterr().err


def test_an_entry_sent_while_the_server_was_away_keeps_its_time(server: Server) -> None:
    browser, session = started(server)
    at_ms = log_ms(browser, session)
    kept = entry("note", at_ms, {"text": "kept on the device"}, str(uuid.uuid4()))
    browser.send(session, kept)
    line = next(line for line in browser.log(session) if line["id"] == kept["id"])
    assert line["at_ms"] == at_ms
    assert line["noted_ms"] >= at_ms
