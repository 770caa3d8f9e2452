"""A console on a network: accounts, invitations, signing in and out, and who is kept out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest

from simengine.store import accounts
from simengine.store.accounts import Rights
from simengine.web.account_pages import INVITATION_MS
from simengine.web.security import COOKIE_OF_THE_NETWORK, TRAINEE_STAY_MS, Keys, new_visitor
from simengine.web.signing_in import TEACHER_STAY_MS
from tests.console.consoles import LAN, PASSWORD, Browser, Desk, SetClock, entry, token_in

MINUTE_MS = 60_000
BOTH = Rights(educator=True, coordinator=True)


class Network(Desk):
    """A console on a network, with one account: Greta's, an educator and coordinator."""

    clock: SetClock

    def __init__(self, data: Path) -> None:
        super().__init__(data, lan=LAN)

    def begin(self) -> Network:
        self.accept(self.invitation(BOTH), "Greta")
        return self

    def stranger(self, at: str = "10.0.0.7") -> Browser:
        """Another browser, with a cookie and nothing else."""
        browser = self.another(at)
        browser.token = token_in(browser.client.get("/sign-in").text)
        return browser

    def code_on(self, page: str) -> str:
        match = re.search(r'<p class="code">([^<]+)</p>', page)
        assert match is not None, page
        return match.group(1)


@pytest.fixture
def network(tmp_path: Path) -> Iterator[Network]:
    made = Network(tmp_path / "data")
    with made.client:
        yield made.begin()


def wrong(browser: Browser, name: str = "Greta", times: int = 1) -> int:
    """The status of the last of so many tries with a wrong password."""
    for _ in range(times):
        status = browser.form("/sign-in", name=name, password="not the password").status_code
    return status


def test_of_a_password_its_argon2id_hash_alone_is_kept(network: Network) -> None:
    (account,) = accounts.all_accounts(network.hub.store)
    assert account.password.startswith("$argon2id$")
    kept = b"".join(file.read_bytes() for file in network.data.rglob("*") if file.is_file())
    assert PASSWORD.encode() not in kept


def test_the_cookie_is_for_this_host_over_tls_alone_and_ends_with_the_browser(
    network: Network,
) -> None:
    answer = network.another().client.get("/join")
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"{COOKIE_OF_THE_NETWORK}=")
    parts = {part.strip().lower() for part in cookie.split(";")[1:]}
    assert parts == {"httponly", "path=/", "samesite=lax", "secure"}


def test_a_cookie_of_this_machine_s_own_console_counts_for_nothing(network: Network) -> None:
    educator = new_visitor()
    made = Keys(network.data).cookie(
        type(educator)(educator.id, educator.person, facilitator=True, coordinator=True),
        network.clock.now_ms(),
    )
    client = network.another().client
    for name in ("simengine", COOKIE_OF_THE_NETWORK):
        client.cookies.set(name, made, domain="127.0.0.1")
    assert client.get("/accounts").status_code == 403


def test_even_a_cookie_signed_for_the_network_gives_no_rights_by_its_own_word(
    network: Network,
) -> None:
    educator = new_visitor()
    made = Keys(network.data, network=True).cookie(
        type(educator)(educator.id, educator.person, facilitator=True, coordinator=True),
        network.clock.now_ms(),
    )
    client = network.another().client
    client.cookies.set(COOKIE_OF_THE_NETWORK, made, domain="127.0.0.1")
    assert client.get("/accounts").status_code == 403


def test_the_links_of_this_machine_s_own_console_open_nothing(network: Network) -> None:
    for link in (f"/enter/{network.link.token}", f"/coordinate/{network.coordinating.token}"):
        assert network.another().client.get(link).status_code == 404


