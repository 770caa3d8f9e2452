"""What holds for every test.

Rules:
- No test sees or touches the user's own folders: HOME and the XDG folders are empty ones.
- Plots need no screen, and matplotlib keeps its font list between runs in pytest's cache.
- What is asked of the store is asked of it on SQLite and on PostgreSQL: the fixture `where`.
- Nowhere does a test depend on speed. How many random examples it takes: tests/amount.py.
- Tests run beside each other (pytest-xdist): each worker has a PostgreSQL server and a browser of
  its own. Which worker runs which: tests/workers.py.
- Garbage is looked for seldom, and never among what was there when all tests had been collected: to
  look through thousands of tests and all packages again and again took a third of a test's time.
- Nothing is loaded while tests are collected: a scenario file that is opened then ends the run.
- What is compiled is kept, whatever the environment says: hundreds of processes begin in the tests,
  and each would compile the whole program anew.
"""

import gc
import os
import sys
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from simengine.cli.garbage import look_for_garbage_seldom
from tests import amount
from tests import postgresql as postgresql_server
from tests.need import need
from tests.workers import InGroups, turn

if TYPE_CHECKING:
    from playwright.sync_api import Browser
    from xdist.remote import Producer

USER_FOLDERS = {
    "HOME": ".",
    "XDG_CACHE_HOME": ".cache",
    "XDG_CONFIG_HOME": ".config",
    "XDG_DATA_HOME": ".local/share",
    "XDG_RUNTIME_DIR": ".run",
    "XDG_STATE_HOME": ".local/state",
}

CHROMIUM_FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
)

amount.register_profiles()


def pytest_configure(config: pytest.Config) -> None:
    look_for_garbage_seldom()
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False
    # before any test module imports numpy: each worker has a processor, and the threads of one sum
    # wait for one another by turning in circles, which took more time than the sums
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # before any test module imports matplotlib, which reads both only once
    os.environ["MPLBACKEND"] = "Agg"
    cache = getattr(config, "cache", None)  # there is none under -p no:cacheprovider
    if cache is not None:
        os.environ["MPLCONFIGDIR"] = str(cache.mkdir("matplotlib"))


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: turn(item.nodeid))


@pytest.hookimpl(optionalhook=True)  # pytest-xdist's own
def pytest_xdist_make_scheduler(config: pytest.Config, log: "Producer") -> InGroups:
    return InGroups(config, log)


_read_while_collecting: list[str] | None = None


def _note_what_is_read(event: str, arguments: tuple[object, ...]) -> None:
    if event == "open" and _read_while_collecting is not None:
        path = str(arguments[0])
        if "scenarios" in path and path.endswith((".yaml", ".jsonl")):
            _read_while_collecting.append(path)


sys.addaudithook(_note_what_is_read)


def pytest_collection() -> None:
    global _read_while_collecting
    _read_while_collecting = []


def pytest_collection_finish() -> None:
    global _read_while_collecting
    read, _read_while_collecting = _read_while_collecting, None
    if read:
        raise pytest.UsageError(f"read while tests were collected, not in a test: {read}")
    gc.freeze()


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Names of homes, each taken once, in a folder that nobody has to look through for the next."""
    above = tmp_path_factory.mktemp("homes")
    return (above / str(number) for number in count())


@pytest.fixture(autouse=True)
def no_folders_of_the_user(homes: Iterator[Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the empty folder that stands for the user's home in this test."""
    home = next(homes)
    home.mkdir()
    for variable, place in USER_FOLDERS.items():
        monkeypatch.setenv(variable, str(home / place))
    return home


@pytest.fixture(scope="session")
def chromium() -> Iterator["Browser"]:
    """The system's own Chromium, one for all tests of a process.

    Debian's, without windows, toolbars and all else that pages do without: a page costs less than
    half. Where it is missing the tests are skipped with the reason, and in CI they fail. Two of
    them can't run beside each other in one thread.
    """
    from playwright.sync_api import sync_playwright

    path = need("chromium-headless-shell", "chromium-headless-shell")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def postgresql() -> Iterator[postgresql_server.Server]:
    """A PostgreSQL server that runs as long as the tests."""
    with postgresql_server.running() as server:
        yield server


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request: pytest.FixtureRequest, tmp_path: Path) -> Path | str:
    """Return where an empty store may be: a folder, and in another run of the test a database."""
    if request.param == "sqlite":
        return tmp_path / "store"
    server: postgresql_server.Server = request.getfixturevalue("postgresql")
    return server.new()
