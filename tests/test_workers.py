from types import SimpleNamespace
from typing import Any

import pytest

from tests.workers import FIRST, TOGETHER, group, turn


class Worker:
    """Takes tests by their numbers, as the library's own does, and runs none."""

    shutting_down = False

    def __init__(self, name: str) -> None:
        self.gateway = SimpleNamespace(id=name)
        self.taken: list[int] = []

    def send_runtest_some(self, indices: list[int]) -> None:
        self.taken += indices

    def shutdown(self) -> None:
        self.shutting_down = True


def given_out(tests: list[str], pytestconfig: pytest.Config) -> list[list[str]]:
    """Which of two workers is given which tests, each test ending as soon as it is given."""
    options = SimpleNamespace(loadscopereorder=False)
    config = SimpleNamespace(getvalue={"tx": ["2*popen"]}.get, option=options)
    scheduler = pytestconfig.hook.pytest_xdist_make_scheduler(config=config, log=None)
    workers: list[Any] = [Worker("a"), Worker("b")]
    for worker in workers:
        scheduler.add_node(worker)
    for worker in workers:
        scheduler.add_node_collection(worker, tests)
    scheduler.schedule()
    ended: set[int] = set()
    while len(ended) < len(tests):
        for worker in workers:
            for test in set(worker.taken) - ended:
                ended.add(test)
                scheduler.mark_test_complete(worker, test)
    return [[tests[index] for index in worker.taken] for worker in workers]


def test_tests_of_a_file_go_to_one_worker_and_those_of_a_folder_that_shares(
    pytestconfig: pytest.Config,
) -> None:
    files = ["debrief/test_a.py", "debrief/test_b.py", "store/test_a.py", "store/test_b.py"]
    tests = [f"tests/{file}::test_{number}" for file in files for number in range(20)]
    first, second = given_out(tests, pytestconfig)
    assert sorted(first + second) == sorted(tests)
    assert {group(test) for test in first}.isdisjoint(group(test) for test in second)
    assert len({group(test) for test in tests}) == 3


def test_the_longest_go_first() -> None:
    there = "tests/desk/browser/test_touch.py::test_it"
    assert turn("tests/desk/browser/test_every_correction.py::test_it[live]") < turn(there)
    assert turn(there) < turn("tests/store/test_place.py::test_it") == len(FIRST)


def test_what_goes_together_or_first_is_there(pytestconfig: pytest.Config) -> None:
    tests = pytestconfig.rootpath / "tests"
    assert all((tests / name).exists() for name in FIRST)
    assert all((tests / name).is_dir() for name in TOGETHER)
