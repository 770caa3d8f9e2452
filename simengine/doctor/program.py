"""Whether the program itself is whole: Python, packages, what ships with it."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, requires, version

from packaging.requirements import Requirement

from simengine import __version__
from simengine.doctor.finding import Finding
from simengine.resources import scenarios_dir, schemas_dir

TRIED = ((3, 11), (3, 13))
"""The oldest and the newest Python that the program is tried on."""


def of_program() -> Iterator[Finding]:
    """Look at versions and shipped files."""
    python = sys.version_info[:2]
    versions = f"simengine {__version__} on Python {python[0]}.{python[1]}"
    if TRIED[0] <= python <= TRIED[1]:
        yield Finding("program", "good", versions)
    else:
        do = "if something is odd, use Python 3.13"
        yield Finding("program", "look", f"{versions}, on which it was not tried", do)
    wrong = list(_wrong_packages())
    if wrong:
        do = "install the program anew: pip install --force-reinstall simengine"
        yield Finding("packages", "wrong", "; ".join(wrong), do)
    else:
        yield Finding("packages", "good", "all that the program needs are here, and new enough")
    missing = [str(path) for path in (scenarios_dir(), schemas_dir()) if not path.is_dir()]
    if missing:
        do = "install the program anew; a part of it is missing"
        yield Finding("shipped files", "wrong", f"not there: {', '.join(missing)}", do)


def _wrong_packages() -> Iterator[str]:
    try:
        wanted = requires("simengine") or []
    except PackageNotFoundError:
        yield "simengine itself is not installed"
        return
    for requirement in map(Requirement, wanted):
        if requirement.marker is not None and not requirement.marker.evaluate({"extra": ""}):
            continue
        try:
            installed = version(requirement.name)
        except PackageNotFoundError:
            yield f"{requirement.name} is missing"
        else:
            if not requirement.specifier.contains(installed, prereleases=True):
                yield f"{requirement.name} is {installed}, needed is {requirement.specifier}"
