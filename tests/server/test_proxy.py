"""The console behind nginx with ``server/proxy.conf``, and a certificate made on the spot.

nginx is Debian's, and judges the file itself.
"""

from __future__ import annotations

import os
import socket
import ssl
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path

import httpx2
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from tests.console.consoles import IN_TIME_S, Browser, NetworkServer, entry
from tests.need import need

ROOT = Path(__file__).parents[2]
OUTER = "127.0.0.3"


@contextmanager
def proxied(folder: Path, port: int) -> Iterator[ssl.SSLContext]:
    """nginx before the console's ``port``; what a device trusts that knows the hospital's."""
    nginx = need("nginx", "nginx-light")
    if os.geteuid() != 0:
        pytest.skip("needs root: the proxy listens on 443")
    certificate, key = a_certificate(folder)
    conf = (ROOT / "server" / "proxy.conf").read_text(encoding="utf-8")
    for ours, here in (
        ("listen 443 ssl", f"listen {OUTER}:443 ssl"),
        ("server_name sim.hospital.example", f"server_name {OUTER}"),
        ("/etc/simengine/certificate.pem", str(certificate)),
        ("/etc/simengine/key.pem", str(key)),
        ("https://127.0.0.1:8420", f"https://127.0.0.1:{port}"),
    ):
        assert ours in conf
        conf = conf.replace(ours, here)
    folders = "".join(
        f"{what}_temp_path {folder}/{what};\n"
        for what in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    (folder / "nginx.conf").write_text(
        f"daemon off;\nuser root;\npid {folder}/pid;\nerror_log stderr;\nevents {{}}\n"
        f"http {{\n{folders}{conf}}}\n"
    )
    command = [nginx, "-p", str(folder), "-e", "stderr", "-c", str(folder / "nginx.conf")]
    with subprocess.Popen(command, stderr=subprocess.PIPE) as process:
        try:
            until = time.monotonic() + IN_TIME_S
            while not answers():
                assert process.poll() is None, process.stderr.read() if process.stderr else ""
                assert time.monotonic() < until
            yield ssl.create_default_context(cafile=certificate)
        finally:
            process.terminate()


def answers() -> bool:
    try:
        socket.create_connection((OUTER, 443), 1).close()
    except OSError:
        return False
    return True


def a_certificate(folder: Path) -> tuple[Path, Path]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "an invented hospital")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(IPv4Address(OUTER))]), critical=False
        )
        .sign(key, hashes.SHA256())
    )
    files = folder / "hospital.pem", folder / "hospital.key"
    files[0].write_bytes(made.public_bytes(serialization.Encoding.PEM))
    files[1].write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return files


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        return int(taken.getsockname()[1])


def test_a_session_runs_through_the_proxy_and_its_news_come_at_once(tmp_path: Path) -> None:
    port = free_port()
    network = NetworkServer(tmp_path / "data", port, f"{OUTER}:443")
    try:
        assert network.address == f"https://{OUTER}"
        with (
            proxied(tmp_path, port) as trust,
            httpx2.Client(base_url=network.address, verify=trust, timeout=IN_TIME_S) as client,
        ):
            health = client.get("/health")
            assert health.status_code == 200
            assert health.headers.get_list("strict-transport-security") == ["max-age=2592000"]
            browser = Browser(client)
            browser.accept(network.first.rpartition("/")[2], "Greta")
            browser.open("/")
            session = browser.start()
            assert f"{OUTER}/d/" in client.get(f"/s/{session}").text
            with client.stream("GET", f"/s/{session}/stream") as news:
                lines = news.iter_lines()
                assert any(line.startswith("data: ") for line in lines)
                browser.send(session, entry("event", 0, {"name": "birth"}))
                assert any('"kind":"event"' in line for line in lines)
    finally:
        network.end()
