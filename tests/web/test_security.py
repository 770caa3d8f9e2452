"""Nobody gets in or changes anything who should not, and no page runs what is not ours."""

from __future__ import annotations

import base64
import hashlib
import hmac
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from simengine.limits import BODY_BYTES
from simengine.resources import scenarios_dir
from simengine.web.lan import Lan
from simengine.web.security import Guesses, Keys, OneTimeLink, as_code, new_code, new_visitor
from tests.console.consoles import LAN, Desk, entry, token_in

PAGES = (
    "/",
    "/join",
    "/time",
    "/no-such-page",
    "/static/base.css",
    "/s/{session}",
    "/s/{session}/prebrief",
    "/s/{session}/review",
    "/s/{session}/review.json",
    "/s/{session}/return",
    "/s/{session}/qr.svg",
    "/s/{session}/log",
    "/d/{display}",
)


def addresses(desk: Desk, session: str) -> list[str]:
    display = desk.hub.running(session).plan.display
    return [page.format(session=session, display=display) for page in PAGES]


def test_every_answer_carries_a_strict_policy_and_no_page_has_script_or_style_in_it(
    desk: Desk,
) -> None:
    session = desk.start()
    for address in addresses(desk, session):
        answer = desk.client.get(address)
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy, address
        assert "unsafe" not in policy, address
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
        if answer.headers["content-type"].startswith("text/html"):
            for script in answer.text.split("<script")[1:]:
                assert "src=" in script.partition(">")[0], address
            assert "<style" not in answer.text
            assert " style=" not in answer.text
            assert " onclick=" not in answer.text


@pytest.mark.parametrize(
    ("lan", "sent"),
    [
        (None, None),  # plain HTTP on this machine alone, where browsers heed no such word
        (LAN, None),  # a certificate of the console's own
        (replace(LAN, vouched_for=True), "max-age=2592000"),
    ],
)
def test_browsers_are_told_to_come_over_tls_alone_where_the_certificate_is_the_hospitals(
    tmp_path: Path, lan: Lan | None, sent: str | None
) -> None:
    # RFC 6797, 6.1; on pages, on what is refused, and for a host that is not served
    desk = Desk(tmp_path / "data", lan=lan)
    with desk.client:
        for address in ("/health", "/no-such-page", "/static/base.css"):
            answer = desk.client.get(address)
            assert answer.headers.get("strict-transport-security") == sent, address
        elsewhere = desk.client.get("/health", headers={"host": "evil.example"})
        assert elsewhere.headers.get("strict-transport-security") == sent


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:9999", ""])
def test_another_host_name_is_not_served(desk: Desk, host: str) -> None:
    answer = desk.client.get("/join", headers={"host": host})
    assert answer.status_code == 421