def test_whoever_is_not_signed_in_is_sent_to_sign_in_and_told_how(network: Network) -> None:
    client = network.another().client
    answer = client.get("/", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    refused = client.get("/cohort")
    assert refused.status_code == 403
    assert "Sign in with an account that may open it." in refused.text
    assert 'href="/sign-in"' in refused.text


def test_somebody_signs_in_with_a_name_however_it_is_typed(network: Network) -> None:
    browser = network.another()
    assert browser.comes_in("  gRETA ").headers["location"] == "/"
    assert "Signed in as Greta" in browser.client.get("/").text


@pytest.mark.parametrize(
    ("name", "password"), [("Greta", "not the password"), ("Nobody", PASSWORD), ("", "")]
)
def test_which_of_name_and_password_is_wrong_is_not_told(
    network: Network, name: str, password: str
) -> None:
    answer = network.stranger().form("/sign-in", name=name, password=password)
    assert answer.status_code == 422
    assert "Name and password do not fit together." in answer.text


def test_signing_in_gives_a_new_token_and_the_one_before_sends_nothing(network: Network) -> None:
    browser = network.stranger()
    before = browser.token
    browser.comes_in("Greta")
    assert browser.token != before
    browser.token = before
    assert browser.form("/accounts", do="invite", role="educator").status_code == 403


def test_without_a_token_of_the_page_nobody_signs_in_or_out(network: Network) -> None:
    browser = network.stranger()
    for address in ("/sign-in", "/invitation", "/sign-out"):
        answer = browser.client.post(address, data={"name": "Greta", "password": PASSWORD})
        assert answer.status_code == 403


def test_who_signs_out_is_out_and_so_is_a_copy_of_the_cookie(network: Network) -> None:
    browser, copy = network.another(), network.another()
    browser.comes_in("Greta")
    copy.client.cookies = browser.client.cookies.__class__(browser.client.cookies)
    assert copy.client.get("/accounts").status_code == 200
    assert browser.form("/sign-out").headers["location"] == "/sign-in"
    assert browser.client.get("/accounts").status_code == 403
    assert copy.client.get("/accounts").status_code == 403
    assert network.client.get("/accounts").status_code == 200, "another browser stays"


def test_a_browser_is_asked_to_forget_what_it_keeps_only_where_nothing_is_lost_by_it(
    network: Network,
) -> None:
    # W3C Clear Site Data: "storage" is what pages keep in the browser
    browser = network.another()
    for sent, header in (({}, None), ({"forget": "yes"}, '"storage"')):
        browser.comes_in("Greta")
        assert browser.form("/sign-out", **sent).headers.get("clear-site-data") == header


@pytest.mark.parametrize(
    ("rights", "address", "stay_ms"),
    [
        (BOTH, "/accounts", TEACHER_STAY_MS),
        (Rights(trainee="N-104"), "/cohort/people/N-104", TRAINEE_STAY_MS),
    ],
)
def test_a_sign_in_ends_in_its_time(
    network: Network, rights: Rights, address: str, stay_ms: int
) -> None:
    browser, code = network.stranger(), network.invitation(rights)
    form = {"code": code, "name": "Nora", "password": PASSWORD, "again": PASSWORD}
    assert browser.form("/invitation", **form).status_code == 303
    network.clock.at_ms += stay_ms - 1
    assert browser.client.get(address).status_code != 403
    network.clock.at_ms += 1
    assert browser.client.get(address).status_code == 403


def test_wrong_passwords_are_stopped_for_a_while(network: Network) -> None:
    browser = network.stranger()
    assert wrong(browser, times=10) == 422
    assert wrong(browser) == 429
    assert browser.form("/sign-in", name="Greta", password=PASSWORD).status_code == 429
    network.clock.at_ms += MINUTE_MS
    assert browser.form("/sign-in", name="Greta", password=PASSWORD).status_code == 303


def test_who_drops_the_cookie_is_stopped_by_the_address(network: Network) -> None:
    status = [wrong(network.stranger(), times=10) for _ in range(4)]
    assert status[:3] == [422, 422, 422]
    assert status[3] == 429


def test_wrong_passwords_of_one_device_keep_no_other_out(network: Network) -> None:
    for _ in range(4):
        wrong(network.stranger(at="10.0.0.66"), times=10)
    assert wrong(network.stranger(at="10.0.0.66")) == 429
    assert network.another(at="10.0.0.7").comes_in("Greta").status_code == 303


def test_where_devices_share_an_address_a_known_browser_is_not_kept_out(network: Network) -> None:
    known = network.another(at="10.0.0.66")
    known.comes_in("Greta")
    known.form("/sign-out")
    for _ in range(4):
        wrong(network.stranger(at="10.0.0.66"), times=10)
    assert known.comes_in("Greta").status_code == 303


def test_a_right_invitation_opens_whatever_came_before(network: Network) -> None:
    code = network.invitation(Rights(educator=True))
    browser = network.stranger()
    statuses = [browser.client.get(f"/invitation/WRONG{n}").status_code for n in range(12)]
    assert statuses == [422] * 10 + [429] * 2
    assert "Name to sign in with" in browser.client.get(f"/invitation/{code}").text


def test_an_invitation_works_once_and_within_a_week(network: Network) -> None:
    code, late = (network.invitation(Rights(educator=True)) for _ in range(2))
    network.another().accept(code, "Nora")
    assert "This code opens nothing." in network.stranger().client.get(f"/invitation/{code}").text
    network.clock.at_ms += INVITATION_MS
    assert "This code opens nothing." in network.stranger().client.get(f"/invitation/{late}").text


def test_an_invitation_is_typed_as_it_is_read_aloud(network: Network) -> None:
    code = network.invitation(Rights(educator=True))
    typed = f" {code[:4].lower()}-{code[4:8]} {code[8:]}"
    answer = network.stranger().form("/invitation", code=typed)
    assert answer.status_code == 200
    assert "Name to sign in with" in answer.text


@pytest.mark.parametrize(
    ("password", "again", "words"),
    [
        ("short", "short", "too short: it needs 12 characters"),
        (PASSWORD, PASSWORD + "r", "The two passwords differ."),
        ("x" * 201, "x" * 201, "too long: 200 characters at most"),
        ("aaaaaaaaaaaaaaaa", "aaaaaaaaaaaaaaaa", "guessed early"),
        ("Nora of the ward", "Nora of the ward", "guessed early"),
        ("password1234", "password1234", "guessed early"),
        ("P@ssword12345", "P@ssword12345", "guessed early"),
        ("qwertyuiop12", "qwertyuiop12", "guessed early"),
        ("Simengine2026", "Simengine2026", "guessed early"),
    ],
)
def test_a_password_that_will_not_do_is_said_and_spends_nothing(
    network: Network, password: str, again: str, words: str
) -> None:
    code = network.invitation(Rights(educator=True))
    browser = network.stranger()
    form = {"code": code, "name": "Nora of the ward", "password": password, "again": again}
    answer = browser.form("/invitation", **form)
    assert answer.status_code == 422
    assert words in answer.text
    browser.accept(code, "Nora of the ward")


@pytest.mark.parametrize(
    "password",
    ["blue kettle seven moss", "drie woorden hier", "VIERWÖRTERGANZKLEIN", "48151 62342 99 17"],
)
def test_a_long_password_of_any_characters_is_taken(network: Network, password: str) -> None:
    browser = network.another()
    code = network.invitation(Rights(educator=True))
    browser.accept(code, "Nora", password)
    assert network.stranger().comes_in("Nora", password).status_code == 303


NEW_PASSWORD = "another pass phrase of hers"


def test_somebody_changes_their_own_password_and_stays_signed_in_here_alone(
    network: Network,
) -> None:
    here, elsewhere = network.another(), network.another()
    here.comes_in("Greta")
    elsewhere.comes_in("Greta")
    here.open("/password")
    before, cookies = here.token, here.client.cookies.__class__(here.client.cookies)
    form = {"password": NEW_PASSWORD, "again": NEW_PASSWORD}
    answer = here.form("/password", old=PASSWORD, **form)
    assert answer.headers["location"] == "/password?changed=yes"
    here.open(answer.headers["location"])
    assert here.token != before
    copy = network.another()
    copy.client.cookies = cookies
    for ended in (network, elsewhere, copy):
        assert ended.client.get("/accounts").status_code == 403
    assert here.client.get("/accounts").status_code == 200
    assert network.stranger().comes_in("Greta").status_code == 422
    assert network.stranger().comes_in("Greta", NEW_PASSWORD).status_code == 303


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("not the password", NEW_PASSWORD, "is not right. Nothing is changed."),
        (PASSWORD, PASSWORD, "The new password is the old one."),
        (PASSWORD, "password1234", "guessed early"),
        (PASSWORD + "x" * 200, NEW_PASSWORD, "is not right. Nothing is changed."),
    ],
)
def test_a_password_is_not_changed_without_the_old_one_or_to_a_bad_one(
    network: Network, old: str, new: str, words: str
) -> None:
    network.open("/password")
    answer = network.form("/password", old=old, password=new, again=new)
    assert answer.status_code == 422
    assert words in answer.text
    assert network.client.get("/accounts").status_code == 200
    assert network.stranger().comes_in("Greta").status_code == 303


