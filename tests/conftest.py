"""What holds for every test.

Rules:
- No test sees or touches the user's own folders: HOME and the XDG folders are empty ones.
- Plots need no screen, and matplotlib keeps its font list between runs in pytest's cache.
- In CI the same random examples come every time; nowhere does a test depend on speed.
"""

import os
from pathlib import Path

import hypothesis
import pytest

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
