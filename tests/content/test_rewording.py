"""A log keeps its scenario while words change, and loses it with a figure that counts."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from simengine.problems import InputError
from simengine.resources import scenarios_dir
from simengine.scoring import score
from simengine.session import verify_log, write_log
from simengine.session.from_file import open_session
from tests.content.play import SESSIONS, perform, plays


def copied(folder: Path, change: Callable[[str], str]) -> Path:
    """Copy the shipped files, each changed."""
    shutil.copytree(scenarios_dir(), folder, ignore=shutil.ignore_patterns("sessions", "plays"))
    for file in (*folder.glob("*.yaml"), *folder.glob("*/newborn.yaml"), *folder.glob("p*/*.yaml")):
        file.write_text(change(file.read_text(encoding="utf-8")), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def reworded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Other titles, labels, cautions, reasons and versions, everywhere."""

    def change(text: str) -> str:
        text = re.sub(r"\b(title|label|why|note|source): (?=[A-Z])", r"\1: Reworded ", text)
        text = re.sub(r"^caution: ", "caution: Reworded. ", text, flags=re.MULTILINE)
        return re.sub(r"^version: .*", "version: 99.0.0", text, flags=re.MULTILINE)

    return copied(tmp_path_factory.mktemp("reworded") / "scenarios", change)


@pytest.fixture(scope="module")
def refigured(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """In each scenario one second more for the first item that has seconds."""

    def change(text: str) -> str:
        later = lambda match: f"{match[1]}{int(match[2]) + 1} s"  # noqa: E731
        return re.sub(r"\b(ideal: )(\d+) s", later, text, count=1)

    return copied(tmp_path_factory.mktemp("refigured") / "scenarios", change)


def beside(folder: Path, name: str) -> Path:
    return Path(shutil.copy(SESSIONS / f"{name}.session.jsonl", folder))


@pytest.mark.parametrize("name", plays())
def test_a_recorded_session_holds_after_rewording(name: str, reworded: Path) -> None:
    as_it_was = open_session(SESSIONS / f"{name}.session.jsonl").session
    session = open_session(beside(reworded, name)).session
    assert session.scenario.title != as_it_was.scenario.title
    assert session.scenario.vocabulary.caution.startswith("Reworded. ")
    assert [finding.code for finding in session.findings] == ["other-wording"]
    assert verify_log(session.scenario, session.events) is None
    before, after = score(as_it_was, redraws=0), score(session, redraws=0)
    assert after.total == before.total
    assert [(item.id, item.credit, item.verdict) for item in after.items] == [
        (item.id, item.credit, item.verdict) for item in before.items
    ]


@pytest.mark.parametrize("name", plays())
def test_a_recorded_session_is_refused_once_a_figure_is_another(name: str, refigured: Path) -> None:
    log = SESSIONS / f"{name}.session.jsonl"
    file = refigured / f"{name.removesuffix('-steady').removesuffix('-first-try')}.yaml"
    with pytest.raises(InputError, match="--any-version goes on all the same"):
        open_session(log, scenario=file)
    session = open_session(log, scenario=file, any_version=True).session
    assert [finding.code for finding in session.findings] == ["other-version"]


def test_a_log_of_an_earlier_program_is_told_in_words_what_holds(tmp_path: Path) -> None:
    """Before there were two digests, one held every word; such a log says nothing of wording."""
    opened, *rest = perform("cot-term-steady")
    data = {
        part: {key: value for key, value in opened.data[part].items() if key != "wording"}
        | {"digest": "0" * 64}
        for part in ("scenario", "protocol")
    }
    log = tmp_path / "old.session.jsonl"
    write_log(log, [replace(opened, data={**opened.data, **data}, hash=""), *rest])
    with pytest.raises(InputError, match="of an earlier program and hold every word") as refused:
        open_session(log)
    assert "--any-version goes on all the same" in str(refused.value)
    session = open_session(log, any_version=True).session
    assert "whose content may differ" in session.findings[0].words
    assert score(session, redraws=0).total is not None
