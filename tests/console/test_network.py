"""A console on a network as a process of its own, reached by another address or another machine.

The other machine is a network namespace of Linux, where the test may make one (as root).
"""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2
import pytest

from simengine.cli.main import main
from tests.console.consoles import IN_TIME_S, PASSWORD, Browser, NetworkServer

HERE, THERE = "10.213.77.1", "10.213.77.2"
FIRST_PAGE = """
import ssl, sys, urllib.request
trust = ssl.create_default_context(cafile=sys.argv[2])
with urllib.request.urlopen(sys.argv[1] + "/sign-in", context=trust, timeout=20) as answer:
    print(answer.status, answer.read().decode())
"""


@pytest.fixture
def network(tmp_path: Path) -> Iterator[NetworkServer]:
    made = NetworkServer(tmp_path / "data")
    yield made
    made.end()


def test_it_is_served_over_tls_at_its_address_and_prints_the_fingerprint(
    network: NetworkServer,
) -> None:
    assert re.fullmatch(r"https://127\.0\.0\.2:\d+", network.address)
    port = int(network.address.rpartition(":")[2])
    trust = ssl.create_default_context(cafile=network.authority)
    with (
        socket.create_connection(("127.0.0.2", port), IN_TIME_S) as raw,
        trust.wrap_socket(raw, server_hostname="127.0.0.2") as shaken,
    ):
        certificate = shaken.getpeercert(binary_form=True)
        assert shaken.version() in ("TLSv1.2", "TLSv1.3")
    assert certificate is not None
    import hashlib

    digest = hashlib.sha256(certificate).hexdigest().upper()
    assert ":".join(digest[at : at + 2] for at in range(0, 64, 2)) == network.fingerprint
    with pytest.raises(httpx2.TransportError):
        httpx2.get(network.address.replace("https", "http"))


def test_the_first_account_is_made_with_the_link_and_invites_the_others(
    network: NetworkServer,
) -> None:
    greta = network.browser()
    code = network.first.rpartition("/")[2]
    greta.accept(code, "Greta")
    assert f"Open <strong>{network.address}</strong> there" in greta.client.get("/").text
    assert network.fingerprint in greta.client.get("/").text
    again = network.browser()
    again.open("/sign-in")
    assert again.client.get(f"/invitation/{code}").status_code == 422
    network.press_enter()
    network.browser().accept(network.first.rpartition("/")[2], "Nora")
    assert network.browser().comes_in("Nora").status_code == 303


def test_who_is_signed_in_stays_so_when_the_server_is_started_again(
    network: NetworkServer, tmp_path: Path
) -> None:
    greta = network.browser()
    greta.accept(network.first.rpartition("/")[2], "Greta")
    port = int(network.address.rpartition(":")[2])
    fingerprint = network.fingerprint
    network.end()
    again = NetworkServer(tmp_path / "data", port)
    try:
        assert again.fingerprint == fingerprint
        assert again.first == "", "there is an account, and no link is printed"
        browser = again.browser(greta)
        assert browser.client.get("/accounts").status_code == 200
    finally:
        again.end()


def test_another_name_in_the_host_header_is_not_served(network: NetworkServer) -> None:
    browser = network.browser()
    answer = browser.client.get("/sign-in", headers={"host": "elsewhere.example"})
    assert answer.status_code == 421


def test_connections_that_never_shake_hands_keep_nobody_out(network: NetworkServer) -> None:
    port = int(network.address.rpartition(":")[2])
    silent = [socket.create_connection(("127.0.0.2", port), IN_TIME_S) for _ in range(200)]
    try:
        assert network.browser().client.get("/sign-in").status_code == 200
    finally:
        for connection in silent:
            connection.close()


