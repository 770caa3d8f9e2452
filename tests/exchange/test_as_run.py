"""A session can be shown as it was when the files have changed since."""

from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest

from simengine.exchange.as_run import as_run, remember
from simengine.exchange.bundle import write_bundle
from simengine.exchange.incoming import Intake
from simengine.exchange.open_bundle import open_bundle
from simengine.exchange.rescore import rescore
from simengine.exchange.scored import score_sessions
from simengine.exchange.stored_bundle import stored_bundle
from simengine.problems import InputError
from simengine.scenario import load_scenario
from simengine.scoring import score
from simengine.session.chain import chained
from simengine.session.events import Event
from simengine.session.full_speed import Timed, opening, play
from simengine.store import Store
from tests.exchange.stores import scenarios_of_ones_own

NAME = "term-not-breathing"


@pytest.fixture(autouse=True)
def few_redraws(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simengine.exchange.scoring_jobs.score", partial(score, redraws=10))


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A hospital's own scenarios; nothing is shipped beside them."""
    folder = scenarios_of_ones_own(tmp_path / "own")
    for place in ("simengine.scenario.loading", "simengine.session.from_file"):
        monkeypatch.setattr(f"{place}.scenarios_dir", lambda: tmp_path / "nothing")
    return folder


@pytest.fixture
def log(own: Path) -> tuple[Event, ...]:
    """A session that ran one of them, and was stopped at once."""
    scenario = load_scenario(own / f"{NAME}.yaml")
    opened = opening(
        scenario,
        session_id="6d1f0c52-1b7e-4a63-9c4d-0e8a5b3f7c21",
        program="0.1.0",
        purpose="formative",
        team={"leader": ["n4tq8wzk"]},
    )
    script = [Timed(5_000, "closed", {"why": "stopped early"})]
    return chained(play(scenario, script, opened=opened).events)


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    with Store.open(where) as opened:
        yield opened


def change(own: Path) -> None:
    for file in (own / f"{NAME}.yaml", own / "vocabulary" / "newborn.yaml"):
        text = file.read_text(encoding="utf-8")
        file.write_text(text.replace("label: ", "label: Changed ", 1), encoding="utf-8")
    file = own / f"{NAME}.yaml"
    text = file.read_text(encoding="utf-8")
    # A word, which changes no digest, and a figure that counts.
    text = text.replace("title: ", "title: Changed ", 1).replace("ideal: 60 s", "ideal: 61 s", 1)
    assert "ideal: 61 s" in text
    file.write_text(text, encoding="utf-8")


def test_what_was_scored_once_is_bundled_as_it_ran_when_the_files_have_changed(
    store: Store, own: Path, log: tuple[Event, ...], tmp_path: Path
) -> None:
    store.add_log(log)
    session = str(log[0].data["session"])
    assert score_sessions(store, [session], folders=[own]).scored == 1
    before = stored_bundle(store, session, [own])
    change(own)
    assert stored_bundle(store, session, [own]) == before
    assert stored_bundle(store, session, []) == before
    assert open_bundle(write_bundle(before, tmp_path)).session.events == log


def test_what_is_scored_anew_after_a_signature_is_scored_as_it_ran(
    store: Store, own: Path, log: tuple[Event, ...]
) -> None:
    store.add_log(log)
    session = str(log[0].data["session"])
    score_sessions(store, [session], folders=[own])
    change(own)
    score_sessions(store, [session], folders=[own])
    result = store.result(session)
    assert result is not None
    assert result.scenario_digest == log[0].data["scenario"]["digest"]
    rescore(store, [own], now="2026-03-01T12:00:00Z")
    result = store.result(session)
    assert result is not None
    assert result.scenario_title.startswith("Changed ")


def test_a_bundle_brings_the_files_with_it(
    store: Store, own: Path, log: tuple[Event, ...], tmp_path: Path
) -> None:
    with Store.open(tmp_path / "there") as there:
        there.add_log(log)
        bundle = stored_bundle(there, str(log[0].data["session"]), [own])
    change(own)
    intake = Intake(store, [own])
    intake.take(write_bundle(bundle, tmp_path), bundle=True)
    assert intake.incoming.problems == []
    assert stored_bundle(store, str(log[0].data["session"]), [own]) == bundle


def test_what_was_never_kept_and_has_changed_is_told(
    store: Store, own: Path, log: tuple[Event, ...]
) -> None:
    store.add_log(log)
    change(own)
    remember(store, log[0].data, [own])
    with pytest.raises(InputError) as refused:
        stored_bundle(store, str(log[0].data["session"]), [own])
    assert "as it was run" in str(refused.value)
    assert "it was changed since" in str(refused.value)


def test_files_are_kept_once(store: Store, own: Path, log: tuple[Event, ...]) -> None:
    first = as_run(store, log[0].data, [own])
    assert as_run(store, log[0].data, [own]) == first
    remember(store, log[0].data, [own])
    assert as_run(store, log[0].data, []) == first
