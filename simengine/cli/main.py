"""`simengine`: find the verb, run it, and turn every failure into a sentence.

Rules of this file:

- Exit status: 0 done, 1 the input has errors, 2 wrong usage (argparse's own).
- Words for people go to standard error, figures for programs to standard output.
- No traceback reaches a user: what was not foreseen is kept in a file, and its name is told.
- Only the module of the verb that is asked for is imported; all of them (they are light) for
  `--help` and for a slip. What a verb needs is imported when it runs, so that help comes at once.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from simengine import __version__
from simengine.problems import InputError

VERBS = (
    "demo",
    "new",
    "check",
    "play",
    "draw",
    "brief",
    "pilot",
    "console",
    "score",
    "debrief",
    "replay",
    "verify",
    "import",
    "export",
    "erase",
    "rescore",
    "standard",
    "cohort",
    "store",
    "doctor",
)
"""In the order of the help. Each has a module of its name; `import` is a word of Python's, so its
module is `import_`."""

CAUTION = (
    "For training only. It gives no advice for a real patient: "
    "local guidelines and licensed practice decide."
)


def parser(verb: str | None = None) -> argparse.ArgumentParser:
    """Return the parser of one verb, or of all."""
    top = argparse.ArgumentParser(
        prog="simengine",
        description=f"Run, score and explain simulated newborn emergencies. {CAUTION}",
    )
    top.add_argument("--version", action="version", version=f"simengine {__version__}")
    verbs = top.add_subparsers(dest="verb", metavar="COMMAND", required=True)
    for name in (verb,) if verb in VERBS else VERBS:
        module = "import_" if name == "import" else name
        import_module(f"simengine.cli.{module}").register(verbs)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    given = sys.argv[1:] if argv is None else argv
    args = parser(given[0] if given else None).parse_args(given)
    try:
        status: int = args.run(args)
        sys.stdout.flush()
    except InputError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 1
    except BrokenPipeError:
        # The reader of our output (such as `head`) has gone, which is no fault. What is still
        # in the buffer has nowhere to go.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        print(f"simengine: {error.filename or 'file'}: {error.strerror}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("simengine: stopped", file=sys.stderr)
        return 1
    except Exception:  # noqa: BLE001 - the last net: nobody should have to read a traceback
        print(
            "simengine: something went wrong inside the program. Your files are as they were.\n"
            f"The details are in {_kept_details()}; please send that file to whoever looks "
            "after simengine.",
            file=sys.stderr,
        )
        return 1
    return status


def _kept_details() -> Path:
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", prefix="simengine-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        file.write(traceback.format_exc())
    return Path(file.name)
