"""The debrief of a session, made by the same command that anybody can run.

Rules of this file:

- It is made in a process of its own, so that plots and PDF slow no running session and take no
  memory from the server. It is begun as soon as a session ends, so that it is there when asked
  for.
- One is kept for each state of the log (its last hash), for the team and for each person who asks
  for theirs: a correction makes a new one, and so does what the person writes.
- Of a session that ended here the score card is kept as it is made for its result, and debriefs are
  drawn from it: it is scored once. Without one the debrief's own process scores.
- The debrief of a retry stands beside the first try, where its log is still here.
- "What if?" is answered likewise, for one item at a time: the page is kept with the debrief's state
  of the log. Few are worked out at once, whoever asks; of what is no item of the guide nothing is
  written and nothing begun.
- They hold trainee codes, so those of a session go once one of its people is erased.
"""

from __future__ import annotations

import asyncio
import hashlib
import logging
import shutil
from collections.abc import Awaitable, Callable, Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orjson

from simengine.debrief.debrief_sentences import say
from simengine.debrief.wrote import Wrote
from simengine.private_files import private_folder, write_private
from simengine.scoring.card import ScoreCard
from simengine.scoring.kept_card import card_bytes, card_from
from simengine.session.events import Event
from simengine.session.log_file import write_log
from simengine.session.record import Session
from simengine.session.retry import retry_of
from simengine.web.own_process import EndedBadlyError, ran
from simengine.web.refusal import RefusalError
from simengine.web.shelf import Shelf

_LOG = logging.getLogger("simengine.console")
NO_WHAT_IF = "This could not be worked out"
_FEW = 2
_NO_SCENARIO = "The scenario '{}' is not among the files here any more."
_COMMAND = "import sys; from simengine.cli.main import main; sys.exit(main())"


async def _nothing_to_wait_for() -> None:
    """Wait for no score card."""


def _no_log(_: str) -> Sequence[Event]:
    """Find no other session's log."""
    return ()


class DebriefError(Exception):
    """The debrief could not be made; the words are for a person."""


@dataclass(frozen=True, slots=True)
class Made:
    """The files of a debrief: what is to take home, and the ``whole``."""

    html: Path
    pdf: Path
    whole: Made | None = None

    def part(self, name: str | None) -> Made:
        """Return the part that is asked for by ``name``: ``whole``, else what is to take home."""
        return self.whole if name == "whole" and self.whole is not None else self


