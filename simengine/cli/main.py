"""`simengine`: find the verb, run it, and turn every failure into a sentence.

Rules of this file:

- Exit status: 0 done, 1 the input has errors, 2 wrong usage (argparse's own).
- Words for people go to standard error, figures for programs to standard output.
- No traceback reaches a user: what was not foreseen is kept in a file, and its name is told.
- Only the module of the verb that is asked for is imported, and none for `--help` and for a slip.
  What a verb needs is imported when it runs, so that help comes at once.
- A command is soon over, so cyclic garbage is looked for seldom, and not at all at its end; a
  console runs for days and goes back to Python's own way once it listens.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence

from simengine import __version__
from simengine.cli.verbs import VERBS

# as `typing` has it, whose import alone takes as long as Python's start
TYPE_CHECKING = False
if TYPE_CHECKING:
    from pathlib import Path

CAUTION = (
    "For training only. It gives no advice for a real patient: "
    "local guidelines and licensed practice decide."
)


class _Help(argparse.HelpFormatter):
    """Help as wide as the terminal, without the modules that argparse asks for that."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=_columns() - 2)


def _columns() -> int:
    """How wide the terminal is, as ``shutil.get_terminal_size`` has it."""
    given = os.environ.get("COLUMNS", "")
    if given.isdecimal() and int(given) > 0:
        return int(given)
    try:
        return os.get_terminal_size(1).columns or 80
    except OSError:
        return 80


def parser(verb: str | None = None) -> argparse.ArgumentParser:
    """Return the parser of one verb; without one, that of the help, which knows them by name."""
    top = argparse.ArgumentParser(
        prog="simengine",
        formatter_class=_Help,
        description=f"Run, score and explain simulated newborn emergencies. {CAUTION}",
    )
    top.add_argument("--version", action="version", version=f"simengine {__version__}")
    verbs = top.add_subparsers(dest="verb", metavar="COMMAND", required=True)
    if verb in VERBS:
        from importlib import import_module

        module = "import_" if verb == "import" else verb
        import_module(f"simengine.cli.{module}").register(verbs)
    else:
        for name, says in VERBS.items():
            verbs.add_parser(name, help=says, formatter_class=_Help)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status. Without ``argv`` it is the process's own."""
    if argv is not None:
        return _run(argv)
    from simengine.cli.garbage import look_for_garbage_seldom

    look_for_garbage_seldom()
    try:
        return _run(sys.argv[1:])
    finally:
        # What is left goes with the process; looking through it first takes a tenth of the time.
        gc.freeze()


def _run(given: Sequence[str]) -> int:
    args = parser(given[0] if given else None).parse_args(given)
    try:
        status: int = args.run(args)
        sys.stdout.flush()
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
    except Exception as error:  # noqa: BLE001 - nobody should have to read a traceback
        from simengine.problems import InputError

        if isinstance(error, InputError):
            for problem in error.problems:
                print(problem, file=sys.stderr)
            return 1
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
    from pathlib import Path

    with tempfile.NamedTemporaryFile(
        "w", prefix="simengine-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        file.write(traceback.format_exc())
    return Path(file.name)
