"""What is installed is what is listed, by hash; its licences are known; and nothing calls out.

What a bill of materials holds: CycloneDX 1.6 (ECMA-424), from memory. Names of packages compare as
PEP 503 says, versions as PEP 440 says, both by the library ``packaging``.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from functools import cache
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).parents[2]
LISTS = ("run.txt", "test.txt", "lock.txt")


@cache
def project() -> dict[str, Any]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def listed(name: str) -> list[tuple[Requirement, list[str]]]:
    """The packages of a list, each with the hashes of its files."""
    text = (ROOT / "requirements" / name).read_text(encoding="utf-8").replace("\\\n", "")
    packages = []
    for line in text.splitlines():
        stated, *hashes = line.split("--hash=")
        packages.append((Requirement(stated.strip()), [digest.strip() for digest in hashes]))
    return packages


def bill() -> dict[str, Any]:
    text = (ROOT / "requirements" / "sbom.cdx.json").read_text(encoding="utf-8")
    read: dict[str, Any] = json.loads(text)
    return read


@pytest.mark.parametrize("name", LISTS)
def test_every_listed_package_has_one_version_and_the_hashes_of_its_files(name: str) -> None:
    assert len(listed(name)) > 40
    for package, hashes in listed(name):
        assert re.fullmatch(r"==[^=,*]+", str(package.specifier)), package
        assert hashes
        assert all(re.fullmatch("sha256:[0-9a-f]{64}", stated) for stated in hashes), package


@pytest.mark.parametrize("name", LISTS)
def test_the_lists_hold_what_the_project_asks_for(name: str) -> None:
    """Where this fails somebody changed pyproject.toml: ``make lock`` writes the lists anew."""
    wanted = [*project()["project"]["dependencies"], *project()["build-system"]["requires"]]
    wanted += project()["project"]["optional-dependencies"].get(name.removesuffix(".txt"), [])
    versions: dict[str, list[Version]] = {}
    for package, _ in listed(name):
        (pin,) = package.specifier
        versions.setdefault(canonicalize_name(package.name), []).append(Version(pin.version))
    for requirement in map(Requirement, wanted):
        pinned = versions.get(canonicalize_name(requirement.name), [])
        assert any(version in requirement.specifier for version in pinned), (
            f"{requirement}: run make lock"
        )


def test_tests_run_on_the_versions_that_the_program_runs_on() -> None:
    tested = {(package.name, str(package.specifier)) for package, _ in listed("test.txt")}
    assert {(package.name, str(package.specifier)) for package, _ in listed("run.txt")} <= tested


def test_the_bill_of_materials_has_each_package_of_the_list() -> None:
    assert (bill()["bomFormat"], bill()["specVersion"]) == ("CycloneDX", "1.6")
    here = {
        (canonicalize_name(package.name), str(package.specifier).removeprefix("=="))
        for package, _ in listed("run.txt")
        if package.marker is None or package.marker.evaluate()
    }
    parts = bill()["components"]
    assert {(canonicalize_name(part["name"]), part["version"]) for part in parts} == here
    assert all(part["purl"].startswith("pkg:pypi/") for part in parts)


def test_every_required_package_states_a_licence_that_does_not_bind_the_program() -> None:
    licences = lock_script().licences
    for part in bill()["components"]:
        stated = ", ".join(licences(part))
        assert stated, part["name"]
        assert not re.search(r"GPL|General Public|Affero|EUPL|SSPL", stated), part["name"]


def test_the_page_of_licences_is_that_of_the_bill() -> None:
    page = lock_script().page(bill())
    assert (ROOT / "docs" / "licences.md").read_text(encoding="utf-8") == page


def lock_script() -> Any:
    spec = spec_from_file_location("lock", ROOT / "requirements" / "lock.py")
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_what_binds_is_an_extra_and_not_required() -> None:
    assert "psycopg" not in {package.name for package, _ in listed("run.txt")}
    extras = project()["project"]["optional-dependencies"]
    assert [Requirement(requirement).name for requirement in extras["postgres"]] == ["psycopg"]


WITHOUT_A_NETWORK = """
import socket, sys

def calls_out(event, arguments):
    if event in ("socket.connect", "socket.sendto", "socket.sendmsg"):
        address = arguments[1]
        if isinstance(address, tuple) and address[0] not in ("127.0.0.1", "::1"):
            sys.exit(f"called out: {event} {address}")
    elif event in ("socket.getaddrinfo", "socket.gethostbyname", "urllib.Request"):
        sys.exit(f"called out: {event} {arguments}")

sys.addaudithook(calls_out)
from simengine.cli.main import main
for command in %s:
    status = main(command)
    if status:
        sys.exit(f"{command} ended with {status}")
"""


def test_no_command_calls_out(tmp_path: Path) -> None:
    """An audit hook (PEP 578) stands before every connection and every look-up of a name.

    The console's pages name no other host: tests/console holds their Content-Security-Policy.
    """
    sessions = ROOT / "scenarios" / "sessions"
    log, data = sessions / "term-not-breathing-steady.session.jsonl", tmp_path / "data"
    commands: list[list[str | Path]] = [
        ["check", "term-not-breathing"],
        ["draw", "term-not-breathing", "--output", tmp_path / "a.svg"],
        ["brief", "cot-term", "--output", tmp_path],
        ["score", log],
        ["verify", log],
        ["debrief", log, "--output", tmp_path],
        ["import", ROOT / "scenarios" / "roster", log, "--data", data],
        ["export", "--csv", "--data", data, "--output", tmp_path / "out"],
        ["store", "check", "--data", data],
        ["store", "backup", tmp_path / "b.sqlite", "--data", data],
    ]
    script = WITHOUT_A_NETWORK % [[str(word) for word in command] for command in commands]
    run = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr


def test_what_calls_out_would_be_found(tmp_path: Path) -> None:
    script = WITHOUT_A_NETWORK.partition("from simengine")[0]
    script += "socket.create_connection(('192.0.2.1', 80), timeout=1)"
    run = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert "called out: socket.getaddrinfo" in run.stderr