def test_the_old_password_is_not_guessed_at_a_browser_that_was_left_signed_in(
    network: Network,
) -> None:
    network.open("/password")
    form = {"password": NEW_PASSWORD, "again": NEW_PASSWORD}
    tries = [network.form("/password", old=f"guess {n}", **form).status_code for n in range(11)]
    assert tries == [422] * 10 + [429]
    assert network.form("/password", old=PASSWORD, **form).status_code == 429


def test_a_password_is_typed_masked_and_may_be_pasted(network: Network) -> None:
    code = network.invitation(Rights(educator=True))
    for browser, address in (
        (network, "/password"),
        (network.stranger(), f"/invitation/{code}"),
        (network.stranger(), "/sign-in"),
    ):
        html = browser.client.get(address).text
        fields = re.findall(r'<input name="(?:old|password|again)"[^>]*>', html)
        assert fields
        for field in fields:
            assert 'type="password"' in field
            assert re.search(r'autocomplete="(?:current|new)-password"', field)
            assert "onpaste" not in field
    scripts = [file.read_text(encoding="utf-8") for file in Path("simengine/web").rglob("*.js")]
    assert not any('"paste"' in script for script in scripts)


def test_a_name_that_is_taken_spends_nothing(network: Network) -> None:
    code = network.invitation(Rights(educator=True))
    browser = network.stranger()
    form = {"code": code, "name": "GRETA", "password": PASSWORD, "again": PASSWORD}
    answer = browser.form("/invitation", **form)
    assert "Somebody has this name here" in unescape(answer.text)
    browser.accept(code, "Nora")


