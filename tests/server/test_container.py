"""The container's file agrees with the program: what it copies, who runs it, its port, its health.

No image is built here; what the file says is read, and its commands are run outside of a container.
"""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from simengine.cli.console import PORT
from simengine.cli.main import parser
from tests.console.consoles import IN_TIME_S
from tests.server.test_proxy import free_port

ROOT = Path(__file__).parents[2]
FILE = ROOT / "server" / "Containerfile"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
MAIN = "import sys; from simengine.cli.main import main; sys.exit(main(sys.argv[1:]))"


def instructions() -> list[tuple[str, str]]:
    """Each instruction with its words, in their order; comments are left out."""
    lines = FILE.read_text(encoding="utf-8").splitlines()
    text = "\n".join(line for line in lines if not line.startswith("#")).replace("\\\n", "")
    parts = (line.partition(" ") for line in text.splitlines() if line)
    return [(name, words.strip()) for name, _, words in parts]


def words_of(name: str) -> list[str]:
    return [words for instruction, words in instructions() if instruction == name]


def head() -> str:
    """The comment at its top, which says how it is built and run."""
    lines = FILE.read_text(encoding="utf-8").splitlines()
    return "\n".join(line[2:] for line in lines if line.startswith("#")).replace("\\\n", "")


def entry() -> list[str]:
    (words,) = words_of("ENTRYPOINT")
    command: list[str] = json.loads(words)
    return command


def health() -> list[str]:
    (words,) = words_of("HEALTHCHECK")
    command: list[str] = json.loads(words.partition("CMD ")[2])
    return command


def copied() -> Iterator[tuple[str, str]]:
    for words in words_of("COPY"):
        *sources, target = words.split()
        for source in sources:
            yield source, f"{target}{Path(source).name}" if target.endswith("/") else target


def test_its_one_stage_is_a_python_that_the_program_is_made_for() -> None:
    (base,) = words_of("FROM")
    match = re.fullmatch(r"python:(3\.\d+)-slim", base)
    assert match is not None
    assert f"Programming Language :: Python :: {match[1]}" in PROJECT["classifiers"]


def test_it_installs_by_hash_with_all_that_building_needs_and_calls_no_other_host() -> None:
    first, second, *_ = words_of("RUN")
    assert "--require-hashes --requirement /build/requirements/run.txt" in first
    assert {"--no-deps", "--no-build-isolation"} <= set(second.split())
    needs = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["build-system"]
    listed = (ROOT / "requirements" / "run.txt").read_text(encoding="utf-8")
    for need in needs["requires"]:
        assert re.search(rf"^{re.split('[<>=]', need)[0]}==", listed, re.MULTILINE), need


def test_what_it_copies_builds_the_program_with_all_that_it_ships(tmp_path: Path) -> None:
    for source, target in copied():
        there = tmp_path / target.removeprefix("/")
        there.parent.mkdir(parents=True, exist_ok=True)
        if (ROOT / source).is_dir():
            ignored = shutil.ignore_patterns("__pycache__")
            shutil.copytree(ROOT / source, there, ignore=ignored)
        else:
            shutil.copy(ROOT / source, there)
    (command,) = [words for words in words_of("RUN") if "/build &&" in words]
    install = command.partition(" && ")[0].replace("/build", str(tmp_path / "build"))
    _, *options = shlex.split(install.replace("pip install", "pip wheel"))
    options += ["--wheel-dir", str(tmp_path / "wheels"), "--quiet", "--disable-pip-version-check"]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    subprocess.run([sys.executable, "-m", "pip", *options], check=True, env=environment)
    (wheel,) = (tmp_path / "wheels").iterdir()
    with zipfile.ZipFile(wheel) as archive:
        built = set(archive.namelist())
    for folder, place in (
        ("simengine", "simengine"),
        ("scenarios", "simengine/_data/scenarios"),
        ("schemas", "simengine/_data/schemas"),
        ("reports/templates", "simengine/_data/templates"),
    ):
        files = [file for file in (ROOT / folder).rglob("*") if file.is_file()]
        shipped = {
            f"{place}/{file.relative_to(ROOT / folder).as_posix()}"
            for file in files
            if "__pycache__" not in file.parts and file.name != "make_fonts.py"
        }
        assert len(shipped) >= 3
        assert shipped - built == set()


def test_it_runs_as_a_user_who_owns_the_data_alone() -> None:
    names = [name for name, _ in instructions()]
    assert "RUN" not in names[names.index("USER") :], "what needs root comes before it"
    (user,) = words_of("USER")
    made = next(words for words in words_of("RUN") if words.startswith("useradd"))
    assert f" {user} " in f"{made.partition('&&')[0]} "
    number = re.search(r"--uid (\d+)", made)
    assert number is not None
    assert f"User {number[1]} of the container" in head()
    (data,) = words_of("VOLUME")
    assert f"--home-dir {data} " in made
    assert f"install -d -o {user} -m 0700 {data}" in made
    assert f"-v simengine:{data} " in head()
    assert parser("console").parse_args(entry()[1:]).data == data


def test_its_port_is_one_everywhere() -> None:
    assert words_of("EXPOSE") == [str(PORT)]
    assert parser("console").parse_args(entry()[1:]).port == PORT
    assert f"https://localhost:{PORT}/health" in health()[-1]
    assert f"-p {PORT}:{PORT} " in head()


def test_the_commands_in_its_head_are_of_this_file_and_of_the_program() -> None:
    build, run = re.findall(r"^ *(docker .*)$", head(), re.MULTILINE)
    assert shlex.split(build)[2:4] == ["-f", "server/Containerfile"]
    before, _, given = run.partition(" simengine --")
    args = parser("console").parse_args([*entry()[1:], *shlex.split(f"--{given}")])
    assert args.lan
    assert args.address == ["sim.hospital.example"]
    folder = re.search(r"-v (/\S+):(/\S+):ro", before)
    assert folder is not None
    assert {args.certificate.parent, args.key.parent} == {Path(folder[2])}


@pytest.mark.parametrize("more", [[], ["--address", "sim.hospital.example"]], ids=("bare", "named"))
def test_what_it_starts_is_well_by_its_own_healthcheck_until_it_is_stopped(
    tmp_path: Path, more: list[str]
) -> None:
    port = free_port()
    program, *arguments = entry()
    assert program == "simengine"
    here = {str(PORT): str(port), "/data": str(tmp_path / "data")}
    arguments = [here.get(word, word) for word in arguments]
    python, *asks = health()
    assert python == "python"
    ask = [sys.executable, *(word.replace(f":{PORT}/", f":{port}/") for word in asks)]
    command = [sys.executable, "-c", MAIN, *arguments, *more]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as process:
        try:
            assert process.stdout is not None
            assert f":{port}" in process.stdout.readline()
            assert subprocess.run(ask, check=False, timeout=IN_TIME_S).returncode == 0
            assert words_of("STOPSIGNAL") == ["SIGTERM"]
            process.terminate()
            assert process.wait(IN_TIME_S) in (0, -signal.SIGTERM)
        finally:
            process.kill()
    after = subprocess.run(ask, check=False, timeout=IN_TIME_S, capture_output=True)
    assert after.returncode != 0
