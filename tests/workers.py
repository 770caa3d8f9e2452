"""Which worker runs which test, where tests run beside each other (pytest-xdist).

Rules of this file:

- Tests of one file go to one worker, and so do those of a folder in ``TOGETHER``: they share
  something costly (a console, a store, an invented hospital, drawn debriefs), which each worker
  that runs one of them makes anew.
- What takes long begins first, so that no worker is left alone with it at the end.
- Groups are told from where a test stands, and not by the marks of pytest-xdist: the newest pytest
  no longer sees those, so that every test went to whoever was free.
"""

from xdist.scheduler import LoadScopeScheduling

TOGETHER = ("cohort_report", "debrief", "pilot", "cli")
FIRST = (
    "desk/browser/test_every_correction.py",
    "desk/browser/test_strips_on_the_screen.py",
    "desk/browser",
    "rehearsal/browser",
    "coordinator/browser",
    "web/browser",
    *TOGETHER,
    "torture",
    "test_wheel.py",
)
"""The longest first."""


def group(test: str) -> str:
    """Return the file or folder that a test goes with, of its id: ``tests/FILE::NAME``."""
    file = test.partition("::")[0].removeprefix("tests/")
    return next((name for name in TOGETHER if file.startswith(f"{name}/")), file)


def turn(test: str) -> int:
    """Return when a test's turn is, by its id; many have the same."""
    file = test.partition("::")[0].removeprefix("tests/")
    turns = (number for number, name in enumerate(FIRST) if file.startswith(name))
    return next(turns, len(FIRST))


class InGroups(LoadScopeScheduling):  # type: ignore[misc]  # the library has no types
    """Gives a worker that is free the next group."""

    def _split_scope(self, nodeid: str) -> str:
        return group(nodeid)