def test_a_lost_password_is_handled_by_an_invitation_that_ends_every_sign_in(
    network: Network,
) -> None:
    old = network.another()
    old.accept(network.invitation(Rights(educator=True)), "Nora")
    nora = accounts.account_named(network.hub.store, "Nora")
    assert nora is not None
    page = network.form("/accounts", do="renew", account=nora.id).text
    fresh, code = network.another(), network.code_on(page)
    assert "For the account <strong>Nora</strong>" in fresh.client.get(f"/invitation/{code}").text
    fresh.accept(code, "ignored", "another pass phrase of hers")
    assert old.client.get("/", follow_redirects=False).headers["location"] == "/sign-in"
    assert network.stranger().comes_in("Nora").status_code == 422
    assert network.stranger().comes_in("Nora", "another pass phrase of hers").status_code == 303


def test_an_educator_invites_trainees_alone(network: Network) -> None:
    educator = network.another()
    educator.accept(network.invitation(Rights(educator=True)), "Nora")
    greta = accounts.account_named(network.hub.store, "Greta")
    assert greta is not None
    for form in (
        {"do": "invite", "role": "educator"},
        {"do": "invite", "role": "both"},
        {"do": "renew", "account": greta.id},
        {"do": "close", "account": greta.id},
    ):
        assert educator.form("/accounts", **form).status_code == 403
    assert "Greta" not in educator.client.get("/accounts").text
    problem = educator.form("/accounts", do="invite", role="trainee", trainee="N-104").text
    assert "Nobody has the code &#39;N-104&#39;" in problem


