"""The main job on whatever packages there are: every module, a demo, a roster, the first page.

Run by ``lowest.py`` with an interpreter that has no test packages.
"""

from __future__ import annotations

import pkgutil
import subprocess
import sys
import tempfile
from importlib import import_module
from pathlib import Path
from urllib.request import HTTPCookieProcessor, build_opener

ROOT = Path(__file__).parents[2]
EXTRAS = {"psycopg", "pyarrow", "pandas", "distributed"}


def main() -> int:
    """Do the main job; 0 where it went well."""
    sys.path.insert(0, str(ROOT))
    import simengine
    from simengine.cli.main import main as run

    out = Path(sys.argv[1])
    tempfile.tempdir = str(out)  # where a traceback goes, should there be one
    out.mkdir()
    for module in pkgutil.walk_packages(simengine.__path__, "simengine."):
        if "make_fonts" in module.name or ".migrations.env" in module.name:
            continue  # run by others, never imported
        try:
            import_module(module.name)
        except ModuleNotFoundError as missing:
            if missing.name not in EXTRAS:
                raise
    status = run(["demo", "--output", str(out / "reports")])
    status |= run(["import", str(ROOT / "scenarios/roster"), "--data", str(out / "data")])
    for trace in out.glob("simengine-*.txt"):
        print(trace.read_text(encoding="utf-8"), file=sys.stderr)
    return status or first_page(out / "data")


def first_page(data: Path) -> int:
    """Start the console and open the link that it prints; 0 where that shows the first page."""
    begin = "import sys; from simengine.cli.main import main; sys.exit(main(sys.argv[1:]))"
    command = [sys.executable, "-c", begin, "console", "--no-browser", "--port", "0"]
    browser = build_opener(HTTPCookieProcessor())
    with subprocess.Popen(
        [*command, "--data", str(data)],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    ) as console:  # fmt: skip
        try:
            assert console.stdout is not None
            link = next(line.strip() for line in console.stdout if line.startswith("http"))
            with browser.open(link, timeout=60) as page:
                return 0 if page.status == 200 else 1
        finally:
            console.terminate()


if __name__ == "__main__":
    sys.exit(main())
