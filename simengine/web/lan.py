"""How a console on a network is reached, and how a device can tell that it is this one."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lan:
    """A console on a network. ``address``: what its links begin with, https://….

    ``fingerprint``: SHA-256 of its certificate. ``authority``: the certificate (DER) of who signed
    that, where the console made both itself, else empty; ``authority_fingerprint``: its SHA-256.
    ``vouched_for``: the certificate was given, and somebody else than its owner signed it.
    """

    address: str
    fingerprint: str
    authority: bytes = b""
    authority_fingerprint: str = ""
    vouched_for: bool = False
