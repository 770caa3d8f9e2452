"""The certificate of a console on a network, checked by OpenSSL and by a TLS client."""

from __future__ import annotations

import ssl
import stat
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from simengine.console import certificate as module
from simengine.console.addresses import headers_of, host, hosts_of, link_of
from simengine.console.certificate import CertificateError, given_certificate, made_certificate
from tests.need import need

HOSTS = ("10.20.30.40", "sim-cot.local", "127.0.0.1", "localhost")


def shakes_hands(folder: Path, authority: Path, name: str) -> bool:
    """Whether a client that trusts the authority takes the certificate for a name or address."""
    server = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    server.load_cert_chain(folder / "certificate.pem", folder / "certificate.key")
    client = ssl.create_default_context(cafile=authority)
    there, back = ssl.MemoryBIO(), ssl.MemoryBIO()
    connection = client.wrap_bio(back, there, server_hostname=name)
    other = server.wrap_bio(there, back, server_side=True)
    for _ in range(4):
        for side in (connection, other):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLCertVerificationError:
                return False
    return True


def test_it_holds_for_every_address_of_the_console_and_for_no_other(tmp_path: Path) -> None:
    made_certificate(tmp_path, HOSTS)
    folder = tmp_path / module.FOLDER
    for name in HOSTS:
        assert shakes_hands(folder, folder / "authority.pem", name), name
    for name in ("10.20.30.41", "example.org"):
        assert not shakes_hands(folder, folder / "authority.pem", name), name


def test_the_fingerprint_is_the_one_that_openssl_tells(tmp_path: Path) -> None:
    made = made_certificate(tmp_path, HOSTS)
    command = [need("openssl", "openssl"), "x509", "-noout", "-fingerprint", "-sha256", "-in"]
    for file, fingerprint in (
        (made.certificate, made.fingerprint),
        (tmp_path / module.FOLDER / "authority.pem", made.authority_fingerprint),
    ):
        result = subprocess.run([*command, str(file)], capture_output=True, text=True, check=True)
        assert result.stdout.strip().partition("=")[2] == fingerprint


def test_its_keys_are_for_the_owner_alone(tmp_path: Path) -> None:
    made_certificate(tmp_path, HOSTS)
    folder = tmp_path / module.FOLDER
    assert {file.name for file in folder.iterdir()} == {
        "authority.key", "authority.pem", "certificate.key", "certificate.pem",
    }  # fmt: skip
    assert {stat.S_IMODE(file.stat().st_mode) for file in folder.iterdir()} == {0o600}


def test_the_authority_can_vouch_for_nothing_elsewhere(tmp_path: Path) -> None:
    """Who steals its key signs for another site, and OpenSSL takes none (RFC 5280)."""
    made_certificate(tmp_path, HOSTS)
    folder = tmp_path / module.FOLDER
    authority = x509.load_pem_x509_certificate((folder / "authority.pem").read_bytes())
    for name, taken in (("10.99.0.1", True), ("198.51.100.7", False), ("example.org", False)):
        module._make(folder, authority, (name,))
        assert shakes_hands(folder, folder / "authority.pem", name) is taken, name


def test_it_is_kept_as_long_as_it_holds_and_the_authority_stays_as_addresses_change(
    tmp_path: Path,
) -> None:
    first = made_certificate(tmp_path, HOSTS)
    assert made_certificate(tmp_path, HOSTS) == first
    moved = made_certificate(tmp_path, ("192.168.7.7", *HOSTS[1:]))
    assert moved.fingerprint != first.fingerprint
    assert moved.authority == first.authority
    elsewhere = made_certificate(tmp_path, ("198.51.100.7", *HOSTS[1:]))
    assert elsewhere.authority != first.authority
    renamed = made_certificate(tmp_path, ("198.51.100.7", "sim.hospital.example"))
    assert renamed.authority != elsewhere.authority


def test_one_that_ends_within_a_month_or_lost_its_key_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as short:
        short.setattr(module, "_DAYS", 20)
        first = made_certificate(tmp_path, HOSTS)
    second = made_certificate(tmp_path, HOSTS)
    assert second.fingerprint != first.fingerprint
    second.key.write_text("no key", encoding="ascii")
    third = made_certificate(tmp_path, HOSTS)
    assert third.fingerprint != second.fingerprint
    assert third.authority == second.authority == first.authority


@pytest.fixture
def hospitals(tmp_path: Path) -> tuple[Path, Path]:
    """A certificate that was given, and its key."""
    return written(tmp_path, ec.generate_private_key(ec.SECP256R1()), days=30)


