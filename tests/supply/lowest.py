"""The oldest packages that ``pyproject.toml`` allows do the main job: ``make supply``.

Rules of this file:

- For each Python from 3.11 to 3.13 that is on this machine (by name, or under pyenv): resolve to
  the lowest versions that are stated and have wheels for it, install them in a folder of their own,
  and have ``smoke.py`` run there. Their own requirements are at their newest, as a person's are.
- A Python that is missing is told; the one that runs this is always tried.
"""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from shutil import which
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
VERSIONS = ("3.11", "3.12", "3.13")
MISSING = "not on this machine, so not tried"


def main() -> int:
    """Run all; 0 where each was good."""
    here = f"{sys.version_info.major}.{sys.version_info.minor}"
    interpreters = {name: sys.executable if name == here else python(name) for name in VERSIONS}
    with ThreadPoolExecutor(2) as pool:
        problems = list(pool.map(tried, interpreters.keys(), interpreters.values()))
    for version, problem in zip(interpreters, problems, strict=True):
        print(f"Python {version}: {problem or 'the lowest versions do the main job'}")
    return 1 if any(problem not in ("", MISSING) for problem in problems) else 0


def python(version: str) -> str | None:
    """Return the path of a Python that runs, ``None`` where there is none."""
    root = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv"))
    named = which(f"python{version}")
    installed: list[Path] = sorted(root.glob(f"versions/{version}.*/bin/python"))
    paths = [*([named] if named else []), *map(str, installed)]
    for path in paths:
        if subprocess.run([path, "-c", ""], capture_output=True, check=False).returncode == 0:
            return path
    return None


def tried(version: str, path: str | None) -> str:
    """Return what went wrong with a Python in words; nothing where nothing did."""
    if path is None:
        return MISSING
    with TemporaryDirectory(prefix="supply-") as folder:
        own = f"{folder}/venv/bin/python"
        uv = ["uv", "--quiet", "--no-python-downloads"]
        resolve = ["--python-version", version, "--resolution", "lowest-direct"]
        wheels = ["--only-binary", ":all:"]
        lowest = f"{folder}/lowest.txt"
        clean = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
        for command in (
            [*uv, "venv", "--python", path, f"{folder}/venv"],
            [*uv, "pip", "compile", "pyproject.toml", *resolve, *wheels, "--output-file", lowest],
            [*uv, "pip", "install", "--python", own, *wheels, "--requirement", lowest],
            [own, str(ROOT / "tests/supply/smoke.py"), f"{folder}/out"],
        ):
            run = subprocess.run(
                command, cwd=ROOT, env=clean, capture_output=True, text=True, check=False
            )
            if run.returncode:
                last = "\n".join(run.stderr.splitlines()[-20:])
                return f"{' '.join(command[:4])} …\n{last}"
    return ""


if __name__ == "__main__":
    sys.exit(main())
