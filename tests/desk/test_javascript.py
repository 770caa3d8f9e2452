"""The pages' scripts: types told in JSDoc and checked by TypeScript's compiler, where Node is."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

import simengine

TYPESCRIPT = "typescript@5.9.3"
_PACKAGE = Path(simengine.__file__).parent
_SCRIPTS = sorted(_PACKAGE.glob("*/static/*.js"))


@pytest.fixture(scope="session")
def compiler(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """TypeScript's compiler, fetched by npm; skipped where there is no Node or no registry."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        pytest.skip("needs Node and npm to check types in the pages' scripts")
    folder = tmp_path_factory.mktemp("typescript")
    got = subprocess.run(
        [npm, "install", "--no-audit", "--no-fund", "--prefix", str(folder), TYPESCRIPT],
        capture_output=True,
        text=True,
    )
    if got.returncode != 0:
        reason = f"npm could not fetch {TYPESCRIPT}: {got.stderr.strip()[-300:]}"
        if os.environ.get("CI") == "true":
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)
    return [node, str(folder / "node_modules" / "typescript" / "bin" / "tsc")]


def _check(compiler: list[str], folder: Path, *files: Path) -> str:
    config = folder / "tsconfig.json"
    options = {
        "allowJs": True,
        "checkJs": True,
        "strict": True,
        "noEmit": True,
        "noUncheckedIndexedAccess": True,
        "noUnusedLocals": True,
        "target": "ES2023",
        "module": "ES2022",
        "lib": ["ES2023", "DOM", "DOM.Iterable"],
        "types": [],
        "skipLibCheck": True,  # the compiler's own files are not ours to check
        # every part's scripts are served from one folder
        "rootDirs": sorted({str(file.parent) for file in _SCRIPTS}),
    }
    config.write_text(json.dumps({"compilerOptions": options, "files": [str(f) for f in files]}))
    compiled = subprocess.run(
        [*compiler, "-p", str(config)], capture_output=True, text=True, cwd=folder
    )
    return compiled.stdout


def test_the_types_of_every_script_are_right_and_a_wrong_one_is_found(
    compiler: list[str], tmp_path: Path
) -> None:
    """In one run, since the compiler reads all that it knows of browsers anew in each."""
    assert len(_SCRIPTS) > 10
    wrong = tmp_path / "wrong.js"
    wrong.write_text('/** @type {number} */\nexport const wrong = "a word";\n')
    (complaint,) = _check(compiler, tmp_path, wrong, *_SCRIPTS).splitlines()
    assert complaint.startswith("wrong.js(2,")
    assert "error TS2322: " in complaint


def test_no_page_has_script_or_style_in_it() -> None:
    for template in sorted(_PACKAGE.glob("*/templates/**/*.j2")):
        text = template.read_text(encoding="utf-8")
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text), template.name
        for script in re.findall(r"<script[^>]*>", text):
            assert 'src="/static/' in script, template.name


def test_scripts_put_text_in_as_text() -> None:
    for script in _SCRIPTS:
        text = script.read_text(encoding="utf-8")
        calls = re.findall(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(", text)
        assert calls == [], script.name


def test_the_scripts_know_every_field_of_the_views() -> None:
    from dataclasses import fields

    from simengine.desk import view

    types = (_PACKAGE / "desk" / "static" / "types.js").read_text(encoding="utf-8")
    for shape in (
        view.ConsoleView, view.BedsideView, view.Now, view.ClockView, view.Mark, view.Curve,
        view.Words, view.Told, view.Wait, view.Coming, view.StateView, view.Expected, view.Figure,
        view.SettingView, view.DoseView, view.Ask, view.SpokenView, view.ActionView, view.Doing,
        view.Lane, view.SupplyView, view.Entry, view.Cue, view.FaultView, view.Person,
        view.Banner, view.Note, view.BedsideLine,
    ):  # fmt: skip
        wanted = r"@typedef \{\{((?:(?!@typedef).)*?)\}\} " + shape.__name__ + r"\b"
        match = re.search(wanted, types, re.S)
        assert match is not None, shape.__name__
        names = set(re.findall(r"(\w+):", match.group(1)))
        assert {field.name for field in fields(shape)} == names, shape.__name__
