import subprocess
import sys

import pytest

from simengine.cli.main import main
from simengine.cli.verbs import VERBS

HEAVY = (
    "matplotlib",
    "numpy",
    "pint",
    "typst",
    "jinja2",
    "jsonschema",
    "yaml",
    "rich",
    "starlette",
    "sqlalchemy",
    "alembic",
    "psycopg",
)


def test_help_needs_nothing_heavy() -> None:
    code = (
        "import sys; from simengine.cli.main import parser; parser().format_help(); "
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"


def test_help_needs_no_verb_s_module() -> None:
    code = (
        "import sys; from simengine.cli.main import parser; parser().format_help(); "
        "print([name for name in sys.modules if name.startswith('simengine.')])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    needed = ["simengine.cli", "simengine.cli.verbs", "simengine.cli.main"]
    assert sorted(done.stdout.strip()[1:-1].replace("'", "").split(", ")) == sorted(needed)


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_shows_an_example_of_itself(
    verb: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main([verb, "--help"])
    assert ended.value.code == 0
    assert f"example:\n  simengine {verb}" in capsys.readouterr().out


@pytest.mark.parametrize(
    "argv", [[], ["nonsense"], ["score"], ["check"], ["replay", "x", "--at", "2.3"]]
)
def test_wrong_usage_ends_with_status_2(argv: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(argv)
    assert ended.value.code == 2
