"""A device that trusts the console's certificate keeps its screen awake; another opens nothing.

The certificate is made on the spot. The browser is told to take this one key for trusted, which
leaves its own store of authorities as it is; its wake lock is the real one.
"""

from __future__ import annotations

import re
import ssl
from base64 import b64encode
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from urllib.parse import urlsplit

import httpx2
import pytest
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from cryptography.x509 import load_pem_x509_certificate
from playwright.sync_api import Browser, Error, expect

from tests.conftest import CHROMIUM_FLAGS
from tests.console.consoles import IN_TIME_S, NetworkServer
from tests.console.consoles import Browser as Device
from tests.need import need

HELD = """
const asked = WakeLock.prototype.request;
WakeLock.prototype.request = async function (kind) {
  const lock = await asked.call(this, kind);
  document.documentElement.dataset.held = lock.type;
  return lock;
};
"""


def key_of(address: str) -> str:
    """The SHA-256 of the key that a server shows, in base 64, as the browser's option wants it."""
    at = urlsplit(address)
    assert at.hostname is not None
    assert at.port is not None
    shown = ssl.get_server_certificate((at.hostname, at.port))
    key = load_pem_x509_certificate(shown.encode()).public_key()
    return b64encode(
        sha256(key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)).digest()
    ).decode()


def test_a_display_that_trusts_the_certificate_stays_awake_and_another_opens_nothing(
    chromium: Browser, tmp_path: Path
) -> None:
    server = NetworkServer(tmp_path / "data")
    option = f"--ignore-certificate-errors-spki-list={key_of(server.address)}"
    trusting = chromium.browser_type.launch(
        executable_path=need("chromium", "chromium"), args=[*CHROMIUM_FLAGS, option]
    )
    try:
        with httpx2.Client(
            base_url=server.address, verify=server.trust(), timeout=IN_TIME_S
        ) as client:
            educator = Device(client)
            educator.accept(server.first.rpartition("/")[2], "Greta")
            educator.open("/")
            session = educator.start()
            match = re.search(r"https://\S+/d/\w+", client.get(f"/s/{session}").text)
        assert match is not None
        page = trusting.new_page()
        page.add_init_script(HELD)
        page.goto(match[0])
        expect(page.locator("html")).to_have_attribute("data-held", "screen")
        expect(page.locator("#dim")).to_be_hidden()
        assert page.evaluate("isSecureContext")
        with (
            closing(chromium.new_page()) as stranger,
            pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"),
        ):
            stranger.goto(match[0])
    finally:
        trusting.close()
        server.end()
