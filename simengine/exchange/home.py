"""The hospital's own address, below which its codes and ids are unique."""

from __future__ import annotations

from urllib.parse import urlsplit


def home_of(address: str) -> str:
    """Return an address as the home of codes. Raises ``ValueError`` if it is no web address."""
    try:
        parts = urlsplit(address)
        host, port = parts.hostname, parts.port
    except ValueError as error:
        raise ValueError(str(error)) from None
    if parts.scheme not in ("http", "https") or not host or not address.isascii():
        raise ValueError("it needs http:// or https:// and a host")
    if parts.query or parts.fragment or parts.username or parts.password or port == 0:
        raise ValueError("it may hold a host and a path, and nothing else")
    if set(address) & set(' "<>\\^`{|}') or not address.isprintable():
        raise ValueError("it holds a character that no address may have")
    return address.rstrip("/")