class Debriefs:
    """Makes debriefs below ``folder``, with the scenarios of ``shelf``."""

    def __init__(self, folder: Path, shelf: Shelf) -> None:
        self._folder = folder
        self._shelf = shelf
        self._making: dict[Path, asyncio.Task[Made]] = {}
        self._answering: dict[Path, asyncio.Task[Path]] = {}
        self._given_up: set[asyncio.Task[Any]] = set()
        self._few_at_a_time = asyncio.Semaphore(_FEW)
        self.scored: Callable[[], Awaitable[None]] = _nothing_to_wait_for
        self.log_of: Callable[[str], Sequence[Event]] = _no_log

    def keep_card(self, session: Session, card: ScoreCard) -> None:
        """Keep the card of a session as its log stands, for the debriefs of it."""
        file = self._card(session.session_id, session.last_hash)
        private_folder(file.parent)
        write_private(file, card_bytes(card))

    def card(self, session: Session) -> ScoreCard | None:
        """Return the card that was kept of a session as its log stands; ``None`` where none was."""
        file = self._card(session.session_id, session.last_hash)
        return card_from(file.read_bytes()) if file.exists() else None

    def _card(self, session: str, last_hash: str) -> Path:
        return self._folder / session / last_hash[:16] / "card.json"

    async def personal(
        self, session: str, events: Sequence[Event], scenario: str, trainee: str, wrote: Wrote
    ) -> Made:
        """Return one person's own debrief of a session. Raises ``DebriefError``.

        ``scenario``: its id; the file is that of today, and the debrief says so if it has changed.
        ``wrote``: what the person wrote of it.
        """
        try:
            return await asyncio.shield(self.begin(session, events, scenario, trainee, wrote))
        except LookupError as error:
            raise DebriefError(_NO_SCENARIO.format(scenario)) from error

    def forget(self, session: str) -> None:
        """Remove every debrief of a session, for the team and for each person."""
        folder = self._folder / session
        for tasks in (self._making, self._answering):
            for made in [path for path in tasks if path.is_relative_to(folder)]:
                task: asyncio.Task[Any] = tasks.pop(made)
                task.cancel()
                self._given_up.add(task)
                task.add_done_callback(self._given_up.discard)
        shutil.rmtree(folder, ignore_errors=True)

    def begin(
        self,
        session: str,
        events: Sequence[Event],
        scenario: str,
        trainee: str = "",
        wrote: Wrote | None = None,
    ) -> asyncio.Task[Made]:
        """Begin to make a session's debrief, unless that has been done; the team's, or one
        trainee's. Raises ``LookupError`` if the scenario is not on the shelf any more.
        """
        folder = self._folder / session / events[-1].hash[:16]
        if trainee:
            material = orjson.dumps([trainee, wrote.as_json() if wrote is not None else None])
            folder /= hashlib.sha256(material).hexdigest()[:16]
        task = self._making.get(folder)
        if task is None or _failed(task):
            file = self._shelf.file(scenario)
            log = folder / f"{session}.session.jsonl"
            private_folder(folder)
            write_log(log, events)
            command = [str(log), "--scenario", str(file), "--any-version"]
            command += ["--output", str(folder)]
            command += ["--for", trainee] if trainee else []
            command += ["--ask-at", f"{session if trainee else 'debrief'}/what-if"]
            command += self._first_try(folder, events[0])
            if wrote is not None:
                write_private(folder / "wrote.json", orjson.dumps(wrote.as_json()))
                command += ["--wrote", str(folder / "wrote.json")]
            card = self._card(session, events[-1].hash)
            task = asyncio.create_task(self._made(command, card))
            self._making[folder] = task
        return task

    async def what_if(
        self,
        session: str,
        events: Sequence[Event],
        scenario: str,
        item: str,
        guide: Collection[str],
        trainee: str = "",
    ) -> Path:
        """Return the page that answers "what if?" for an item of a session's marking guide.

        ``item``: its id, one of the ``guide``, or empty for all that can be asked; ``trainee``: of
        this person's own items. Raises ``DebriefError``, and ``RefusalError`` for any other id.
        """
        if item and item not in guide:
            raise RefusalError(404, say("ask_nothing_title"), say("ask_nothing"))
        key = hashlib.sha256(orjson.dumps([trainee, item])).hexdigest()[:16]
        folder = self._folder / session / events[-1].hash[:16] / "what-if" / key
        task = self._answering.get(folder)
        if task is None or _failed(task):
            try:
                file = self._shelf.file(scenario)
            except LookupError as error:
                raise DebriefError(_NO_SCENARIO.format(scenario)) from error
            log = folder / f"{session}.session.jsonl"
            private_folder(folder)
            write_log(log, events)
            command = [str(log), "--scenario", str(file), "--any-version", f"--what-if={item}"]
            command += ["--card", str(self._card(session, events[-1].hash))]
            command += ["--for", trainee] if trainee else []
            task = asyncio.create_task(self._answered([*command, "--output", str(folder)]))
            self._answering[folder] = task
        return await asyncio.shield(task)

    async def _answered(self, command: list[str]) -> Path:
        await self.scored()
        async with self._few_at_a_time:
            return Path((await _written(command))[0])

    def _first_try(self, folder: Path, opened: Event) -> list[str]:
        """Write down what a session is a retry of, where it is one; return how to name it."""
        again = retry_of(opened)
        first = self.log_of(again.session) if again is not None else ()
        if not first:
            return []
        log = folder / "first-try" / "first.session.jsonl"
        private_folder(log.parent)
        write_log(log, first)
        return ["--first-try", str(log)]

    async def _made(self, command: list[str], card: Path) -> Made:
        await self.scored()
        return await _made([*command, "--card", str(card)])

    async def stop(self) -> None:
        """Give up what is still being made."""
        tasks = (*self._making.values(), *self._answering.values(), *self._given_up)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


async def _made(arguments: Sequence[str]) -> Made:
    html, pdf, whole_html, whole_pdf = map(Path, (await _written(arguments))[:4])
    return Made(html, pdf, Made(whole_html, whole_pdf))


async def _written(arguments: Sequence[str]) -> list[str]:
    """Run the command, and return the files that it wrote."""
    try:
        out = await ran(_COMMAND, "debrief", *arguments)
    except EndedBadlyError as error:
        _LOG.error("debrief: %s", error)
        raise DebriefError(
            "The record is kept; the reason stands in the console's log file."
        ) from error
    return out.decode("utf-8").splitlines()


def _failed(task: asyncio.Task[Any]) -> bool:
    return task.done() and (task.cancelled() or task.exception() is not None)
