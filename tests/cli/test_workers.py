"""The processes of a command end with it, however it ended."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from simengine.cli.workers import processes

COMMAND = """
import os, sys
from simengine.cli.workers import processes
if __name__ == "__main__":
    executor = processes(1)
    print(executor.submit(os.getpid).result(), flush=True)
    sys.stdin.read()
"""
IN_TIME_S = 60.0


def test_the_work_is_done_in_other_processes() -> None:
    with processes(1) as executor:
        assert executor.submit(os.getpid).result(IN_TIME_S) != os.getpid()


def runs(process: int) -> bool:
    """Whether a process has not ended; one that has may wait to be collected by its new parent."""
    try:
        os.kill(process, 0)
        state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except (ProcessLookupError, FileNotFoundError):
        return False
    return state != "Z"


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
def test_they_end_when_the_command_was_killed() -> None:
    command = subprocess.Popen(
        [sys.executable, "-c", COMMAND],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    assert command.stdin is not None
    assert command.stdout is not None
    with command.stdin, command.stdout:
        worker = int(command.stdout.readline())
        assert runs(worker)
        command.send_signal(signal.SIGKILL)
        command.wait(IN_TIME_S)
    until = time.monotonic() + IN_TIME_S
    while runs(worker) and time.monotonic() < until:
        os.sched_yield()
    assert not runs(worker)
