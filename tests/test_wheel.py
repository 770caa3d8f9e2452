"""The installed wheel works from any folder, with all that it ships."""

import json
import os
import subprocess
import sys
import sysconfig
import venv
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ASK_FOR_FOLDERS = """
import json
from simengine import resources
folders = ["scenarios", "schemas", "templates", "fonts"]
print(json.dumps({name: str(getattr(resources, name + "_dir")()) for name in folders}))
"""


@dataclass(frozen=True)
class Installed:
    """A fresh environment that holds the wheel, and an unrelated folder to work in."""

    environment: Path
    elsewhere: Path

    def run(self, *command: str) -> subprocess.CompletedProcess[str]:
        program = self.environment / "bin" / command[0]
        return subprocess.run(
            [program, *command[1:]], cwd=self.elsewhere, capture_output=True, text=True, check=False
        )

    def folders(self) -> dict[str, Path]:
        answer = json.loads(self.run("python", "-c", ASK_FOR_FOLDERS).stdout)
        return {name: Path(folder) for name, folder in answer.items()}


MAKE_A_STORE = """
from pathlib import Path
from simengine.store import Planned, Store
with Store.open(Path("store")) as store:
    store.create(Planned("s1", "", {}))
    print(store.sessions()[0].planned.session, Store.__module__)
"""


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Installed:
    work = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet"]
    build = ["wheel", str(ROOT), "--no-deps", "--no-build-isolation", "--wheel-dir", str(work)]
    subprocess.run([*pip, *build], check=True)
    (wheel,) = work.glob("*.whl")

    environment = work / "environment"
    venv.create(environment, with_pip=False)
    python = environment / "bin" / "python"
    install = ["--python", str(python), "install", "--no-deps", "--no-index", str(wheel)]
    subprocess.run([*pip, *install], check=True)
    # The other packages come from the environment of the tests. A folder named in a .pth file is
    # searched, but the .pth files in it are not read, so the source checkout stays out of reach.
    site = Path(sysconfig.get_path("purelib", vars={"base": str(environment)}))
    (site / "packages-of-the-tests.pth").write_text(sysconfig.get_path("purelib") + os.linesep)

    elsewhere = work / "elsewhere"
    elsewhere.mkdir()
    return Installed(environment, elsewhere)


def files_below(folder: Path) -> set[str]:
    return {str(file.relative_to(folder)) for file in folder.rglob("*") if file.is_file()}


@pytest.mark.parametrize(
    ("name", "in_tree"),
    [("scenarios", "scenarios"), ("schemas", "schemas"), ("templates", "reports/templates")],
)
def test_every_shipped_file_travels_in_the_wheel(
    installed: Installed, name: str, in_tree: str
) -> None:
    folder = installed.folders()[name]
    assert folder.is_relative_to(installed.environment)
    assert files_below(folder) == files_below(ROOT / in_tree)


def test_fonts_travel_in_the_wheel_and_their_recipe_does_not(installed: Installed) -> None:
    fonts = files_below(installed.folders()["fonts"])
    assert {"SimengineSans-Regular.otf", "SimengineSans-Regular.woff2", "OFL.txt"} <= fonts
    assert not any(name.endswith(".py") for name in fonts)


def test_the_source_checkout_finds_the_same_folders_at_the_top_of_the_tree() -> None:
    child = subprocess.run(
        [sys.executable, "-c", ASK_FOR_FOLDERS], capture_output=True, text=True, check=True
    )
    assert json.loads(child.stdout) == {
        "scenarios": str(ROOT / "scenarios"),
        "schemas": str(ROOT / "schemas"),
        "templates": str(ROOT / "reports" / "templates"),
        "fonts": str(ROOT / "simengine" / "report" / "fonts"),
    }


def test_the_command_answers_from_another_folder(installed: Installed) -> None:
    answer = installed.run("simengine", "--help")
    assert answer.returncode == 0, answer.stderr
    assert "simengine" in answer.stdout


def test_every_shipped_scenario_passes_its_check_from_another_folder(installed: Installed) -> None:
    scenarios = installed.folders()["scenarios"]
    kinds = ("*.yaml", "vocabulary/*.yaml", "protocols/*.yaml")
    shipped = sorted(file for kind in kinds for file in scenarios.glob(kind))
    assert shipped
    answer = installed.run("simengine", "check", *map(str, shipped))
    assert answer.returncode == 0, answer.stdout + answer.stderr


def test_the_installed_program_makes_a_store_by_its_own_steps(installed: Installed) -> None:
    answer = installed.run("python", "-c", MAKE_A_STORE)
    assert answer.returncode == 0, answer.stderr
    assert answer.stdout.split() == ["s1", "simengine.store.store"]
    (steps,) = installed.environment.rglob("store/migrations/versions")
    shipped = ROOT / "simengine" / "store" / "migrations" / "versions"
    assert {file.name for file in steps.glob("r*.py")} == {
        file.name for file in shipped.glob("r*.py")
    }


def test_the_demo_writes_its_reports_from_another_folder(installed: Installed) -> None:
    answer = installed.run("simengine", "demo")
    assert answer.returncode == 0, answer.stdout + answer.stderr
    assert "Next:" in answer.stdout
    for stem, parts in (("debrief-*", 2), ("cohort", 1)):
        for kind in ("html", "pdf"):
            files = list(installed.elsewhere.rglob(f"{stem}.{kind}"))
            assert len(files) == parts
            assert all(file.name in answer.stdout for file in files)
    (certificate,) = installed.elsewhere.rglob("certificate-of-attendance.pdf")
    assert certificate.name in answer.stdout
    assert certificate.read_bytes().startswith(b"%PDF-")