@contextmanager
def another_machine() -> Iterator[str]:
    """A network namespace, joined to this one by a cable of its own; its name."""
    ip = shutil.which("ip")
    name = f"simengine-{os.getpid()}"
    if ip is None or os.name != "posix" or os.geteuid() != 0:
        pytest.skip("needs root and ip (iproute2) to make a network namespace")

    def run(*words: str) -> bool:
        return subprocess.run([ip, *words], capture_output=True).returncode == 0

    if not run("netns", "add", name):
        pytest.skip("this machine lets no network namespace be made")
    try:
        made = [
            run("link", "add", "simengine0", "type", "veth", "peer", "name", "eth0", "netns", name),
            run("addr", "add", f"{HERE}/24", "dev", "simengine0"),
            run("link", "set", "simengine0", "up"),
            run("-n", name, "addr", "add", f"{THERE}/24", "dev", "eth0"),
            run("-n", name, "link", "set", "eth0", "up"),
        ]
        if not all(made):
            pytest.skip("this machine lets no cable be laid into a network namespace")
        yield name
    finally:
        run("netns", "del", name)
        run("link", "del", "simengine0")


def test_another_machine_reaches_it_by_the_address_of_its_links(tmp_path: Path) -> None:
    with another_machine() as name:
        made = NetworkServer(tmp_path / "data", address=HERE)
        try:
            assert made.address.startswith(f"https://{HERE}:")
            result = subprocess.run(
                ["ip", "netns", "exec", name, sys.executable, "-c", FIRST_PAGE,
                 made.address, str(made.authority)],
                capture_output=True, text=True, timeout=60,
            )  # fmt: skip
        finally:
            made.end()
    assert result.returncode == 0, result.stderr
    assert result.stdout.startswith("200 ")
    assert made.fingerprint in result.stdout


def test_what_is_asked_wrongly_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    data = ["--data", str(tmp_path / "data"), "--port", "0"]
    for words, message in (
        (["--address", "10.0.0.1"], "only work with --lan"),
        (["--lan", "--key", "x.key"], "--certificate and --key go together"),
        (["--lan", "--certificate", "x.pem", "--key", "x.key"], "no such file for the certificate"),
    ):
        assert main(["console", *words, *data]) in (1, 2)
        assert message in capsys.readouterr().err


def test_a_trainee_reads_their_own_pages_from_a_phone_and_nobody_else_s(
    network: NetworkServer,
) -> None:
    greta = network.browser()
    greta.accept(network.first.rpartition("/")[2], "Greta")
    roster = b"code,name,profession,unit,since,until\nN-104,Ada Example,nurse,ward,2024-03-01,\n"
    files = [("files", ("people.csv", roster, "text/csv"))]
    form = {"csrf_token": greta.token}
    dry = greta.client.post("/cohort/roster", data=form, files=files)
    kept = dict(re.findall(r'name="(file\.[^"]+)" value="([^"]*)"', dry.text))
    empty = [("files", ("", b""))]
    saved = greta.client.post(
        "/cohort/roster", data={**form, "save": "yes", "dates": "", **kept}, files=empty
    )
    assert saved.status_code == 303, saved.text
    page = greta.form("/accounts", do="invite", role="trainee", trainee="N-104").text
    code = re.search(r'<p class="code">([^<]+)</p>', page)
    assert code is not None
    phone = network.browser()
    phone.accept(code.group(1), "Ada")
    assert phone.client.get("/", follow_redirects=False).headers["location"] == (
        "/cohort/people/N-104"
    )
    assert phone.client.get("/cohort/people/N-104/data").json()["account"]["name"] == "Ada"
    for address in ("/cohort/people/M-021", "/cohort", "/accounts", "/cohort/shared"):
        assert phone.client.get(address).status_code == 403
    assert json.loads(phone.client.get("/time").text)["now_ms"] > 0


def test_a_wrong_password_is_refused_and_the_right_one_taken_over_tls(
    network: NetworkServer,
) -> None:
    network.browser().accept(network.first.rpartition("/")[2], "Greta")
    browser: Browser = network.browser()
    assert browser.comes_in("Greta", "not the password").status_code == 422
    assert browser.comes_in("Greta", PASSWORD).status_code == 303
