from collections.abc import Iterator
from concurrent.futures import Executor
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from simengine.exchange import rescore as module
from simengine.exchange.rescore import Run, changes, rescore
from simengine.exchange.scored import score_sessions, waiting
from simengine.exchange.scoring_jobs import Job, Scored, all_scored
from simengine.scoring import score
from simengine.store import Planned, Store
from tests.exchange.shipped_results import FEW
from tests.exchange.stores import (
    as_if_a_panel_had_set_it,
    id_of,
    log_of,
    said,
    scenarios_of_ones_own,
    with_sessions,
)

NOW = "2026-03-01T12:00:00.000Z"


@pytest.fixture(autouse=True)
def few_redraws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave out most redraws, since no test of this file looks at the interval."""
    monkeypatch.setattr("simengine.exchange.scoring_jobs.score", partial(score, redraws=10))


@pytest.fixture
def store(where: Path | str) -> Iterator[Store]:
    """A store with a few sessions, in SQLite and in PostgreSQL."""
    with with_sessions(where) as opened:
        yield opened


def score_all(store: Store) -> int:
    return score_sessions(store, waiting(store)).scored


def changed_scenario(folder: Path, name: str = "term-not-breathing") -> Path:
    """Make the scenario ask something else, so that scores change."""
    file = scenarios_of_ones_own(folder) / f"{name}.yaml"
    text = file.read_text(encoding="utf-8")
    assert "importance: essential" in text
    changed = text.replace("importance: essential", "importance: helpful")
    file.write_text(changed, encoding="utf-8")
    return folder


def by_session(store: Store, run: Run) -> dict[str, Any]:
    return {change.session: change for change in changes(store, run.id)}


def test_what_is_missing_is_scored_once(store: Store) -> None:
    progress: list[tuple[int, int]] = []
    outcome = score_sessions(
        store, waiting(store), told=lambda done, all_: progress.append((done, all_))
    )
    assert (outcome.scored, outcome.problems) == (len(FEW), {})
    assert progress[-1] == (len(FEW), len(FEW))
    assert waiting(store) == []
    assert {result.session for result in store.results()} == {id_of(name) for name in FEW}
    assert {result.unit for result in store.results()} == {"North"}


def test_a_session_that_goes_on_is_left_alone_and_scored_if_asked_for(store: Store) -> None:
    log = log_of("term-not-breathing-steady")
    ends = next(number for number, event in enumerate(log) if event.kind == "closed")
    store.add_log(log[:ends])
    session = id_of("term-not-breathing-steady")
    assert score_all(store) == len(FEW)
    assert store.result(session) is None
    assert rescore(store, (), now=NOW).still_going_on == 1
    assert score_sessions(store, [session]).scored == 1
    result = store.result(session)
    assert result is not None
    assert result.closed is None


def test_a_planned_unit_is_the_unit(store: Store) -> None:
    log = log_of("cot-term-steady")
    store.create(Planned(id_of("cot-term-steady"), log[0].wall, {"unit": "South"}))
    store.append(id_of("cot-term-steady"), log)
    score_all(store)
    result = store.result(id_of("cot-term-steady"))
    assert result is not None
    assert result.unit == "South"


def test_what_is_up_to_date_is_not_scored_again(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = rescore(store, (), now=NOW)
    assert (first.scored, first.up_to_date) == (len(FEW), 0)
    assert {change.why for change in changes(store, first.id)} == {("first score",)}

    def none_of_it(jobs: Iterator[Job], _: object) -> Iterator[Scored]:
        assert list(jobs) == []
        return iter(())

    monkeypatch.setattr(module, "all_scored", none_of_it)
    second = rescore(store, (), now=NOW)
    assert (second.scored, second.up_to_date) == (0, len(FEW))
    assert second.id != first.id


def test_a_changed_scenario_is_told_as_the_reason_and_its_scores_change(
    store: Store, tmp_path: Path
) -> None:
    score_all(store)
    before = store.result(id_of(FEW[1]))
    run = rescore(store, [changed_scenario(tmp_path / "own")], now=NOW)
    changes_told = by_session(store, run)
    assert list(changes_told) == [id_of(FEW[1])]
    change = changes_told[id_of(FEW[1])]
    after = store.result(id_of(FEW[1]))
    assert before is not None
    assert after is not None
    assert change.why == ("scenario changed",)
    assert change.changed
    assert change.before.total == before.total
    assert change.after.total == after.total != before.total
    assert change.after.scenario_digest == after.scenario_digest != before.scenario_digest
    assert run.up_to_date == len(FEW) - 1


def test_a_changed_protocol_is_told_as_the_reason(store: Store, tmp_path: Path) -> None:
    score_all(store)
    file = scenarios_of_ones_own(tmp_path / "own") / "protocols" / "common-practice.yaml"
    text = file.read_text(encoding="utf-8")
    text = text.replace("range: 100 %", "range: 99 to 100 %", 1)
    file.write_text(text, encoding="utf-8")
    changes_told = by_session(store, rescore(store, [tmp_path / "own"], now=NOW))
    assert {change.why for change in changes_told.values()} == {("protocol changed",)}
    assert not any(change.changed for change in changes_told.values())


def test_another_protocol_is_told_as_the_reason(store: Store) -> None:
    score_all(store)
    changes_told = by_session(store, rescore(store, (), protocol="aha-2020", now=NOW))
    assert {change.why for change in changes_told.values()} == {("another protocol",)}
    assert {change.after.protocol for change in changes_told.values()} == {"aha-2020"}


def test_another_program_is_told_as_the_reason(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    score_all(store)
    monkeypatch.setattr(module, "__version__", "9.9.9")
    monkeypatch.setattr("simengine.cohort.from_card.__version__", "9.9.9")
    changes_told = by_session(store, rescore(store, (), now=NOW))
    assert {change.why for change in changes_told.values()} == {("program changed",)}
    assert len(changes_told) == len(FEW)


def test_another_edition_of_the_rules_of_scoring_is_told_as_the_reason(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    # results as the first edition made them
    monkeypatch.setattr("simengine.cohort.from_card.EDITION", 1)
    score_all(store)
    monkeypatch.undo()
    changes_told = by_session(store, rescore(store, (), now=NOW))
    assert {change.why for change in changes_told.values()} == {("scoring, second edition",)}
    assert len(changes_told) == len(FEW)
    assert rescore(store, (), now=NOW).up_to_date == len(FEW)


def test_a_correction_and_a_signature_are_told_apart(store: Store) -> None:
    score_all(store)
    corrected, confirmed = log_of(FEW[0]), log_of(FEW[1])
    action = next(event for event in corrected if event.kind in ("action", "set"))
    store.append(
        id_of(FEW[0]),
        [said(corrected, "amend", id=action.id, withdrawn=True, reason="it was not done")],
    )
    store.append(id_of(FEW[1]), [said(confirmed, "confirmed")])
    changes_told = by_session(store, rescore(store, (), now=NOW))
    assert changes_told[id_of(FEW[0])].why == ("record corrected",)
    assert changes_told[id_of(FEW[1])].why == ("record confirmed or signed",)
    result = store.result(id_of(FEW[1]))
    assert result is not None
    assert result.confirmed
    assert id_of(FEW[2]) not in changes_told


def test_a_signed_outcome_stands_beside_the_new_score_and_is_not_altered(
    store: Store, tmp_path: Path
) -> None:
    log = log_of(FEW[1])
    signature = said(log, "signed", name="A. Person", credentials="assessor", outcome="achieved")
    store.append(id_of(FEW[1]), [signature])
    score_all(store)
    as_if_a_panel_had_set_it(store, FEW[1])
    before = store.events(id_of(FEW[1]))
    run = rescore(store, [changed_scenario(tmp_path / "own")], now=NOW)
    (change,) = changes(store, run.id)
    (signed,) = change.signed
    assert (signed.outcome, signed.whose, signed.standing) == ("achieved", "the team's", "stands")
    assert change.changed
    assert store.events(id_of(FEW[1])) == before


class KilledError(BaseException):
    """Stands for the end of the process."""


def test_a_killed_run_goes_on_where_it_was_and_tells_all_of_it(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    score_all(store)
    monkeypatch.setattr(module, "__version__", "9.9.9")
    monkeypatch.setattr("simengine.cohort.from_card.__version__", "9.9.9")
    seen: list[str] = []

    def one_and_no_more(jobs: Iterator[Job], executor: Executor | None) -> Iterator[Any]:
        for done in all_scored(jobs, executor):
            if seen:
                raise KilledError
            seen.append(done.session)
            yield done

    with monkeypatch.context() as killed:
        killed.setattr(module, "all_scored", one_and_no_more)
        with pytest.raises(KilledError):
            rescore(store, (), now=NOW)

    run = rescore(store, (), now=NOW)
    assert run.earlier == 1
    assert run.scored == len(FEW) - 1
    changes_told = by_session(store, run)
    assert len(changes_told) == len(FEW)
    assert {change.why for change in changes_told.values()} == {("program changed",)}
    assert {change.before.program for change in changes_told.values()} != {"9.9.9"}
    # it has ended, so the next is another run
    assert rescore(store, (), now=NOW).earlier is None


def test_a_missing_scenario_is_told_and_keeps_no_other_from_its_score(
    store: Store, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    own = scenarios_of_ones_own(tmp_path / "own")
    (own / "term-not-breathing.yaml").unlink()
    for place in ("simengine.scenario.loading", "simengine.session.from_file"):
        monkeypatch.setattr(f"{place}.scenarios_dir", lambda: own)
    run = rescore(store, (), now=NOW)
    assert (run.problems, run.scored) == (1, len(FEW) - 1)
    change = by_session(store, run)[id_of(FEW[1])]
    assert "expected the scenario 'term-not-breathing'" in change.problem
    assert change.after is None


def test_a_record_that_goes_on_meanwhile_is_left_to_the_next_run(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(jobs: Iterator[Job], executor: Executor | None) -> Iterator[Any]:
        for done in list(all_scored(jobs, executor)):
            if done.session == id_of(FEW[0]):
                store.append(id_of(FEW[0]), [said(log_of(FEW[0]), "confirmed")])
            yield done

    with monkeypatch.context() as changing:
        changing.setattr(module, "all_scored", slow)
        run = rescore(store, (), now=NOW)
    assert (run.gone_on, run.scored) == (1, len(FEW) - 1)
    assert store.result(id_of(FEW[0])) is None
    assert rescore(store, (), now=NOW).scored == 1
