"""By which addresses this machine is reached over its network.

Rules of this file:

- The first is the one that links and QR codes hold: what was given, else the address from which
  this machine would send to others. Nothing is sent to learn it.
- What is given may name another port: that of a proxy in front of the console, by which links lead.
- Where a machine has no network but itself that is said, rather than a link printed that opens
  nowhere.
"""

from __future__ import annotations

import ipaddress
import re
import socket
from collections.abc import Sequence

LOOPBACK = ("127.0.0.1", "localhost")
# From RFC 5737, section 3: a net for documentation, to which there is never a way of its own.
_ELSEWHERE = ("192.0.2.1", 9)
_NAME = re.compile(
    r"(?=.{1,253}$)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*"
)


_HTTPS = "443"
_EXPECTED = (
    "expected a name or an IPv4 address of this machine, such as sim-cot.local or 10.20.30.40, "
    "found {!r}"
)


class NoAddressError(Exception):
    """This machine has no address on a network; the words are for a person."""


def hosts_of(given: Sequence[str]) -> tuple[str, ...]:
    """Return names and addresses of this machine, the one for links first, loopback last.

    ``given``: what somebody says it is called. Raises ``NoAddressError``.
    """
    names = [*(name.partition(":")[0] for name in given), *_own()]
    if not names:
        raise NoAddressError(
            "this machine has no address on a network: connect it, or say with --address by which "
            "name or address others reach it"
        )
    return tuple(dict.fromkeys([*names, *LOOPBACK]))


def link_of(given: str, port: int) -> str:
    """Return what links begin with, to a host (with a port, if not ``port``) over TLS."""
    name, _, outer = given.partition(":")
    outer = outer or str(port)
    return f"https://{name}" if outer == _HTTPS else f"https://{name}:{outer}"


def headers_of(given: Sequence[str], hosts: Sequence[str], port: int) -> tuple[str, ...]:
    """Return the Host headers that are ours: by ``port``, and as a proxy in front passes on."""
    names = [name.partition(":")[0] for name in given]
    outer = [*given, *names, *(f"{name}:{_HTTPS}" for name in names)]
    return tuple(dict.fromkeys([*outer, *(f"{name}:{port}" for name in hosts)]))


def host(text: str) -> str:
    """Return a name or an IPv4 address, with a port if there is one, as it stands in links.

    Raises ``ValueError``.
    """
    typed = text.strip().lower()
    name, colon, port = typed.partition(":")
    name = name.rstrip(".")
    try:
        name = str(ipaddress.IPv4Address(name))
    except ValueError:
        if not _NAME.fullmatch(name) or name.replace(".", "").isdigit():
            raise ValueError(_EXPECTED.format(text)) from None
    if colon and not (port.isascii() and port.isdigit() and 0 < int(port) < 65536):
        raise ValueError(_EXPECTED.format(text))
    return f"{name}{colon}{port}"


def _own() -> list[str]:
    addresses = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(_ELSEWHERE)  # chooses the way out, and sends nothing
            addresses.append(asking.getsockname()[0])
        except OSError:
            pass
    try:
        named = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        addresses += [str(entry[4][0]) for entry in named]
    except OSError:
        pass
    return [address for address in addresses if not ipaddress.ip_address(address).is_loopback]
