"""A short, seeded run of what ``make torture`` does for half an hour."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tests.console.consoles import SetClock
from tests.torture import faults
from tests.torture.device import Device
from tests.torture.faults import NotTriedError

SHORT: tuple[tuple[faults.Fault, int], ...] = (
    (faults.kills, 2),
    (faults.disk_full, 1),
    (faults.read_only, 1),
    (faults.cut_short, 5),
    (faults.letter_changed, 20),
    (faults.two_servers, 1),
    (faults.clock_steps, 20),
    (faults.half_open, 1),
    (faults.slow_clients, 1),
)


@pytest.mark.parametrize(
    ("fault", "times"), SHORT, ids=lambda value: getattr(value, "__name__", None)
)
def test_nothing_that_was_acknowledged_is_lost(
    tmp_path: Path, fault: faults.Fault, times: int
) -> None:
    try:
        outcome = fault(tmp_path / "data", Random(1), times)
    except NotTriedError as why:
        pytest.skip(str(why))
    assert (outcome.times, outcome.lost) == (times, 0)


def test_a_server_that_was_suspended_takes_what_waited(tmp_path: Path) -> None:
    outcome = faults.suspended(tmp_path / "data", Random(1), 1, seconds=1)
    assert outcome.acknowledged > 1
    assert outcome.lost == 0


def test_a_lost_entry_would_be_found(tmp_path: Path) -> None:
    """The count of what is lost is not always nought: an id that never came in is one."""

    class Forgets(Device):
        def send(self) -> bool:
            self.acknowledged.append("an entry that the log does not have")
            return super().send()

    with faults.desk_in(tmp_path / "data", SetClock()) as desk:
        desk.sign_in()
        device = Forgets(desk, desk.start())
        device.touch()
        assert device.lost() == ["an entry that the log does not have"]


def test_every_fault_of_the_table_is_in_the_short_run() -> None:
    short = {*(fault for fault, _ in SHORT), faults.suspended}
    assert {fault for fault, _ in faults.FAULTS.values()} == short
