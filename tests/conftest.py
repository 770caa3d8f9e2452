"""What holds for every test.

Rules:
- No test sees or touches the user's own folders: HOME and the XDG folders are empty ones.
- Plots need no screen, and matplotlib keeps its font list between runs in pytest's cache.
- What is asked of the store is asked of it on SQLite and on PostgreSQL: the fixture `where`.
- In CI the same random examples come every time; nowhere does a test depend on speed.
"""

import os
from collections.abc import Iterator
from pathlib import Path

import hypothesis
import pytest

from tests import postgresql as postgresql_server

USER_FOLDERS = {
    "HOME": ".",
    "XDG_CACHE_HOME": ".cache",
    "XDG_CONFIG_HOME": ".config",
    "XDG_DATA_HOME": ".local/share",
    "XDG_RUNTIME_DIR": ".run",
    "XDG_STATE_HOME": ".local/state",
}

hypothesis.settings.register_profile("everywhere", deadline=None)
hypothesis.settings.register_profile(
    "ci", hypothesis.settings.get_profile("everywhere"), derandomize=True, print_blob=True
)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") == "true" else "everywhere")


def pytest_configure(config: pytest.Config) -> None:
    # before any test module imports matplotlib, which reads both only once
    os.environ["MPLBACKEND"] = "Agg"
    cache = getattr(config, "cache", None)  # there is none under -p no:cacheprovider
    if cache is not None:
        os.environ["MPLCONFIGDIR"] = str(cache.mkdir("matplotlib"))


@pytest.fixture(autouse=True)
def no_folders_of_the_user(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> Path:
    """Return the empty folder that stands for the user's home in this test."""
    home = tmp_path_factory.mktemp("home")
    for variable, place in USER_FOLDERS.items():
        monkeypatch.setenv(variable, str(home / place))
    return home


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
