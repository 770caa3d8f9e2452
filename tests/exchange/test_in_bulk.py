"""What is done once, or together, where there are many sessions: counted, not timed."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import pytest
from sqlalchemy import Connection

import simengine
from simengine.cli.main import main
from simengine.exchange import incoming, scored, scoring_jobs, shelf_of_today
from simengine.exchange.as_run import as_run
from simengine.exchange.incoming import Intake
from simengine.exchange.rescore import rescore
from simengine.exchange.scored import score_sessions
from simengine.exchange.scoring_jobs import Job, NotScored, Scored, all_scored
from simengine.resources import scenarios_dir
from simengine.scenario import kept, packed
from simengine.scoring import guide, score
from simengine.session import Event, write_log
from simengine.session import plan as session_plan
from simengine.session.chain import chained
from simengine.session.from_file import scenario_for
from simengine.store import Store
from tests.exchange.stores import log_of

NOW = "2026-03-01T12:00:00.000Z"
NAMES = ("term-responds-steady", "cot-term-steady", "term-not-breathing-steady")


@pytest.fixture(autouse=True)
def few_redraws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave out most redraws, since no test of this file looks at the interval."""
    monkeypatch.setattr(scoring_jobs, "score", partial(score, redraws=10))


def copy_of(log: Sequence[Event], number: int) -> tuple[Event, ...]:
    """Return a log under an id of its own."""
    session = str(uuid5(NAMESPACE_OID, f"copy {number}"))
    first = replace(log[0], data={**log[0].data, "session": session})
    return chained([first, *log[1:]])


def logs_of(number: int) -> list[tuple[Event, ...]]:
    """Return logs, those of each scenario far from each other."""
    return [copy_of(log_of(NAMES[copy % len(NAMES)]), copy) for copy in range(number)]


class OneWorker(Executor):
    """One other process, as far as this program can tell: all that it gets was pickled."""

    def submit(self, work: Callable[..., Any], /, *given: Any, **_: Any) -> Future[Any]:
        future: Future[Any] = Future()
        future.set_result(pickle.loads(pickle.dumps(work(*pickle.loads(pickle.dumps(given))))))
        return future


class Count:
    """How often a function was called, and with what."""

    def __init__(self, called: Callable[..., Any]) -> None:
        self.calls: list[Any] = []
        self._called = called

    def __call__(self, *given: Any, **named: Any) -> Any:
        self.calls.append(given)
        return self._called(*given, **named)


@pytest.fixture
def transactions(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The transactions that write, as they come."""
    begun: list[str] = []
    begin = Store.begin

    @contextmanager
    def counted(self: Store) -> Iterator[Connection]:
        begun.append(self.where)
        with begin(self) as connection:
            yield connection

    monkeypatch.setattr(Store, "begin", counted)
    return begun


class KilledError(BaseException):
    """Stands for the end of the process."""


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    """Seven logs of three scenarios."""
    out = []
    for number, log in enumerate(logs_of(7)):
        out.append(tmp_path / f"{number}.session.jsonl")
        write_log(out[-1], log)
    return out


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A store with their logs and no results."""
    with Store.open(tmp_path / "data") as opened:
        opened.add_logs(logs_of(7))
        yield opened


# --- a scenario once ----------------------------------------------------------------------------


def test_a_worker_makes_each_of_many_scenarios_ready_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kept, "KEPT", 2)
    monkeypatch.setattr(packed, "KEPT", 2)
    sent, loaded = Count(pickle.dumps), Count(pickle.loads)
    ours = SimpleNamespace(dumps=sent, loads=loaded, HIGHEST_PROTOCOL=pickle.HIGHEST_PROTOCOL)
    monkeypatch.setattr(packed, "pickle", ours)
    guides = Count(guide._groups)
    monkeypatch.setattr(guide, "_groups", guides)
    plans = Count(session_plan._ranks)
    monkeypatch.setattr(session_plan, "_ranks", plans)
    log = log_of(NAMES[0])
    scenario, _ = scenario_for(log[0].data, ())
    several = [replace(scenario, title=f"Number {number}") for number in range(4)]
    jobs = [Job(str(number), None, each, log) for each in several for number in range(5)]
    assert all(isinstance(done, Scored) for done in all_scored(jobs, OneWorker()))
    assert [len(count.calls) for count in (sent, loaded, guides, plans)] == [4, 4, 4, 4]


@pytest.mark.parametrize("anew", [False, True])
def test_sessions_are_taken_scenario_by_scenario_and_each_is_read_once(
    store: Store, monkeypatch: pytest.MonkeyPatch, anew: bool
) -> None:
    monkeypatch.setattr(shelf_of_today, "KEPT", 1)
    read, of_a_run = Count(scenario_for), Count(as_run)
    monkeypatch.setattr(shelf_of_today, "scenario_for", read)
    monkeypatch.setattr(shelf_of_today, "as_run", of_a_run)
    if anew:
        assert rescore(store, (), now=NOW).scored == 7
    else:
        assert score_sessions(store, store.logs()).scored == 7
    assert len(read.calls) + len(of_a_run.calls) == len(NAMES)


# --- many in a transaction ----------------------------------------------------------------------