def test_the_link_opens_the_console_once(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    with desk.client:
        wrong = desk.client.get("/enter/wrong")
        assert wrong.status_code == 403
        desk.sign_in()
        other = desk.another()
        assert other.client.get(f"/enter/{desk.link.token}").status_code == 403
        assert other.client.get("/").status_code == 403
        assert desk.client.get("/").status_code == 200


def test_the_cookie_is_signed_httponly_and_same_site(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    with desk.client:
        answer = desk.client.get(f"/enter/{desk.link.token}", follow_redirects=False)
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    keys = Keys(tmp_path)
    text = cookie.partition("=")[2].partition(";")[0]
    visitor = keys.visitor(text, desk.clock.now_ms())
    assert visitor is not None
    assert visitor.facilitator
    assert keys.visitor(text[:-2], desk.clock.now_ms()) is None
    assert keys.visitor(None, 0) is None
    other = tmp_path / "other"
    assert Keys(other).visitor(text, desk.clock.now_ms()) is None
    assert (tmp_path / "cookie.key").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    ("network", "salt"), [(False, "visitor"), (True, "visitor over the network")]
)
def test_a_cookie_is_signed_by_hmac_with_sha_256(tmp_path: Path, network: bool, salt: str) -> None:
    # worked out with Python's own hmac (RFC 2104); the derived key is as itsdangerous documents it
    keys = Keys(tmp_path, network=network)
    text, _, signature = keys.cookie(new_visitor(), 0).rpartition(".")
    secret = (tmp_path / "cookie.key").read_bytes()
    key = hashlib.sha256(salt.encode() + b"signer" + secret).digest()
    signed = hmac.new(key, text.encode(), hashlib.sha256).digest()
    assert signature == base64.urlsafe_b64encode(signed).rstrip(b"=").decode()


def test_without_the_cookie_nothing_of_a_session_can_be_read_or_changed(desk: Desk) -> None:
    session = desk.start()
    stranger = desk.another()
    stranger.token = token_in(stranger.client.get("/join").text)
    for address in addresses(desk, session):
        answer = stranger.client.get(address)
        if "/s/" in address or address == "/":
            assert answer.status_code == 403, address
    body = {"events": [entry("note", 0, {"text": "x"})]}
    assert stranger.send_raw(session, body).status_code == 403
    assert stranger.form("/sessions", scenario="cot-term", purpose="formative").status_code == 403
    assert stranger.form(f"/s/{session}/start", acknowledged="yes").status_code == 403
    assert stranger.form(f"/s/{session}/return").status_code == 403
    assert stranger.client.get(f"/s/{session}/stream").status_code == 403


def test_without_the_token_of_the_page_nothing_is_changed(desk: Desk) -> None:
    session = desk.start()
    before = len(desk.log(session))
    body = {"events": [entry("note", 0, {"text": "x"})]}
    for token in ("", "0" * 64, new_visitor().id):
        assert desk.send_raw(session, body, token=token).status_code == 403
    for address in ("/sessions", f"/s/{session}/start", f"/s/{session}/return", "/join"):
        answer = desk.client.post(address, data={"csrf_token": "wrong"})
        assert answer.status_code == 403, address
    assert len(desk.log(session)) == before


def test_a_page_of_another_address_can_send_nothing(desk: Desk) -> None:
    session = desk.start()
    answer = desk.client.post(
        f"/s/{session}/events",
        json={"events": []},
        headers={"x-csrf-token": desk.token, "origin": "http://evil.example"},
    )
    assert answer.status_code == 403


def test_a_second_recorder_may_record_but_not_plan_or_read_the_review(desk: Desk) -> None:
    session = desk.start()
    second = desk.another()
    second.token = token_in(second.client.get("/join").text)
    code = desk.hub.running(session).plan.recorder
    assert second.form("/join", code=code, who="observer").status_code == 303
    assert second.client.get(f"/s/{session}").status_code == 200
    assert second.client.get("/").status_code == 403
    assert second.client.get(f"/s/{session}/review").status_code == 403
    other = desk.start()
    assert second.client.get(f"/s/{other}").status_code == 403


def test_a_code_ends_with_its_session(desk: Desk) -> None:
    session = desk.start()
    code = desk.hub.running(session).plan.recorder
    desk.send(session, entry("closed", 0, {"why": "stopped early"}))
    late = desk.another()
    late.token = token_in(late.client.get("/join").text)
    assert late.form("/join", code=code, who="observer").status_code == 422


def test_guessing_codes_is_stopped_for_a_while(desk: Desk) -> None:
    session = desk.start()
    display = desk.hub.running(session).plan.display
    guesser = desk.another()
    guesser.token = token_in(guesser.client.get("/join").text)
    for _ in range(10):
        assert guesser.form("/join", code="WRONGONE", who="display").status_code == 422
    assert "Too many wrong codes" in guesser.form("/join", code=display, who="display").text
    assert guesser.client.get(f"/d/{display}").status_code == 429
    desk.clock.at_ms += 60_000  # type: ignore[attr-defined]
    assert guesser.client.get(f"/d/{display}").status_code == 200


def test_a_display_left_open_with_an_old_code_locks_no_facilitator_out(desk: Desk) -> None:
    left_open = desk.another()
    for _ in range(11):
        left_open.client.get("/d/OLDDCODE")
    assert left_open.client.get("/coordinate/a-guess").status_code == 429
    way = f"/coordinate/{desk.coordinating.token}"
    assert desk.another().client.get(way, follow_redirects=False).headers["location"] == "/cohort"
    # it works once, as ever
    assert desk.another().client.get(way, follow_redirects=False).status_code == 403


def test_the_guesses_of_one_browser_keep_nobody_else_out(desk: Desk) -> None:
    session = desk.start()
    plan = desk.hub.running(session).plan
    guesser, colleague = desk.another(), desk.another()
    for browser in (guesser, colleague):
        browser.token = token_in(browser.client.get("/join").text)
    for _ in range(11):
        guesser.form("/join", code="WRONGONE", who="observer")
    assert "Too many" in guesser.form("/join", code=plan.recorder, who="observer").text
    assert colleague.form("/join", code=plan.recorder, who="observer").status_code == 303
    assert colleague.client.get(f"/d/{plan.display}").status_code == 200


def test_a_display_without_a_cookie_is_not_refused_for_what_its_address_tried(desk: Desk) -> None:
    session = desk.start()
    display = desk.hub.running(session).plan.display
    answers = [desk.another().client.get("/d/WRONGONE").status_code for _ in range(12)]
    assert answers == [404] * 10 + [429] * 2  # of who sends no cookie, guesses add up
    assert desk.another().client.get(f"/d/{display}").status_code == 200


def test_a_body_over_the_limit_is_not_read(desk: Desk) -> None:
    session = desk.start()
    huge = b" " * (BODY_BYTES + 1)
    assert desk.send_raw(session, huge).status_code == 413
    headers = {"content-type": "application/json", "x-csrf-token": desk.token}

    def pieces() -> Iterator[bytes]:
        for _ in range(9):
            yield b" " * (BODY_BYTES // 8)

    answer = desk.client.post(f"/s/{session}/events", content=pieces(), headers=headers)
    assert answer.status_code == 413
    assert desk.client.get("/").status_code == 200


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b"null",
        b"{",
        b'{"events": 3}',
        b'{"events": [' + b"[" * 5000 + b"]" * 5000 + b"]}",
        b"\xff\xfe",
        b'{"events": [' + b",".join([b"{}"] * 201) + b"]}",
    ],
)
def test_a_body_that_is_no_list_of_entries_is_refused_in_words(desk: Desk, body: bytes) -> None:
    session = desk.start()
    answer = desk.send_raw(session, body)
    assert answer.status_code in (200, 400)
    if answer.status_code == 400:
        assert answer.json()["words"]
    else:
        assert answer.json()["taken"] == []


