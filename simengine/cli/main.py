"""`simengine`: find the verb, run it, and turn every failure into a sentence.

Rules of this file:

- Exit status: 0 done, 1 the input has errors, 2 wrong usage (argparse's own).
- Words for people go to standard error, figures for programs to standard output.
- No traceback reaches a user: what was not foreseen is kept in a file, and its name is told.
- A verb's module is imported with the others (they are light); what it needs is imported when
  it runs, so that `--help` answers at once.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import traceback
from collections.abc import Sequence
from pathlib import Path

from simengine import __version__
from simengine.cli import (
    brief,
    check,
    cohort,
    console,
    debrief,
    demo,
    draw,
    erase,
    export,
    import_,
    new,
    pilot,
    replay,
    rescore,
    score,
    standard,
    store,
    verify,
)
from simengine.problems import InputError

VERBS = (
    demo,
    new,
    check,
    draw,
    brief,
    pilot,
    console,
    score,
    debrief,
    replay,
    verify,
    import_,
    export,
    erase,
    rescore,
    standard,
    cohort,
    store,
)

CAUTION = (
    "For training only. It gives no advice for a real patient: "
    "local guidelines and licensed practice decide."
)


def parser() -> argparse.ArgumentParser:
    """Return the parser of all verbs."""
    top = argparse.ArgumentParser(
        prog="simengine",
        description=f"Run, score and explain simulated newborn emergencies. {CAUTION}",
    )
    top.add_argument("--version", action="version", version=f"simengine {__version__}")
    verbs = top.add_subparsers(dest="verb", metavar="COMMAND", required=True)
    for verb in VERBS:
        verb.register(verbs)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    args = parser().parse_args(argv)
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
    with tempfile.NamedTemporaryFile(
        "w", prefix="simengine-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        file.write(traceback.format_exc())
    return Path(file.name)