def test_an_import_keeps_many_logs_and_many_results_in_a_transaction(
    tmp_path: Path, files: list[Path], monkeypatch: pytest.MonkeyPatch, transactions: list[str]
) -> None:
    monkeypatch.setattr(incoming, "TOGETHER", 3)
    monkeypatch.setattr(scored, "TOGETHER", 4)
    with Store.open(tmp_path / "new") as new:
        intake = Intake(new, ())
        for file in files:
            intake.take(file, bundle=False)
        intake.finish()
        assert len(transactions) == 3  # of 3, 3 and 1
        assert score_sessions(new, intake.incoming.unscored).scored == 7
        # the files of each scenario, once, and results: 4 and 3
        assert len(transactions) == 3 + len(NAMES) + 2


def test_rescoring_keeps_many_results_in_a_transaction(
    store: Store, monkeypatch: pytest.MonkeyPatch, transactions: list[str]
) -> None:
    monkeypatch.setattr(scored, "TOGETHER", 4)
    assert rescore(store, (), now=NOW).scored == 7
    assert len(transactions) == 1 + 2 + 1  # the run begins, its results, it ends


# --- cut off, and gone on with ------------------------------------------------------------------


def imported(data: Path, files: Sequence[Path]) -> int:
    return main(["import", *map(str, files), "--data", str(data)])


@pytest.fixture
def marked(monkeypatch: pytest.MonkeyPatch) -> Count:
    """Counts what is scored, all of it in this process."""
    count = Count(scoring_jobs.scored)
    monkeypatch.setattr(scoring_jobs, "scored", count)
    monkeypatch.setattr("simengine.cli.scoring.FEW", 100)
    return count


def test_an_import_that_was_cut_while_logs_are_kept_goes_on_where_it_was(
    tmp_path: Path,
    files: list[Path],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    marked: Count,
) -> None:
    monkeypatch.setattr(incoming, "TOGETHER", 3)
    add = Count(Store.add_logs)

    def once(self: Store, several: Sequence[Sequence[Event]], **named: Any) -> Any:
        if add.calls:
            raise KilledError
        return add(self, several, **named)

    with monkeypatch.context() as killed:
        killed.setattr(Store, "add_logs", once)
        with pytest.raises(KilledError):
            imported(tmp_path / "new", files)
    assert marked.calls == []
    assert imported(tmp_path / "new", files) == 0
    assert "4 imported, 3 were here already, 0 refused" in capsys.readouterr().err
    assert len(marked.calls) == 7
    with Store.open(tmp_path / "new") as new:
        assert new.without_result() == ()


def killed_after(sessions: int) -> Callable[..., Iterator[Scored | NotScored]]:
    """Return what scores as ever, and is killed when so many sessions have been scored."""

    def some(jobs: Iterator[Job], executor: Executor | None) -> Iterator[Scored | NotScored]:
        for number, done in enumerate(all_scored(jobs, executor)):
            if number == sessions:
                raise KilledError
            yield done

    return some


def test_an_import_that_was_cut_while_it_scored_scores_the_rest_alone(
    tmp_path: Path, files: list[Path], monkeypatch: pytest.MonkeyPatch, marked: Count
) -> None:
    monkeypatch.setattr(scored, "TOGETHER", 2)

    with monkeypatch.context() as killed:
        killed.setattr(scored, "all_scored", killed_after(3))
        with pytest.raises(KilledError):
            imported(tmp_path / "new", files)
    with Store.open(tmp_path / "new") as new:
        assert len(new.without_result()) == 4
    marked.calls.clear()
    assert imported(tmp_path / "new", files) == 0
    assert len(marked.calls) == 4
    with Store.open(tmp_path / "new") as new:
        assert new.without_result() == ()


def test_rescoring_that_was_cut_scores_the_rest_alone(
    store: Store, monkeypatch: pytest.MonkeyPatch, marked: Count
) -> None:
    monkeypatch.setattr(scored, "TOGETHER", 2)
    module = "simengine.exchange.rescore"

    with monkeypatch.context() as killed:
        killed.setattr(f"{module}.all_scored", killed_after(5))
        with pytest.raises(KilledError):
            rescore(store, (), now=NOW)
    marked.calls.clear()
    run = rescore(store, (), now=NOW)
    assert (run.earlier, run.scored, len(marked.calls)) == (5, 2, 2)


# --- one pool -----------------------------------------------------------------------------------


def test_processes_are_started_in_one_place() -> None:
    package = Path(simengine.__file__).parent
    starting = [
        file.relative_to(package).as_posix()
        for file in sorted(package.rglob("*.py"))
        if "ProcessPoolExecutor(" in file.read_text(encoding="utf-8")
    ]
    assert starting == ["cli/workers.py"]


@pytest.mark.parametrize("verb", ["check", "pilot", "rescore", "import"])
def test_every_command_with_much_to_do_asks_for_these_processes(
    verb: str,
    tmp_path: Path,
    store: Store,
    files: list[Path],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def processes(number: int | None = None) -> Executor:
        raise KilledError

    monkeypatch.setattr("simengine.cli.workers.processes", processes)
    given = {
        "check": [str(file) for file in sorted(scenarios_dir().glob("*.yaml"))[:5]],
        "pilot": ["term-not-breathing", "--runs", "1"],
        "rescore": ["--data", str(tmp_path / "data")],
        "import": [*map(str, files), "--data", str(tmp_path / "new")],
    }
    with pytest.raises(KilledError):
        main([verb, *given[verb]])