@pytest.mark.parametrize(
    "wrong",
    [
        {"id": "x"},
        {"id": 3},
        {"kind": "opened"},
        {"kind": "nothing"},
        {"kind": ["note"]},
        {"at_ms": "0"},
        {"at_ms": True},
        {"at_ms": 2**60},
        {"at_ms": 1.5},
        {"data": []},
        {"data": {"text": 3}},
        {"data": {"text": "x" * 3000}},
        {"data": {"text": "x", "more": 1}},
        {"extra": 1},
        {"kind": "set", "data": {"setting": "oxygen", "value": 2**60}},
        {"kind": "state", "data": {"state": "limp", "cause": "rule", "rule": 0}},
        {"kind": "closed", "data": {"why": "bored"}},
    ],
)
def test_an_entry_of_the_wrong_form_is_refused_with_words(desk: Desk, wrong: object) -> None:
    session = desk.start()
    assert isinstance(wrong, dict)
    before = len(desk.log(session))
    answer = desk.send(session, {**entry("note", 0, {"text": "x"}), **wrong})
    assert answer["taken"] == []
    assert answer["refused"][0]["words"]
    assert len(desk.log(session)) == before


@pytest.mark.parametrize("levels", [49, 60, 490, 900])
def test_an_amendment_nested_deeply_is_refused_in_words_and_keeps_no_other_waiting(
    desk: Desk, levels: int
) -> None:
    session = desk.start()
    note = entry("note", 0, {"text": "x"})
    desk.send(session, note)
    deep: object = 1
    for _ in range(levels):
        deep = {"a": deep}
    bad = entry("amend", 0, {"id": note["id"], "fields": {"text": deep}})
    good = entry("note", 0, {"text": "y"})
    answer = desk.send(session, bad, good)
    assert [refusal["id"] for refusal in answer["refused"]] == [bad["id"]]
    assert answer["refused"][0]["words"]
    assert answer["taken"] == [good["id"]]
    assert desk.client.get(f"/s/{session}").status_code == 200


def test_texts_of_a_scenario_are_shown_as_text(tmp_path: Path) -> None:
    folder = tmp_path / "scenarios"
    shutil.copytree(scenarios_dir(), folder)
    file = folder / "term-not-breathing.yaml"
    evil = "<script src=/x></script>\"'><img src=x onerror=alert(1)>"
    text = file.read_text(encoding="utf-8")
    title = "title: Term newborn who is not breathing"
    assert title in text
    quoted = evil.replace("'", "''")
    file.write_text(text.replace(title, f"title: '{quoted}'", 1), encoding="utf-8")
    desk = Desk(tmp_path / "data", (folder,))
    with desk.client:
        desk.sign_in()
        session = desk.start()
        for address in ("/", *addresses(desk, session)[5:10]):
            answer = desk.client.get(address)
            if answer.headers["content-type"].startswith("text/html"):
                assert "<script src=/x>" not in answer.text, address
                assert "<img src=x" not in answer.text, address
        assert desk.view(session)["banner"]["title"] == evil


def test_codes_are_read_as_they_are_meant() -> None:
    code = new_code(8)
    assert as_code(f" {code[:4].lower()}-{code[4:]} ") == code
    assert len({new_code(8) for _ in range(200)}) == 200


def test_guesses_are_counted_by_client() -> None:
    guesses = Guesses(most=2, window_ms=100)
    for now in (0, 1):
        guesses.wrong("a", now)
    assert guesses.too_many("a", 50)
    assert not guesses.too_many("b", 50)
    assert not guesses.too_many("a", 101)


def test_a_link_made_anew_works_once_and_the_one_before_no_more() -> None:
    link = OneTimeLink()
    first = link.token
    assert link.spend(first)
    link.renew()
    assert not link.spend(first)
    assert link.spend(link.token)
    assert not link.spend(link.token)


def test_a_one_time_link_is_spent_by_its_first_use_alone() -> None:
    link = OneTimeLink()
    assert not link.spend("wrong")
    assert link.spend(link.token)
    assert not link.spend(link.token)
