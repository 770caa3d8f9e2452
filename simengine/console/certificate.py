"""The certificate of a console on a network: the hospital's, or one made on the spot.

Rules of this file:

- What is made is an authority and a certificate that it signs: devices trust the authority once,
  and the certificate may change with the addresses of this machine without their being asked again.
- The authority can vouch for addresses of private networks and for those of this console alone
  (name constraints, RFC 5280, section 4.2.1.10), so that its key, which lies in the data folder,
  opens nothing else to whoever steals it.
- Both are kept and used again as long as they hold for every address and for a month more.
- A certificate is valid for 825 days at most: some devices take none for longer (from memory).
- A certificate that is given is never changed; what is wrong with it is told in words.
"""

from __future__ import annotations

import ipaddress
import ssl
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from simengine.private_files import private_folder, write_private

FOLDER = "network"
_DAYS, _AUTHORITYS_DAYS, _DAYS_LEFT = 825, 3650, 30
# RFC 1918, RFC 6598, RFC 3927 (link local) and RFC 1122 (loopback)
_PRIVATE = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "100.64.0.0/10",
    "169.254.0.0/16",
    "127.0.0.0/8",
)
_LOCAL_NAMES = ("localhost", "local")


class CertificateError(Exception):
    """A certificate that can't be used; the words are for a person."""


@dataclass(frozen=True, slots=True)
class Certificate:
    """Files for TLS and what a person compares: SHA-256, in pairs of hexadecimal digits.

    ``authority``: who signed it (DER), where it was made here, else empty. ``vouched_for``: it was
    given, and somebody else than its owner signed it.
    """

    certificate: Path
    key: Path
    fingerprint: str
    authority: bytes = b""
    authority_fingerprint: str = ""
    vouched_for: bool = False


def given_certificate(certificate: Path, key: Path) -> Certificate:
    """Return a certificate that was given, with its key. Raises ``CertificateError``."""
    for file, what in ((certificate, "certificate"), (key, "key")):
        if not file.is_file():
            raise CertificateError(f"{file}: there is no such file for the {what}")

    def no_password() -> str:
        raise CertificateError(f"{key}: the key is locked with a password; give one without")

    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(
            certificate, key, no_password
        )
        first = x509.load_pem_x509_certificates(certificate.read_bytes())[0]
    except (ssl.SSLError, ValueError, OSError) as error:
        raise CertificateError(
            f"{certificate} and {key}: expected a certificate and its own key, each as PEM "
            f"({getattr(error, 'reason', None) or error})"
        ) from error
    if first.not_valid_after_utc < datetime.now(UTC):
        day = first.not_valid_after_utc.date().isoformat()
        raise CertificateError(f"{certificate}: the certificate ended on {day}; ask for a new one")
    signed_by_another = first.issuer != first.subject
    return Certificate(certificate, key, fingerprint_of(first), vouched_for=signed_by_another)


def made_certificate(data: Path, hosts: Sequence[str]) -> Certificate:
    """Return a certificate for ``hosts`` (names and addresses), made now or before in ``data``."""
    folder = data / FOLDER
    private_folder(folder)
    authority = _read(folder / "authority.pem")
    if authority is None or not _vouches_for(authority, hosts):
        authority = _make_authority(folder, hosts)
        (folder / "certificate.pem").unlink(missing_ok=True)
    made = _read(folder / "certificate.pem")
    if made is None or not _holds_for(made, hosts):
        made = _make(folder, authority, hosts)
    return Certificate(
        folder / "certificate.pem",
        folder / "certificate.key",
        fingerprint_of(made),
        authority.public_bytes(serialization.Encoding.DER),
        fingerprint_of(authority),
    )


def fingerprint_of(certificate: x509.Certificate) -> str:
    """Return a certificate's SHA-256 as browsers write it: ``AB:CD:…``."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _make_authority(folder: Path, hosts: Sequence[str]) -> x509.Certificate:
    key = ec.generate_private_key(ec.SECP256R1())
    name = _name("simengine console authority")
    permitted = [x509.IPAddress(ipaddress.ip_network(network)) for network in _PRIVATE]
    names: list[x509.GeneralName] = [x509.DNSName(name) for name in _LOCAL_NAMES]
    for host in hosts:
        if isinstance(_general(host), x509.DNSName):
            names += [x509.DNSName(host)] if host not in _LOCAL_NAMES else []
        elif not _is_private(host):
            permitted.append(x509.IPAddress(ipaddress.ip_network(host)))
    made = (
        _unsigned(name, name, key, _AUTHORITYS_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints([*permitted, *names], None), critical=True)
        .sign(key, hashes.SHA256())
    )
    _write(folder, "authority", made, key)
    return made


def _make(folder: Path, authority: x509.Certificate, hosts: Sequence[str]) -> x509.Certificate:
    signing = serialization.load_pem_private_key((folder / "authority.key").read_bytes(), None)
    assert isinstance(signing, ec.EllipticCurvePrivateKey)
    key = ec.generate_private_key(ec.SECP256R1())
    made = (
        _unsigned(_name("simengine console"), authority.subject, key, _DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.SubjectAlternativeName([_general(host) for host in hosts]), critical=False
        )
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(signing.public_key()),
            critical=False,
        )
        .sign(signing, hashes.SHA256())
    )
    _write(folder, "certificate", made, key)
    return made


def _unsigned(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, days: int
) -> x509.CertificateBuilder:
    now = datetime.now(UTC)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))  # for devices whose clock is behind
        .not_valid_after(now + timedelta(days=days - 1))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )


def _write(
    folder: Path, name: str, certificate: x509.Certificate, key: ec.EllipticCurvePrivateKey
) -> None:
    pem = serialization.Encoding.PEM
    plain = serialization.NoEncryption()
    held = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, plain)
    write_private(folder / f"{name}.key", held)
    write_private(folder / f"{name}.pem", certificate.public_bytes(pem))


def _read(file: Path) -> x509.Certificate | None:
    """Return a certificate that was made before; ``None`` if it or its key can't be used."""
    key = file.with_suffix(".key")
    try:
        made = x509.load_pem_x509_certificate(file.read_bytes())
        held = serialization.load_pem_private_key(key.read_bytes(), None)
    except (OSError, ValueError):
        return None
    if held.public_key() != made.public_key():
        return None
    soon = datetime.now(UTC) + timedelta(days=_DAYS_LEFT)
    return made if made.not_valid_after_utc > soon else None


def _holds_for(made: x509.Certificate, hosts: Sequence[str]) -> bool:
    names = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return set(names) == {_general(host) for host in hosts}


def _vouches_for(authority: x509.Certificate, hosts: Sequence[str]) -> bool:
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = limits.permitted_subtrees or []
    networks = [subtree.value for subtree in permitted if isinstance(subtree, x509.IPAddress)]
    names = [subtree.value for subtree in permitted if isinstance(subtree, x509.DNSName)]
    for host in hosts:
        if isinstance(_general(host), x509.DNSName):
            if not any(host == name or host.endswith(f".{name}") for name in names):
                return False
        elif not any(
            ipaddress.ip_address(host) in network
            for network in networks
            if isinstance(network, ipaddress.IPv4Network)
        ):
            return False
    return True


def _general(host: str) -> x509.DNSName | x509.IPAddress:
    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _is_private(host: str) -> bool:
    address = ipaddress.ip_address(host)
    return any(address in ipaddress.ip_network(network) for network in _PRIVATE)


def _name(common: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])