def written(
    folder: Path,
    key: ec.EllipticCurvePrivateKey,
    days: int,
    signed_by: str = "an authority of the hospital",
) -> tuple[Path, Path]:
    name, signer = (
        x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])
        for common in ("sim.hospital.example", signed_by)
    )
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(signer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=60))
        .not_valid_after(now + timedelta(days=days))
        .sign(key, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    pem, form = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8
    (folder / "given.pem").write_bytes(made.public_bytes(pem))
    (folder / "given.key").write_bytes(key.private_bytes(pem, form, plain))
    return folder / "given.pem", folder / "given.key"


def test_the_hospital_s_certificate_is_taken_as_it_is(hospitals: tuple[Path, Path]) -> None:
    taken = given_certificate(*hospitals)
    assert (taken.certificate, taken.key) == hospitals
    assert (taken.authority, taken.authority_fingerprint) == (b"", "")
    assert len(taken.fingerprint) == 32 * 3 - 1


def test_one_that_nobody_else_signed_is_taken_and_not_counted_as_vouched_for(
    tmp_path: Path, hospitals: tuple[Path, Path]
) -> None:
    assert given_certificate(*hospitals).vouched_for
    key = ec.generate_private_key(ec.SECP256R1())
    own = written(tmp_path, key, days=30, signed_by="sim.hospital.example")
    assert not given_certificate(*own).vouched_for
    assert not made_certificate(tmp_path, HOSTS).vouched_for


def test_what_is_wrong_with_a_certificate_is_said(
    tmp_path: Path, hospitals: tuple[Path, Path]
) -> None:
    certificate, key = hospitals
    other = tmp_path / "other"
    other.mkdir()
    _, another_key = written(other, ec.generate_private_key(ec.SECP256R1()), days=30)
    old = tmp_path / "old"
    old.mkdir()
    ended = written(old, ec.generate_private_key(ec.SECP256R1()), days=-1)
    for files, words in (
        ((tmp_path / "none.pem", key), "there is no such file for the certificate"),
        ((certificate, tmp_path / "none.key"), "there is no such file for the key"),
        ((certificate, another_key), "expected a certificate and its own key"),
        ((key, certificate), "expected a certificate and its own key"),
        (ended, "the certificate ended on"),
    ):
        with pytest.raises(CertificateError, match=words):
            given_certificate(*files)


def test_a_key_under_a_password_is_refused_in_words(
    tmp_path: Path, hospitals: tuple[Path, Path]
) -> None:
    certificate, key = hospitals
    held = serialization.load_pem_private_key(key.read_bytes(), None)
    locked = tmp_path / "locked.key"
    locked.write_bytes(
        held.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.BestAvailableEncryption(b"secret"),
        )
    )
    with pytest.raises(CertificateError, match="locked with a password"):
        given_certificate(certificate, locked)


def test_what_was_given_comes_first_in_links_and_this_machine_last() -> None:
    assert hosts_of(["sim-cot.local"])[0] == "sim-cot.local"
    assert hosts_of(["sim-cot.local"])[-2:] == ("127.0.0.1", "localhost")


def test_links_and_host_headers_follow_what_was_given() -> None:
    given = ["sim.hospital.example:443", "10.20.30.40"]
    assert link_of(given[0], 8420) == "https://sim.hospital.example"
    assert link_of(given[1], 8420) == "https://10.20.30.40:8420"
    assert link_of("simcot:8443", 8420) == "https://simcot:8443"
    assert hosts_of(given)[:2] == ("sim.hospital.example", "10.20.30.40")
    served = headers_of(given, hosts_of(given), 8420)
    for header in (
        "sim.hospital.example", "sim.hospital.example:443", "sim.hospital.example:8420",
        "10.20.30.40", "10.20.30.40:443", "10.20.30.40:8420", "127.0.0.1:8420", "localhost:8420",
    ):  # fmt: skip
        assert header in served
    assert "elsewhere.example" not in served
    assert "localhost" not in served


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        (" 10.20.30.40 ", "10.20.30.40"),
        ("Sim-Cot.local.", "sim-cot.local"),
        ("simcot", "simcot"),
        ("sim.hospital.example:443", "sim.hospital.example:443"),
    ],
)
def test_an_address_is_taken_as_it_stands_in_links(typed: str, meant: str) -> None:
    assert host(typed) == meant


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "https://simcot",
        "10.20.30",
        "10.20.30.400",
        "sim_cot",
        "-sim",
        "fe80::1",
        "a b",
        "simcot:0",
        "x:y",
    ],
)
def test_what_is_no_address_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="expected a name or an IPv4 address"):
        host(typed)
