import json
import multiprocessing
import zlib
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path

import pytest
from distributed import Client, LocalCluster

from simengine.exchange.rescore import rescore
from simengine.exchange.scored import job_of
from simengine.exchange.scoring_jobs import Job, NotScored, Scored, all_scored, scored
from simengine.exchange.shelf_of_today import ShelfOfToday
from simengine.scoring import score
from simengine.scoring.as_json import card_as_json
from simengine.session import fold
from simengine.store import Store
from tests.exchange.shipped_results import FEW
from tests.exchange.stores import with_sessions

NOW = "2026-03-01T12:00:00.000Z"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with with_sessions(tmp_path / "data") as opened:
        yield opened


@pytest.fixture
def jobs(store: Store) -> list[Job]:
    shelf = ShelfOfToday(())
    return [job_of(store, session, shelf) for session in store.logs()]


def broken(job: Job) -> Job:
    return Job(job.session, job.unit, job.scenario, ())


def test_one_session_that_fails_keeps_no_other_from_its_score(jobs: list[Job]) -> None:
    done = list(all_scored([broken(jobs[0]), *jobs[1:]], None))
    assert isinstance(done[0], NotScored)
    assert all(isinstance(outcome, Scored) for outcome in done[1:])


def as_told(done: Scored | NotScored) -> tuple[object, ...]:
    assert isinstance(done, Scored)
    return (done.session, done.log_hash, done.result, done.card)


def in_order(done: Iterator[Scored | NotScored]) -> list[tuple[object, ...]]:
    return sorted((as_told(outcome) for outcome in done), key=lambda pair: str(pair[0]))


def test_threads_and_processes_find_the_same_scores(jobs: list[Job]) -> None:
    here = in_order(all_scored(jobs, None))
    with ThreadPoolExecutor(2) as executor:
        assert in_order(all_scored(jobs, executor)) == here
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=spawn) as executor:
        assert in_order(all_scored(jobs, executor)) == here


def test_a_dask_cluster_of_two_processes_rescores_through_its_own_executor(
    store: Store, jobs: list[Job], tmp_path: Path
) -> None:
    cluster = LocalCluster(  # type: ignore[no-untyped-call]
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address=None,
        worker_dashboard_address=None,
        local_directory=tmp_path / "workers",
    )
    with cluster, Client(cluster) as client:  # type: ignore[no-untyped-call]
        assert cluster.scheduler_address.startswith("tcp://127.0.0.1:")
        workers = client.scheduler_info()["workers"]
        assert len(workers) == 2
        assert all(address.startswith("tcp://127.0.0.1:") for address in workers)
        executor = client.get_executor()
        run = rescore(store, (), executor, now=NOW)
        assert (run.scored, run.problems) == (len(FEW), 0)
    here = in_order(all_scored(jobs, None))
    for session, _, result, card in here:
        assert store.result(str(session)) == result
        assert isinstance(card, bytes)
        assert store.card(str(session)) == json.loads(zlib.decompress(card))


def test_a_job_s_card_is_the_card_of_the_session(jobs: list[Job]) -> None:
    done = scored(jobs[0])
    assert isinstance(done, Scored)
    assert json.loads(zlib.decompress(done.card)) == card_as_json(
        score(fold(jobs[0].scenario, jobs[0].events))
    )


def test_jobs_are_handed_out_a_few_at_a_time(jobs: list[Job]) -> None:
    taken = 0

    def counted() -> Iterator[Job]:
        nonlocal taken
        for _ in range(1000):
            taken += 1
            yield jobs[0]

    with ThreadPoolExecutor(1) as executor:
        first = next(all_scored(counted(), executor))
        assert isinstance(first, Scored)
        assert taken <= 64
