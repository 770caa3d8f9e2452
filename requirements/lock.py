"""Write anew which version of each package is installed, and what is known of it: ``make lock``.

Rules of this file:

- ``run.txt`` is what the program runs on, ``test.txt`` that and what the tests need, ``lock.txt``
  that and what this file needs, each package with the hashes of its files. All hold for every
  Python that ``pyproject.toml`` allows, and have what builds the package too.
- What this file needs is installed in a folder of its own and goes with it: with it there,
  ``jsonschema`` takes a second longer to import, which every process of the tests would pay.
- Versions stay as they are where they can: ``make lock ARGS=--upgrade`` takes the newest, and
  ``ARGS="--upgrade-package NAME"`` the newest of one. That is to be done each month, and at once
  where a package has a fault that lets somebody in.
- ``sbom.cdx.json`` is the bill of materials of ``run.txt`` (CycloneDX 1.6, an open standard), and
  ``docs/licences.md`` its licences, as the packages themselves state them.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

ROOT = Path(__file__).parents[1]
LISTS = {
    "run.txt": (),
    "test.txt": ("--extra", "test", "--constraint", "requirements/run.txt"),
    "lock.txt": ("--extra", "lock", "--constraint", "requirements/run.txt"),
}
BILL = ROOT / "requirements" / "sbom.cdx.json"
PAGE = ROOT / "docs" / "licences.md"
HEAD = """\
# Licences

What the program runs on, each with the licence that it states itself. From the bill of materials
([sbom.cdx.json](../requirements/sbom.cdx.json), CycloneDX 1.6), written by `make lock`; a test
holds the two together, and refuses a licence that would bind the program itself (GPL, LGPL, AGPL).

The driver for PostgreSQL, psycopg, is under LGPL-3.0-only. It is not required: only who keeps the
store in a PostgreSQL database installs it, with `simengine[postgres]`.

| package | version | licence |
|---|---|---|
"""


def main() -> None:
    """Write the lists, the bill and the page."""
    builds = tomllib.loads((ROOT / "pyproject.toml").read_text())["build-system"]["requires"]
    for name, more in LISTS.items():
        command = [
            "uv", "pip", "compile", "pyproject.toml", "-", "--quiet", "--universal",
            "--python-version", "3.11", "--generate-hashes", "--no-header", "--no-annotate",
            "--output-file", f"requirements/{name}", *more, *sys.argv[1:],
        ]  # fmt: skip
        subprocess.run(command, cwd=ROOT, input="\n".join(builds), text=True, check=True)
    write_bill()
    bill = json.loads(BILL.read_text(encoding="utf-8"))
    PAGE.write_text(page(bill), encoding="utf-8")


def write_bill() -> None:
    """Install what the program runs on into a folder of its own, and have it told from another."""
    with TemporaryDirectory() as folder:
        run, lock = (installed(name, folder) for name in ("run", "lock"))
        command = [
            f"{lock}/cyclonedx-py", "environment", "--pyproject", "pyproject.toml",
            "--spec-version", "1.6", "--output-reproducible", "--output-file", str(BILL),
            f"{run}/python",
        ]  # fmt: skip
        subprocess.run(command, cwd=ROOT, check=True)


def installed(name: str, folder: str) -> str:
    """Install a list in a folder, and return where its programs are."""
    here = f"{folder}/{name}"
    for command in (
        ["uv", "venv", "--quiet", "--python", sys.executable, here],
        ["uv", "pip", "install", "--quiet", "--python", f"{here}/bin/python", "--require-hashes",
         "--requirement", f"requirements/{name}.txt"],
    ):  # fmt: skip
        subprocess.run(command, cwd=ROOT, check=True)
    return f"{here}/bin"


def page(bill: Mapping[str, Any]) -> str:
    """Return the page of licences."""
    rows = sorted(
        (part["name"].lower(), part["version"], ", ".join(licences(part)))
        for part in bill["components"]
    )
    return HEAD + "".join(f"| {name} | {version} | {stated} |\n" for name, version, stated in rows)


def licences(part: Mapping[str, Any]) -> Iterator[str]:
    """Yield what a package states of its licence."""
    for stated in part.get("licenses", ()):
        if "expression" in stated:
            yield stated["expression"]
        else:
            licence = stated["license"]
            name = licence.get("id") or licence["name"]
            yield name.removeprefix("License :: ").removeprefix("OSI Approved :: ")


if __name__ == "__main__":
    main()