def test_nobody_closes_their_own_account_and_a_closed_one_is_signed_in_nowhere(
    network: Network,
) -> None:
    other = network.another()
    other.accept(network.invitation(BOTH), "Nora")
    store = network.hub.store
    greta, nora = (accounts.account_named(store, name) for name in ("Greta", "Nora"))
    assert greta is not None
    assert nora is not None
    assert network.form("/accounts", do="close", account=greta.id).status_code == 422
    assert network.form("/accounts", do="close", account=nora.id).status_code == 303
    assert other.client.get("/accounts").status_code == 403
    assert network.form("/accounts", do="renew", account=nora.id).status_code == 404


def test_the_fingerprint_stands_on_the_first_page_and_on_what_the_qr_pictures_open(
    network: Network,
) -> None:
    session = network.start()
    display = network.hub.running(session).plan.display
    stranger = network.stranger()
    for text in (
        network.client.get("/").text,
        stranger.client.get(f"/join?code={display}").text,
        stranger.client.get("/sign-in").text,
        stranger.client.get("/trust").text,
    ):
        assert f"{LAN.fingerprint}</" in text
    assert f'value="{display}"' in stranger.client.get(f"/join?code={display}").text


def test_the_pages_that_open_it_say_how_the_screen_of_a_device_stays_awake(
    network: Network,
) -> None:
    display = network.hub.running(network.start()).plan.display
    stranger = network.stranger()
    for text in (
        network.client.get("/").text,
        stranger.client.get("/sign-in").text,
        stranger.client.get(f"/join?code={display}").text,
    ):
        assert re.search(r'href="/trust">How [^<]+</a>, so that its screen stays awake', text)
    page = stranger.client.get("/trust").text
    assert "The screen stays awake" in page
    assert 'href="/authority.crt"' in page
    assert "the time after which the screen goes dark is set in the device" in page


def test_what_a_device_is_to_trust_can_be_loaded_by_anybody(network: Network) -> None:
    answer = network.stranger().client.get("/authority.crt")
    assert answer.content == LAN.authority
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    assert LAN.authority_fingerprint in network.stranger().client.get("/trust").text


def test_codes_of_a_session_open_it_without_an_account_and_end_with_it(network: Network) -> None:
    session = network.start()
    plan = network.hub.running(session).plan
    display, observer = network.stranger(), network.stranger()
    assert display.form("/join", who="display", code=plan.display).status_code == 303
    assert observer.form("/join", who="observer", code=plan.recorder).status_code == 303
    assert observer.client.get(f"/s/{session}").status_code == 200
    observer.token = token_in(observer.client.get(f"/s/{session}").text)
    note = entry("note", 0, {"text": "seen"})
    assert observer.send(session, note)["taken"] == [note["id"]]
    network.token = token_in(network.client.get(f"/s/{session}").text)
    network.send(session, entry("closed", 0, {"why": "finished"}))
    late = network.stranger().form("/join", who="observer", code=plan.recorder)
    assert late.status_code == 422


def test_an_educator_records_by_the_account_whatever_the_browser(network: Network) -> None:
    greta = accounts.account_named(network.hub.store, "Greta")
    assert greta is not None
    session = network.start()
    tablet = network.another()
    tablet.comes_in("Greta")
    tablet.token = token_in(tablet.client.get(f"/s/{session}").text)
    for browser, words in ((network, "from the laptop"), (tablet, "from the tablet")):
        browser.send(session, entry("note", 0, {"text": words}))
    by = {
        event["data"]["text"]: event["by"]
        for event in network.log(session)
        if event["kind"] == "note" and event["by"] != "prebrief"
    }
    assert by == {"from the laptop": greta.id, "from the tablet": greta.id}


def test_without_a_network_the_first_page_says_how_to_open_it_to_a_tablet(desk: Desk) -> None:
    page = desk.first_page()
    assert "Open it to a tablet, a phone or a display" in page
    assert "simengine console --lan" in page
    for address in ("/sign-in", "/accounts", "/trust", "/invitation/CODE"):
        assert desk.client.get(address).status_code == 404
