"""Log files: JSON Lines, one event a line (``*.session.jsonl``).

Rules of this file:

- Every complaint is a ``Problem`` with its line, and all are told at once.
- A line is JSON, passes the schema, stands in its place (``seq``) and in the chain. A changed,
  missing or added line is an error, whoever reads the log.
- A last line without its line end that is no JSON was cut off by a crash: that line alone is
  lost, with a warning.
- A file, a line or a number of lines beyond ``simengine.limits`` is refused before it is read on.
- An appended event is on the disk before ``append`` returns. A whole log takes the place of the
  old one at once, so that no half-written log is ever there.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator
from datetime import datetime
from math import isfinite
from pathlib import Path
from types import TracebackType
from typing import Any, BinaryIO, Self

from simengine.limits import ACCENTS, LINE_BYTES, LOG_BYTES, LOG_ENTRIES, megabytes, read_at_most
from simengine.private_files import opened_private, sync_folder, write_private
from simengine.problems import InputError, Problem
from simengine.resources import scenarios_dir
from simengine.schemas import complaints, is_overloaded
from simengine.session.chain import FIRST, as_json, from_json, hash_of, linked
from simengine.session.events import Event

SUFFIX = ".session.jsonl"
_EXACT = 2**53
"""Whole numbers up to here are the same in every program that reads JSON."""


def read_log(path: Path | str) -> tuple[Event, ...]:
    """Return the events of a log file. Raises ``InputError`` with every problem in it.

    ``path``: the file, or the name of a recorded session (see ``log_path``).
    A line cut off at the end is left out; ``read_log_file`` tells of it.
    """
    return read_log_file(path)[0]


def log_path(name: Path | str) -> Path:
    """Return the log that ``name`` is: a file, or the bare name of a recorded session.

    ``term-responds-steady`` is ``term-responds-steady.session.jsonl`` here, in ``sessions/`` or
    ``scenarios/sessions/``, or among the shipped ones. Where there is none, ``name`` itself.
    """
    path = Path(name)
    if len(path.parts) == 1 and not path.exists():
        folders = (Path(), Path("sessions"), Path("scenarios", "sessions"))
        for folder in (*folders, scenarios_dir() / "sessions"):
            file = folder / f"{name}{SUFFIX}"
            if file.is_file():
                return file
    return path


def read_log_file(path: Path | str) -> tuple[tuple[Event, ...], tuple[Problem, ...]]:
    """Return the events of a log file, and warnings. Raises ``InputError`` with every problem.

    ``path``: the file, or the name of a recorded session (see ``log_path``).
    """
    path = log_path(path)
    file = str(path)
    lines, cut = _lines(path)
    problems: list[Problem] = []
    events: list[Event] = []
    for number, text in enumerate(lines, start=1):
        event = _event(file, number, text)
        if isinstance(event, Event):
            events.append(event)
        else:
            problems += event
    if not lines:
        raise InputError([_problem(file, 1, "at least one whole event", "a cut-off line", "empty")])
    if not problems:
        problems = list(chain_problems(events, file=file))
    if not problems and events[0].kind != "opened":
        problems.append(
            _problem(file, 1, "the event 'opened' first", f"{events[0].kind!r}", "not-opened")
        )
    if problems:
        raise InputError([*problems, *cut])
    return tuple(events), tuple(cut)


def chain_problems(events: Iterable[Event], *, file: str = "") -> Iterator[Problem]:
    """Tell where numbering or chain of a log is broken. Line numbers are those of a file."""
    prev = FIRST
    for line, event in enumerate(events, start=1):
        if event.seq != line - 1:
            yield _problem(file, line, f"seq {line - 1}", f"{event.seq}", "seq", "seq")
        if event.prev != prev:
            before = "64 noughts" if line == 1 else f"the hash of line {line - 1}, {prev[:12]}…"
            hint = "a line before it was changed, added or lost"
            yield _problem(file, line, before, f"{event.prev[:12]}…", "prev", "prev", hint)
        right = hash_of(event)
        if event.hash != right:
            hint = "the line was changed after it was written"
            written = f"{event.hash[:12]}…"
            yield _problem(file, line, f"{right[:12]}…", written, "hash", "hash", hint)
        prev = event.hash


def changed_words(events: Iterable[Event], session: str) -> str:
    """Say where a stored log is not as it was written; empty where its chain is whole."""
    broken = next(chain_problems(events, file=f"session {session}"), None)
    if broken is None:
        return ""
    place = broken.path or "log"
    return (
        f"session {session}, entry {broken.line - 1}: {place} is not as it was written: "
        f"{broken.message}"
    )


def _lines(path: Path) -> tuple[list[bytes], list[Problem]]:
    """The whole lines of a file, and a warning for one that was cut off."""
    file = str(path)
    try:
        raw = read_at_most(path, LOG_BYTES)
    except FileNotFoundError:
        raise InputError([_problem(file, 0, "a session log", "no such file", "missing")]) from None
    except IsADirectoryError:
        raise InputError([_problem(file, 0, "a session log", "a folder", "folder")]) from None
    except OSError as error:
        words = error.strerror or "a file that can't be read"
        raise InputError([_problem(file, 0, "a session log", words, "unreadable")]) from None
    if raw is None:
        expected = f"a session log of at most {megabytes(LOG_BYTES)}"
        raise InputError([_problem(file, 0, expected, "a larger file", "too-large")])
    if not raw.strip():
        raise InputError([_problem(file, 0, "a session log", "an empty file", "empty")])
    entries = raw.count(b"\n")
    if entries > LOG_ENTRIES:
        expected = f"at most {LOG_ENTRIES:,} entries"
        raise InputError([_problem(file, 0, expected, f"{entries:,} lines", "too-many")])
    lines = raw.split(b"\n")
    last = lines.pop()
    if not last.strip():
        return lines, []
    if _is_json(last):
        return [*lines, last], []
    warning = Problem(
        file,
        len(lines) + 1,
        1,
        "",
        "a whole line",
        f"one cut off after {len(last)} bytes",
        "cut-off",
        level="warning",
        hint="that line alone is lost",
    )
    return lines, [warning]


def _is_json(line: bytes) -> bool:
    try:
        json.loads(line)
    except (ValueError, RecursionError):
        return False
    return True


class _NotJsonError(ValueError):
    """JSON that other programs would read otherwise, or not at all."""


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise _NotJsonError(f"the key {twice!r} twice")
    return out


def _constant(word: str) -> Any:
    raise _NotJsonError(f"the word {word}, which is no JSON number")


def _number(text: str) -> float:
    value = float(text)
    if not isfinite(value):
        raise _NotJsonError(f"the number {text}, which is too large")
    return value


def _whole(text: str) -> int:
    value = int(text)
    if abs(value) >= _EXACT:
        raise _NotJsonError(f"the whole number {text[:20]}, which is too large")
    return value


def _event(file: str, line: int, text: bytes) -> Event | list[Problem]:
    expected = "one event as JSON"
    if len(text) > LINE_BYTES:
        short = f"at most {megabytes(LINE_BYTES)} in a line"
        return [_problem(file, line, short, f"{len(text):,} bytes", "too-large")]
    try:
        written = text.decode("utf-8")
        raw = json.loads(
            written,
            object_pairs_hook=_pairs,
            parse_constant=_constant,
            parse_float=_number,
            parse_int=_whole,
        )
        if b"\\u" in text:
            written = json.dumps(raw, ensure_ascii=False)
            written.encode()
        if is_overloaded(written):
            instead = f"more than {ACCENTS} accents on one letter"
            return [_problem(file, line, expected, instead, "accents")]
    except UnicodeDecodeError as error:
        instead = f"a byte that is not UTF-8 at column {error.start + 1}"
        return [_problem(file, line, expected, instead, "encoding")]
    except UnicodeEncodeError:
        return [_problem(file, line, expected, "half of a character (\\ud800 to \\udfff)", "json")]
    except json.JSONDecodeError as error:
        instead = "an empty line" if not text.strip() else f"{error.msg} at column {error.colno}"
        return [_problem(file, line, expected, instead, "json", column=error.colno)]
    except RecursionError:
        return [_problem(file, line, expected, "maps nested too deeply", "json")]
    except ValueError as error:
        return [_problem(file, line, expected, str(error), "json")]
    found_wrong = [
        Problem(
            file,
            line,
            1,
            " › ".join(str(step) for step in complaint.path),
            complaint.expected,
            complaint.found or _told(_at(raw, complaint.path)),
            complaint.code,
            hint=complaint.hint,
        )
        for complaint in complaints("session", raw)
    ]
    if found_wrong:
        return found_wrong
    try:
        datetime.fromisoformat(raw["wall"])
    except ValueError:
        return [_problem(file, line, "a date and time", repr(raw["wall"]), "wall", "wall")]
    return from_json(raw)


def _at(raw: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        raw = raw[step]
    return raw


def _told(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else text[:57] + "…"


def _problem(
    file: str,
    line: int,
    expected: str,
    found: str,
    code: str,
    path: str = "",
    hint: str = "",
    *,
    column: int = 1,
) -> Problem:
    return Problem(file, line, column if line else 0, path, expected, found, code, hint=hint)


def as_line(event: Event) -> bytes:
    """Return an event as a line of a log file."""
    text = json.dumps(as_json(event), ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode() + b"\n"


def write_log(path: Path | str, events: Iterable[Event]) -> None:
    """Write a whole log; events that are not chained yet are chained on the way."""
    path = Path(path)
    prev = FIRST
    lines = []
    for event in events:
        chained = event if event.hash and event.prev == prev else linked(event, prev)
        lines.append(as_line(chained))
        prev = chained.hash
    write_private(path, b"".join(lines))


class LogWriter:
    """Appends events to a log file, each on the disk before ``append`` returns.

    An unfinished last line, left by a crash, is taken away when the file is opened.
    """

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path)
        new = not self.path.exists()
        self._file: BinaryIO = open(self.path, "ab", opener=opened_private)  # noqa: SIM115
        if new:
            sync_folder(self.path.parent)
        else:
            self._mend()

    def append(self, event: Event) -> None:
        """Write one chained event."""
        self._file.write(as_line(event))
        self._file.flush()
        os.fsync(self._file.fileno())

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def __enter__(self) -> Self:
        """Return the writer itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the file."""
        self.close()

    def _mend(self) -> None:
        raw = self.path.read_bytes()
        whole = raw.rfind(b"\n") + 1
        if whole == len(raw):
            return
        if _is_json(raw[whole:]):
            self._file.write(b"\n")
        else:
            self._file.truncate(whole)
        self._file.flush()
        os.fsync(self._file.fileno())
